"""The pre-check: what the features of first pieces say about which axis to open. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from permits.calibration.rules.against import closes_first
from permits.calibration.rules.axes import NONE, PAIR, UNDETERMINED, Feature, Ranking, rank
from permits.calibration.rules.lengths import Measure
from permits.work.rules.refusal import Unmet


@dataclass(frozen=True, slots=True)
class Measured:
    """One feature as measured: its deviation, the standard uncertainty of that, and by axis name how far the
    feature moves per unit of the axis' error."""

    feature: str
    deviation: Measure
    uncertainty: Measure
    depends: Mapping[str, Fraction]


def against_pre_check(open_axes: Sequence[str], measured: Sequence[Measured]) -> Iterator[Unmet]:
    """It comes before an axis is opened, and needs at least one feature."""
    for name in open_axes:
        yield Unmet(
            "axis-open",
            f"{name} is open; the pre-check comes before an axis is opened.",
            closes_first(name),
        )
    if not measured:
        yield Unmet(
            "no-feature",
            "No feature was measured.",
            "You enter at least one, with its uncertainty, on this page.",
        )


def ranked(measured: Sequence[Measured], axes: Sequence[str]) -> Ranking:
    """Ranks the axes, named in the officer's order, by how well each alone explains what was measured."""
    features = [
        Feature(one.feature, one.deviation.value, one.uncertainty.value, one.depends) for one in measured
    ]
    return rank(features, axes)


def says(ranking: Ranking) -> str:
    """The verdict in a few words; its grounds are in ranking_answers.reason."""
    match ranking.verdict:
        case verdict if verdict == UNDETERMINED:
            return (
                f"The pieces cannot tell. Try {ranking.try_first[0]} first"
                if ranking.try_first
                else "The pieces cannot tell"
            )
        case verdict if verdict == PAIR and ranking.pair:
            return " and ".join(ranking.pair.axes) + " together"
        case verdict if verdict == NONE:
            return "No axis explains it"
    return ranking.verdict


def suggested(ranking: Ranking) -> str:
    """The axis to open first, by name; "" where no axis is to be opened."""
    if ranking.try_first:
        return ranking.try_first[0]
    if ranking.pair:
        return ranking.pair.axes[0]
    return "" if ranking.verdict in (NONE, UNDETERMINED) else ranking.verdict
