"""What happened on paper and was entered late: which entries, when they really happened, whose word it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from permits.records.entries import Told
from permits.records.telling.line import Voice
from permits.work.rules import events as e

Late = Mapping[int, Told]
"""An entry's number → the entry before it that says that it was entered late."""


def late_in(told: Iterable[Told]) -> dict[int, Told]:
    """The entries that were entered late: as many after each LateEntered as it says, in one transaction."""
    return {
        one.number + step: one
        for one in told
        if isinstance(one.event, e.LateEntered)
        for step in range(1, one.event.entries + 1)
    }


def late_in_full(number: int, late: Late, voice: Voice) -> str:
    """For a story's line: "entered late: happened at … (form F-7), vouched for by …"; "" for any other."""
    told = late.get(number)
    if told is None or not isinstance(told.event, e.LateEntered):
        return ""
    event, names = told.event, voice.names
    happened = f"happened at {voice.when(event.happened_at)} (form {event.form})"
    return f"entered late: {happened}, vouched for by {names.persons((event.by, event.second))}"


def late_in_short(told: Told | None, late: Late, voice: Voice) -> str:
    """For a table's cell: "happened 25 Nov 08:40:00, entered late"; "" for any other."""
    by = late.get(told.number) if told is not None else None
    if by is None or not isinstance(by.event, e.LateEntered):
        return ""
    return f"happened {voice.clock.short(by.event.happened_at)}, entered late"


def signed_on_paper(told: Told, late: Late, voice: Voice) -> str:
    """Where and when the signature of an entry was really given; "" where it was given here."""
    by = late.get(told.number)
    if by is None or not isinstance(by.event, e.LateEntered):
        return ""
    return f"on paper, form {by.event.form}, {voice.clock.short(by.event.happened_at)}"
