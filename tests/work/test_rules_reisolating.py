"""Re-isolating on one page: the locks and releases of the freed points in one go, or none of them."""

from dataclasses import replace

from permits.work.rules import events as e
from permits.work.rules.reisolating import emptied, freed
from permits.work.rules.words import Phase
from tests.work.small_plant import (
    at,
    done,
    happened,
    in_test_site,
    lock,
    p1,
    powered_site,
    readings,
    refusal,
    refused,
    reisolate,
    release,
)

LOCKS = (lock("Q1", "101"), lock("Q2", "102"))


RELEASES = (release("C1"),)


def on_one_page(*, locks=LOCKS, releases=RELEASES, when=40):
    return replace(reisolate(when), locks=locks, releases=releases)


def test_the_freed_points_are_locked_and_the_bus_released_again_in_one_go():
    events = happened(powered_site(), on_one_page())
    assert [type(x) for x in events] == [e.Reisolating, e.LockApplied, e.LockApplied, e.StoreReleased]
    site = done(powered_site(), on_one_page(), *readings(50))
    assert p1(site).phase is Phase.ISOLATED


def test_the_wait_of_the_bus_counts_from_the_page():
    released = p1(done(powered_site(), on_one_page())).release_of("C1")
    assert released.counts_from == at(45)


def test_one_flaw_and_nothing_has_happened():
    site = powered_site()
    no = refusal(site, on_one_page(locks=(lock("Q1", "101"), lock("Q2", "101"))))
    assert no.codes == {"padlock-in-use", "upstream-not-locked"}
    assert p1(site).phase is Phase.TESTING


def test_every_flaw_is_named_once():
    bad = (replace(lock("Q1", "101"), tag=""), replace(lock("Q2", "102"), tag=""))
    no = refusal(powered_site(), on_one_page(locks=bad, releases=()))
    assert [unmet.code for unmet in no.unmet].count("no-tag") == 1


def test_what_is_left_out_is_done_at_the_point():
    site = done(powered_site(), on_one_page(locks=LOCKS[:1], releases=()))
    assert (freed(p1(site)), emptied(p1(site))) == (("Q2",), ("C1",))
    assert p1(done(site, lock("Q2", "102", 41), release("C1", 42), *readings(50))).phase is Phase.ISOLATED


def test_points_that_were_not_freed_need_nothing():
    assert freed(p1(in_test_site())) == ()
    assert refused(in_test_site(), on_one_page(releases=())) == {"already-locked", "padlock-in-use"}
