"""While the clock is behind the record: what only makes things safer is accepted, and all else is refused."""

from dataclasses import replace
from datetime import timedelta
from typing import get_args

import pytest

from permits.work.rules import commands as c
from permits.work.rules.clock_behind import TOLERATED, how_far, needs_no_time, refuse_while_behind
from permits.work.rules.refusal import Refused
from permits.work.rules.words import BOX
from tests.work.otherwise import absent, emergency, late, lift, on_paper, stop
from tests.work.small_plant import (
    cancel,
    clear,
    end_sanction,
    lock,
    ready,
    reisolate,
    release,
    sign_off,
    sign_on,
    try_start,
    verify,
    zero,
)

BEHIND = timedelta(minutes=90)

# By hand: none of these counts by its time, lets anyone in, takes protection away or ends a permit.
ACCEPTED = {
    "StopWork", "SuspendPermit", "DeclareEmergency", "SignOffCrew", "ApplyLock", "Reisolate", "EndSanction",
    "LeaveWatch", "TellAffected", "AcknowledgeNotice", "OfferHandover", "AcceptHandover", "WithdrawHandover",
}  # fmt: skip


def refused_by_clock(behind, command=None):
    with pytest.raises(Refused) as error:
        refuse_while_behind(behind, command)
    return error.value.codes


def bare(kind):
    """A command of this kind, without what it says: only its kind is looked at."""
    command = object.__new__(kind)
    for name, value in {"releases": (), "where": "Q1"}.items():
        if name in kind.__dataclass_fields__:
            object.__setattr__(command, name, value)
    return command


def test_every_command_is_accepted_or_refused_as_it_stands_in_the_list():
    assert {kind.__name__ for kind in get_args(c.Command) if needs_no_time(bare(kind))} == ACCEPTED


@pytest.mark.parametrize(
    "command",
    [stop(30), emergency(30), sign_off("odo"), lock("Q1", "K-1"), reisolate(40), end_sanction(30)],
    ids=lambda command: type(command).__name__,
)
def test_what_makes_things_safer_is_accepted_however_wrong_the_clock(command):
    refuse_while_behind(BEHIND, command)
    refuse_while_behind(timedelta(days=400), command)


@pytest.mark.parametrize(
    "command",
    [
        sign_on("odo", "B-1"), clear("SAW"), ready(25), verify("CUT", zero("Q1")), try_start("CUT"),
        release("C1"), cancel(4), lift(40), on_paper(30), late(stop(30)), absent(BOX), absent("Q1"),
    ],
    ids=lambda command: type(command).__name__,
)  # fmt: skip
def test_what_counts_by_its_time_or_lets_go_is_refused(command):
    assert refused_by_clock(BEHIND, command) == {"clock-behind"}
    refuse_while_behind(timedelta(), command)


def test_isolating_again_waits_for_its_releases_alone():
    """A store's waiting time begins with its release: told by a slow clock it would be over too soon."""
    again = reisolate(40)
    refuse_while_behind(BEHIND, replace(again, locks=(lock("Q1", "K-1"),)))
    assert refused_by_clock(BEHIND, replace(again, releases=(release("C1"),))) == {"clock-behind"}


def test_what_is_no_step_of_a_permit_is_refused():
    assert refused_by_clock(BEHIND) == {"clock-behind"}


def test_a_few_seconds_are_no_wrong_clock():
    refuse_while_behind(TOLERATED, ready(25))
    assert refused_by_clock(TOLERATED + timedelta(milliseconds=1), ready(25)) == {"clock-behind"}


def test_the_refusal_says_how_far_and_who_sets_it_right():
    with pytest.raises(Refused) as error:
        refuse_while_behind(BEHIND, ready(25))
    [unmet] = error.value.unmet
    assert unmet.what.startswith("The server's clock is 90 minutes behind the record's last entry")
    assert unmet.who.startswith("An administrator sets the clock right, on the server.")
    assert "only what makes things safer is accepted" in unmet.who


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(6, "6 seconds"), (119, "119 seconds"), (120, "2 minutes"), (5400, "90 minutes"), (7200, "2 hours"),
     (172_799, "47 hours"), (172_800, "2 days")],
)  # fmt: skip
def test_how_far_is_told_in_a_unit_that_one_can_feel(seconds, words):
    assert how_far(timedelta(seconds=seconds)) == words
