"""One permit folded from its entries, with the entry that began and the entry that ended each thing of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from permits.records.entries import UNREADABLE, Told
from permits.records.late import late_in
from permits.work import store
from permits.work.rules import events as e
from permits.work.rules.evolve import changed, requested
from permits.work.rules.state import Permit
from permits.work.rules.words import Phase

PARTS = tuple(name for name, _, _ in store.PARTS)

Key = tuple[str, int]
"""A part of a permit and a thing's place in it."""


@dataclass(slots=True)
class Account:
    """`permit` is as after the last entry, `proven` as it was last proven dead, with that entry.

    `phases`: each phase that the permit went through, with the number of the entry that began it;
    `handovers`: the entries in which the permit passed to another holder; `added`: a point of the plan → the
    entry that amended it; `late`: which entries happened on paper, see late.py.
    """

    permit: Permit
    began: dict[Key, Told] = field(default_factory=dict)
    ended: dict[Key, Told] = field(default_factory=dict)
    lapsed: dict[int, Told] = field(default_factory=dict)
    proven: tuple[Permit, Told] | None = None
    phases: list[tuple[int, Phase]] = field(default_factory=list)
    handovers: list[Told] = field(default_factory=list)
    added: dict[str, Told] = field(default_factory=dict)
    late: dict[int, Told] = field(default_factory=dict)

    def things(self, part: str) -> Iterator[tuple[int, Any, Told, Told | None]]:
        """(place, thing, the entry that began it, the entry that last changed it or None), in order."""
        for place, thing in enumerate(getattr(self.permit, part)):
            yield place, thing, self.began[part, place], self.ended.get((part, place))

    def add(self, told: Told) -> None:
        before = self.permit
        assert told.event is not None
        assert not isinstance(told.event, e.SiteEvent)
        self.permit = changed(before, told.event)
        if self.permit.phase is not before.phase:
            self.phases.append((told.number, self.permit.phase))
        for part in PARTS:
            old, new = getattr(before, part), getattr(self.permit, part)
            if old is new:
                continue
            for place, thing in enumerate(new):
                if place >= len(old):
                    self.began[part, place] = told
                elif old[place] != thing:
                    self.ended[part, place] = told
        match told.event:
            case e.Isolated():
                self.proven = (self.permit, told)
            case e.VerificationLapsed(point=point):
                self.lapse(point, told)
            case e.HandoverAccepted():
                self.handovers.append(told)
            case e.PlanAmended(lock=lock, release=release):
                self.added |= dict.fromkeys((*lock, *release), told)
            case e.LateEntered():
                self.late |= late_in([told])

    def lapse(self, point: str, told: Told) -> None:
        places = [
            n for n, test in enumerate(self.permit.verifications) if test.point == point and test.counts
        ]
        if places:
            self.lapsed[places[-1]] = told


def account_of(told: Iterable[Told]) -> Account | None:
    """The account; None where no readable request begins it. What can't be read or applied is passed over."""
    account: Account | None = None
    for one in told:
        if one.event is None:
            continue
        if isinstance(one.event, e.PermitRequested):
            account = account or begun(one.event, one.number)
        elif account is not None:
            try:
                account.add(one)
            except UNREADABLE:
                continue
    return account


def begun(event: e.PermitRequested, number: int) -> Account:
    permit = requested(event)
    return Account(permit, phases=[(number, permit.phase)])
