"""How a site measures: system of lengths, finest fraction, what befalls an overdue instrument. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from permits.calibration.rules.lengths import Measure, Unit, shown_in

FINEST = (16, 32, 64)


class Overdue(StrEnum):
    """What happens to a reading with an instrument whose calibration is out of date."""

    REFUSED = "refused"
    RECORDED = "recorded"


@dataclass(frozen=True, slots=True)
class Policy:
    """A site's own choices.

    lengths: the system that new axes begin with and that other lengths are converted to for display (mm).
    finest: the finest fraction of an inch that the phone's keys write (16); finer ones may still be typed.
    overdue: whether a reading with an overdue instrument is refused, or taken and recorded as an exception
    (refused; to record it is site policy, for a plant that cannot wait for the certificate).
    """

    lengths: Unit = Unit.MM
    finest: int = 16
    overdue: Overdue = Overdue.REFUSED

    def also(self, measure: Measure) -> str:
        """The length in the site's system, marked as converted, to stand beside the one that was typed.

        "" for one that is in it, and for angles.
        """
        if measure.unit in (Unit.DEGREE, self.lengths):
            return ""
        return shown_in(measure, self.lengths).partition(" (")[0] + ", converted"
