"""May this instrument read this axis today? Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.policy import Overdue, Policy
from permits.work.rules.refusal import Unmet


@dataclass(frozen=True, slots=True)
class OnHand:
    """An instrument as a person takes it up: name and number, what it reads, until when it is trusted."""

    name: str
    number: str
    unit: Unit
    due_on: date
    withdrawn: bool = False

    def is_overdue(self, day: date) -> bool:
        """Is its calibration out of date? On the day it is due it still counts."""
        return self.due_on < day


def against_overdue(instrument: OnHand, day: date, policy: Policy) -> Iterator[Unmet]:
    """Refused where the site refuses it; where the site records it, the entry says so."""
    if instrument.is_overdue(day) and policy.overdue is Overdue.REFUSED:
        due = f"{instrument.due_on.day} {instrument.due_on:%B %Y}"
        yield Unmet(
            "instrument-overdue",
            f"The calibration of {instrument.name} was due on {due}.",
            "You take an instrument that is in date; or a safety officer enters its new certificate, under "
            "“Instruments”.",
        )


def against_instrument(
    instrument: OnHand, *, axis: str, unit: Unit, allowed: tuple[str, ...], day: date, policy: Policy
) -> Iterator[Unmet]:
    """`allowed`: the numbers that the axis names; empty where any that reads the unit will do."""
    yield from against_overdue(instrument, day, policy)
    if instrument.withdrawn:
        yield Unmet(
            "instrument-withdrawn",
            f"{instrument.name} was taken out of use.",
            "You take another one, and choose it on this page.",
        )
    if instrument.unit is not unit:
        yield Unmet(
            "wrong-unit",
            f"{instrument.name} reads {instrument.unit}; {axis} is judged in {unit}.",
            f"You take an instrument that reads {unit}, and choose it on this page.",
        )
    if allowed and instrument.number not in allowed:
        yield Unmet(
            "instrument-not-allowed",
            f"{instrument.name} is not among the instruments for {axis}.",
            f"You take one of these, and choose it on this page: {', '.join(allowed)}.",
        )
