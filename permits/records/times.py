"""Times as records show them: the site's own clock, always with its distance from UTC."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, tzinfo


def offset(at: datetime) -> str:
    """How far an aware time is from UTC: "UTC+01:00", or "UTC"."""
    sign = at.strftime("%z")
    return f"UTC{sign[:3]}:{sign[3:5]}" if sign.strip("+-0") else "UTC"


def full(at: datetime) -> str:
    """ "25 Nov 2026, 08:40:12 UTC+01:00"; `at` is already in the zone to be shown."""
    return f"{at.day} {at:%b %Y, %H:%M:%S} {offset(at)}"


@dataclass(frozen=True, slots=True)
class Clock:
    """Local times of one site. `common`: the one offset of all times shown, "" where they have several."""

    zone: tzinfo
    name: str
    common: str = ""

    @classmethod
    def of(cls, zone: tzinfo, name: str, times: Iterable[datetime]) -> Clock:
        """The clock for a record with these times."""
        offsets = {offset(at.astimezone(zone)) for at in times}
        return cls(zone, name, offsets.pop() if len(offsets) == 1 else "")

    def local(self, at: datetime) -> datetime:
        return at.astimezone(self.zone)

    def full(self, at: datetime) -> str:
        """With year, seconds and offset: for entries and signatures."""
        return full(self.local(at))

    def short(self, at: datetime | None) -> str:
        """For tables that state the common offset: "25 Nov 08:40:12"; else with its own."""
        if at is None:
            return ""
        local = self.local(at)
        text = f"{local.day} {local:%b %H:%M:%S}"
        return text if offset(local) == self.common else f"{text} {offset(local)}"

    @property
    def said(self) -> str:
        """What a table's head says about its times."""
        where = f"Times are those of the site ({self.name})"
        return f"{where}, {self.common}." if self.common else f"{where}; each has its distance from UTC."
