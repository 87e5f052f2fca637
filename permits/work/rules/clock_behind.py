"""The server's clock is behind the record's last entry: what is still accepted, and how the rest is refused.

Either the clock is wrong, or it was when that entry was written; which of the two cannot be told from here.
Entries carry the last entry's time until the clock has passed it. Meanwhile a confirmation would stay fresh,
a wait would seem over or begin too early, and nothing would fall due.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from . import commands as c
from .held_up import is_safer
from .refusal import Unmet, refuse_if

TOLERATED = timedelta(seconds=5)
"""A clock that is set by small steps, or two servers' clocks, may differ by this."""

# Of what a stop lets through: these count by their time, or end what cannot be begun again without it.
NOT_WITHOUT_TIME: tuple[type[c.Ask], ...] = (
    c.VerifyMachine, c.TryStart, c.ReleaseStore, c.LiftHalt, c.CancelPermit, c.TakeOffForAbsent,
)  # fmt: skip


def is_behind(behind: timedelta) -> bool:
    return behind > TOLERATED


def needs_no_time(command: c.Command) -> bool:
    """Does the command only make things safer, at whatever time it is said to have happened?"""
    if isinstance(command, c.Reisolate):
        return not command.releases  # a store's waiting time begins with its release
    if isinstance(command, c.DeclareEmergency):
        return True
    return is_safer(command) and not isinstance(command, NOT_WITHOUT_TIME)


def refuse_while_behind(behind: timedelta, command: c.Command | None = None) -> None:
    """`behind`: how far the clock is behind the last entry. `command`: None for what is no permit's step."""
    if command is None or not needs_no_time(command):
        refuse_if(clock_behind(behind))


def clock_behind(behind: timedelta) -> Iterator[Unmet]:
    if is_behind(behind):
        yield Unmet(
            "clock-behind",
            f"The server's clock is {how_far(behind)} behind the record's last entry: it is wrong now, or it "
            "was then. Waits and confirmations cannot be told from it.",
            "An administrator sets the clock right, on the server. Until then, or until it has passed that "
            "entry, only what makes things safer is accepted.",
        )


def how_far(behind: timedelta) -> str:
    """In the largest unit of which there are two: "90 minutes", "3 hours"."""
    seconds = round(behind.total_seconds())
    for name, size in (("days", 86_400), ("hours", 3600), ("minutes", 60)):
        if seconds >= 2 * size:
            return f"{seconds // size} {name}"
    return f"{seconds} seconds"
