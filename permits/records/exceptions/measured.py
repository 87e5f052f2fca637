"""Exceptions of a calibration: corrections against the readings, results, readings struck out."""

from __future__ import annotations

from collections.abc import Iterator

from permits.calibration.rules.deciding import Decision
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.job import Stage
from permits.records.entries import Told
from permits.records.exceptions.found import Found, Judge, SoFar
from permits.records.exceptions.kinds import What


def against_readings(told: Told, so_far: SoFar) -> Iterator[Found]:
    """A correction that the readings did not ask for; its reason is in the entry."""
    if told.kind == Fact.CORRECTION_ENTERED and told.data["override"]:
        yield Found(What.AGAINST_READINGS, told)


def result_not_good(told: Told, so_far: SoFar) -> Iterator[Found]:
    """An as-left result that is not *leave*, or is worse than before; or an axis left out."""
    data = told.data
    judged = told.kind == Fact.RESULT_JUDGED and (data["decision"] != Decision.LEAVE or data["worse"])
    left = told.kind == Fact.AXIS_ENDED and (data["stage"], data["decision"]) == (
        Stage.AS_FOUND,
        Decision.ADJUST,
    )
    if judged or left:
        yield Found(What.RESULT_NOT_GOOD, told)


def overdue_instrument(told: Told, so_far: SoFar) -> Iterator[Found]:
    """A reading with an instrument out of date, which a site's policy may allow."""
    if told.kind == Fact.PIECE_READ and told.data.get("overdue_since"):
        yield Found(What.OVERDUE_INSTRUMENT, told)


def reading_struck(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind == Fact.PIECE_STRUCK:
        yield Found(What.READING_STRUCK, told)


JUDGES: tuple[Judge, ...] = (against_readings, result_not_good, overdue_instrument, reading_struck)
