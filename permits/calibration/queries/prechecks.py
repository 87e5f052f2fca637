"""A pre-check for the job's page: what it says and why, each axis alone, which to open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from permits.calibration import models as rows
from permits.calibration.rules import prechecks
from permits.calibration.rules.axes import AxisFit
from permits.calibration.rules.lengths import printed
from permits.calibration.rules.ranking_answers import reason as ranking_reason
from permits.calibration.store import measured_in


@dataclass(frozen=True, slots=True)
class PreCheckPage:
    """The last pre-check since an axis was opened: what it says and why, each axis alone, which to open."""

    n: int
    says: str
    grounds: str
    fits: list[tuple[str, str, str]]
    suggested: str
    features: list[tuple[str, str]]


def pre_check_page(row: rows.PreCheck) -> PreCheckPage:
    measured = measured_in(row)
    ranking = prechecks.ranked(measured, [one["name"] for one in row.axes])
    return PreCheckPage(
        n=row.n,
        says=prechecks.says(ranking),
        grounds=ranking_reason(ranking),
        fits=[(fit.axis, *figures(fit)) for fit in ranking.fits],
        suggested=prechecks.suggested(ranking),
        features=feature_words(measured),
    )


def figures(fit: AxisFit) -> tuple[str, str]:
    """An axis' error if it alone were the cause, and how well that fits, for reading."""
    if fit.error is None or fit.uncertainty is None:
        return "no feature depends on it", f"χ² {float(fit.chi2):.3g}"
    off = f"{float(fit.error):+.3g} ± {float(fit.uncertainty):.2g}"
    fits = f"χ² {float(fit.chi2):.3g}" + ("" if fit.p is None else f", p = {fit.p:.2g}")
    return off, fits


def feature_words(measured: Sequence[prechecks.Measured]) -> list[tuple[str, str]]:
    return [
        (one.feature, f"{printed(one.deviation, plus=True)} ± {printed(one.uncertainty)}") for one in measured
    ]
