"""Individuals and moving-range charts of an axis: as SVG for pages, as a flowable for prints."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe
from reportlab.platypus import Flowable

from permits.calibration import models as rows
from permits.calibration.charts import pdf, svg
from permits.calibration.charts.layout import NARROW, WIDE, lay_out
from permits.calibration.queries.history import AxisHistory, Series, history
from permits.calibration.rules.job import Stage

__all__ = ["Figure", "drawing", "figures"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A chart for a page: the same drawn for a desk and for a phone, and what it says."""

    title: str
    wide: SafeString
    narrow: SafeString
    signals: tuple[str, ...]


def figures(axis: AxisHistory) -> list[Figure]:
    """As found and as left; empty where there are fewer than two visits."""
    return [
        Figure(
            title=series.stage.capitalize(),
            wide=mark_safe(svg.render(lay_out(axis, series, WIDE))),
            narrow=mark_safe(svg.render(lay_out(axis, series, NARROW))),
            signals=tuple(told.words for told in series.signals),
        )
        for series in (axis.found, axis.left)
        if series.chart is not None
    ]


def drawing(
    axis: rows.Axis | AxisHistory, *, stage: Stage = Stage.AS_FOUND, width: float = 480.0
) -> Flowable | None:
    """The chart of a stage as a reportlab flowable `width` points wide, black on white.

    None where there are fewer than two visits, which have no range.
    """
    found = axis if isinstance(axis, AxisHistory) else history(axis)
    series: Series = found.found if stage is Stage.AS_FOUND else found.left
    return pdf.Picture(lay_out(found, series, WIDE), width) if series.chart is not None else None
