"""An issuer adds points to an open plan; affected people say that a notice reached them."""

from dataclasses import replace
from decimal import Decimal

import pytest

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.amending import may_be_added
from permits.work.rules.next_step import next_step
from permits.work.rules.words import Phase, Reading
from tests.work.otherwise import acknowledge, amend, fed_twice, lift
from tests.work.small_plant import (
    SITE,
    accepted_site,
    at,
    checked_site,
    done,
    handed_back_site,
    happened,
    in_test_site,
    isolated_site,
    issue,
    lock,
    locked_site,
    occupied_site,
    p1,
    powered_site,
    readings,
    refused,
    release,
    request,
    tell,
    verify,
    with_person,
    zero,
)


def test_a_second_feed_is_added_locked_and_proven():
    site = done(fed_twice(isolated_site()), lift(40), amend())
    assert p1(site).plan_lock == ("Q1", "Q2", "Q3")
    assert p1(site).points == ("Q1", "Q3", "Q2", "C1", "G1")
    assert refused(site, lock("Q3", "109", 42)) == {"not-told"}, "nobody knows of the added point"
    site = done(site, tell(41), lock("Q3", "109", 42), release("C1", 43))
    nothing_seen = c.PointReadings(point="Q3", readings=(Reading(Decimal(0), ""),))
    second = verify("CUT", zero("Q1"), zero("C1"), zero("G1"), nothing_seen, when=50)
    site = done(site, second, readings(50)[1])
    assert p1(site).phase is Phase.ISOLATED


def test_a_point_added_to_an_isolated_permit_calls_the_crew_out():
    events = happened(occupied_site(), amend(30, lock=("Q0",)))
    assert [type(x) for x in events] == [e.PlanAmended, e.IsolationLost]
    assert events[1].crew == ("odo", "hal")


def test_a_store_is_added_too():
    site = done(SITE, request(zones=("NEXT",)), issue(holder="odo"))
    assert p1(done(site, amend(3, lock=(), release=("G1",)))).plan_release == ("G1",)


def test_nothing_is_ever_taken_away():
    site = done(accepted_site(), amend(4, lock=("Q0",)))
    assert set(p1(accepted_site()).points) < set(p1(site).points)


@pytest.mark.parametrize("who", ["odo", "sig", "hal", "ola"])
def test_only_an_issuer_adds_points(who):
    assert "no-role" in refused(locked_site(), amend(by=who, lock=("Q0",)))


def test_the_holder_does_not_amend_their_own_permit():
    site = with_person(locked_site(), "odo", roles=frozenset({"issuer", "technician"}))
    assert refused(site, amend(by="odo", lock=("Q0",))) == {"own-issue"}


@pytest.mark.parametrize("state", [in_test_site, powered_site, handed_back_site])
def test_points_are_added_only_while_nothing_is_freed(state):
    assert refused(state(), amend(90, lock=("Q0",))) == {"wrong-phase"}


@pytest.mark.parametrize(
    ("points", "codes"),
    [
        ({"lock": ()}, {"no-point"}),
        ({"lock": ("Q1",)}, {"in-plan-already"}),
        ({"lock": ("B1",)}, {"not-lockable"}),
        ({"lock": ("none",)}, {"not-lockable"}),
        ({"lock": (), "release": ("Q0",)}, {"not-releasable"}),
        ({"lock": ("Q0",), "why": ""}, {"says-too-little"}),
    ],
)
def test_what_is_added_is_a_point_that_is_not_there_yet(points, codes):
    assert refused(locked_site(), amend(**points)) == codes


def test_only_what_can_be_added_is_offered():
    assert may_be_added(SITE, p1(locked_site())) == (("Q0",), ())


def test_an_amended_plan_keeps_what_was_held():
    site = done(checked_site(), amend(30, lock=("Q0",)))
    assert p1(site).locked == {"Q1", "Q2", "G1"}


# ── acknowledged ────────────────────────────────────────────────────────────────────────────────────────


def test_an_affected_person_says_that_a_notice_reached_them():
    said = p1(done(accepted_site(), acknowledge())).acknowledgements
    assert [(a.person, a.notice) for a in said] == [("ola", 0)]


def test_there_is_a_notice_to_acknowledge():
    assert refused(accepted_site(), acknowledge(1)) == {"no-such-notice"}
    assert refused(accepted_site(), acknowledge(-1)) == {"no-such-notice"}


def test_it_is_said_once():
    site = done(accepted_site(), acknowledge())
    assert refused(site, acknowledge(when=21)) == {"acknowledged-already"}
    assert done(site, replace(acknowledge(when=22), by="pia"))


def test_a_point_of_the_plan_is_not_added_again():
    assert refused(locked_site(), amend(lock=("Q1",))) == {"in-plan-already"}


def test_what_takes_no_lock_or_cannot_be_released_is_no_point_to_add():
    assert refused(locked_site(), amend(lock=("B1",))) == {"not-lockable"}
    assert refused(locked_site(), amend(lock=(), release=("Q0",))) == {"not-releasable"}


def test_the_next_step_after_an_amendment_is_to_tell_of_it():
    site = done(locked_site(), amend(15, lock=("Q0",)))
    step = next_step(site, p1(site), "odo", at(16))
    assert (step.action, step.why) == ("tell", "Points were added since they were told.")
    site = done(site, tell(16))
    assert next_step(site, p1(site), "odo", at(17)).point == "Q0"
