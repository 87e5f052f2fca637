"""Whatever goes otherwise, each permit still ends lawfully: a stop, a holder who leaves, a blade that breaks.

Everyone only does what their own next step says; the officer besides what an officer is there for.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import pytest

from permits.work.rules import commands as c
from permits.work.rules.against import is_signed_on
from permits.work.rules.closing import still_open
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX, Phase
from tests.work.following import following
from tests.work.otherwise import emergency, stop, suspend
from tests.work.small_plant import PEOPLE, at, done, p1, settled
from tests.work.test_rules_next_step import AT, STATES, made

OPEN = [name for name in STATES if name not in ("closed", "cancelled", "out of use")]
AT_WORK = [name for name in OPEN if made(name).permits["P-1"].phase not in (Phase.REQUESTED, Phase.ISSUED)]
PATIENCE = 120  # rounds in which everyone may do their next step


def begun(state: str) -> tuple[Site, float]:
    """The site in this state, and a minute after it."""
    return made(state), 601 if "over" in state else AT.get(state, 70)


def goes_on(site: Site, minute: float, *, gone: str = "") -> Permit:
    """P-1 once it is over, with everyone but who is gone doing their next step; fails where it never is."""
    for _ in range(PATIENCE):
        for who in (ref for ref in PEOPLE if ref != gone):
            if p1(site).phase.is_over:
                return p1(site)
            site = settled(site, at(minute))
            for ask in officers(site, minute, gone) or [following(site, "P-1", who, at(minute))]:
                if ask is not None:
                    with suppress(Refused):
                        site = done(site, ask)
            minute += 0.5
        minute += 1
    raise AssertionError(f"still {p1(site).phase} after {PATIENCE} rounds")


def officers(site: Site, minute: float, gone: str) -> list[c.Command]:
    """What an officer may do besides: search for and replace who is gone, leave what can't be proven."""
    p = p1(site)
    sig = {"permit": p.id, "by": "sig", "at": at(minute)}
    asks: list[c.Command] = []
    if gone:
        checks = {"second": "maud", "not_on_site": "gate", "tried": "called", "searched": "both zones"}
        places = [BOX] if is_signed_on(p, gone) else [k.where for k in p.hanging if k.owner == gone]
        asks += [c.TakeOffForAbsent(**sig, owner=gone, where=where, **checks) for where in places]
    if p.holder == gone and not p.next_holder:
        asks.append(c.NameHolder(**sig, to="pia", why="went home ill"))
    if p.reenergised_at is not None and any(still_open(site, p)):
        asks.append(c.CloseOutOfUse(**sig, why="it cannot be proven now"))
    return [ask for ask in asks if accepted(site, ask)]


def accepted(site: Site, ask: c.Command) -> bool:
    try:
        done(site, ask)
    except Refused:
        return False
    return True


@pytest.mark.parametrize("ask", [stop(0), suspend(0), emergency(0)], ids=["stop", "suspension", "emergency"])
@pytest.mark.parametrize("state", OPEN)
def test_what_is_stopped_in_any_state_still_ends(state, ask):
    site, minute = begun(state)
    with suppress(Refused):  # a suspension is for work that has begun
        site = done(site, replace(ask, at=at(minute)))
    assert goes_on(site, minute + 1).phase.is_over


@pytest.mark.parametrize("state", AT_WORK)
def test_a_holder_who_leaves_is_replaced_and_the_permit_ends(state):
    site, minute = begun(state)
    ended = goes_on(site, minute, gone="odo")
    assert ended.phase.is_over
    assert not any(lock.removed_at is None for lock in ended.locks)


@pytest.mark.parametrize("state", AT_WORK)
def test_a_stop_and_then_the_holder_leaves_and_the_permit_ends(state):
    site, minute = begun(state)
    site = done(site, stop(minute))
    assert goes_on(site, minute + 1, gone="odo").phase.is_over


def test_a_blade_breaks_with_a_correction_unproven_and_the_machine_stays_out_of_use():
    """The stop ends the test; nothing can be cut any more; the officer closes it not proven."""
    site = done(made("job"), c.CorrectAxis(permit="P-1", by="odo", at=at(70), job=1, axis="angle"))
    site = done(site, stop(71, by="hal", why="the blade broke"))
    ended = goes_on(site, 72)
    assert ended.phase is Phase.CLOSED
    assert ended.out_of_use
