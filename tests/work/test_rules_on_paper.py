"""Paper mode: what happened while the server was down is entered late, by two people."""

from dataclasses import replace

import pytest

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.evolve import fold
from permits.work.rules.words import Phase
from tests.work.otherwise import late, off_paper, on_paper, stop
from tests.work.small_plant import (
    at,
    checked_site,
    clear,
    done,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    lock,
    locked_site,
    occupied_site,
    p1,
    readings,
    ready,
    refused,
    remove,
    sanction,
    sign_off,
    sign_on,
    try_start,
)


def paper_site(site=None):
    return done(site or occupied_site(), on_paper())


def test_what_was_done_on_paper_is_entered_with_who_did_it_and_who_says_so():
    entered = happened(paper_site(), late(sign_off("hal", 40)))
    assert [type(x) for x in entered] == [e.LateEntered, e.CrewSignedOff]
    first = entered[0]
    assert (first.by, first.second, first.happened_at, first.entries) == ("odo", "hal", at(40), 1)
    assert (entered[1].by, entered[1].at) == ("hal", at(61)), "it counts from now"


def test_what_each_of_the_two_signs_is_in_the_entry(monkeypatch):
    site = paper_site()
    first = happened(site, late(sign_off("hal", 40)))[0]
    assert (first.signed, first.second_signed) == (c.SIGNED[c.EnterLate], c.SECOND_SIGNED[c.EnterLate])
    older = replace(first, second_signed="")  # as entries were before they said it
    before = [p1(fold(site, [one])) for one in (first, older)]
    assert before[0] == before[1]
    monkeypatch.setitem(c.SECOND_SIGNED, c.EnterLate, "means something else from now on")
    assert [p1(fold(site, [one])) for one in (first, older)] == before


def test_a_removal_is_entered_late():
    site = paper_site(handed_back_site())
    site = done(site, late(remove("Q1", "Q2", when=50), 85, happened=50))
    assert p1(site).locked == {"G1"}


def test_a_removal_that_exposes_someone_is_refused_on_paper_as_well():
    site = paper_site()
    assert "crew-signed-on" in refused(site, late(remove("Q1", when=50)))


def test_two_people_vouch_for_it():
    for second in ("odo", "nobody", ""):
        assert refused(paper_site(), late(sign_off("hal"), second=second)) == {"no-second-person"}


def test_who_did_it_is_known_here():
    assert "no-such-person" in refused(paper_site(), late(sign_off("nobody")))


def test_the_form_is_named():
    assert refused(paper_site(), late(sign_off("hal"), form=" ")) == {"says-too-little"}


def test_without_paper_mode_nothing_is_entered_late():
    assert refused(occupied_site(), late(sign_off("hal"))) == {"not-on-paper"}


@pytest.mark.parametrize("happened_at", [29, 62])
def test_it_happened_while_the_site_was_on_paper(happened_at):
    assert refused(paper_site(), late(sign_off("hal"), happened=happened_at)) == {"not-in-paper-time"}


@pytest.mark.parametrize("who", ["maud", "sig", "hal"])
def test_who_works_here_enters_it(who):
    assert p1(done(paper_site(), late(sign_off("hal"), by=who, second="odo"))).signed_on


def test_an_operator_does_not_enter_it():
    assert refused(paper_site(), late(sign_off("hal"), by="ola")) == {"no-role"}


# ── meanwhile ───────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("state", "ask"),
    [
        (checked_site, sign_on("hal", "202", 62)),
        (checked_site, sanction(62)),
        (checked_site, hand_back(62)),
        (handed_back_site, remove("Q1", when=85)),
    ],
)
def test_until_everything_is_entered_nothing_new_takes_protection_away(state, ask):
    site = done(state(), on_paper(61 if ask.at < at(80) else 84))
    assert refused(site, ask) == {"paper-mode"}


def test_what_makes_it_safer_goes_on():
    site = paper_site(locked_site())
    assert p1(done(site, *readings(62))).phase is Phase.ISOLATED
    assert p1(done(site, lock("Q1", "301", 62, by="hal"), stop(63))).halted


def test_an_officer_ends_it_and_says_how():
    site = paper_site(checked_site())
    assert refused(site, off_paper(by="maud")) == {"no-role"}
    assert refused(site, off_paper(how="")) == {"says-too-little"}
    assert refused(site, off_paper(all_out=False)) == {"inside-on-paper"}
    ended = done(site, off_paper())
    assert ended.paper is None
    assert refused(ended, off_paper(72)) == {"not-on-paper"}


def test_who_stayed_inside_all_the_while_relies_on_the_tests_from_before():
    ended = done(paper_site(), off_paper())
    assert (p1(ended).phase, len(p1(ended).signed_on)) == (Phase.ISOLATED, 2)


def test_where_nobody_stayed_inside_everything_is_proven_anew_for_a_test_may_have_come_between():
    site = done(checked_site(), sanction(), clear("OUT", "NEXT", when=24), on_paper())
    events = happened(site, off_paper())
    assert {type(x) for x in events} == {
        e.PaperEnded, e.ConfirmationsVoided, e.VerificationVoided, e.IsolationLost,
    }  # fmt: skip
    ended = done(site, off_paper())
    assert refused(ended, sign_on("hal", "202", 71)) >= {"not-verified"}
    assert refused(done(ended, *readings(71)), ready(80)) >= {"wrong-phase"}
    assert p1(done(ended, *readings(71), sign_on("hal", "202", 80))).signed_on


def test_a_late_sign_off_takes_out_nobody_who_went_in_after_it():
    site = done(checked_site(), sign_on("hal", "202", 50), on_paper(since=30))
    assert refused(site, late(sign_off("hal", 40), happened=40)) == {"before-they-went-in"}
    assert not p1(done(site, late(sign_off("hal", 55), happened=55))).signed_on


def test_on_paper_the_controls_are_not_tried_since_nobody_knows_who_is_inside():
    site = paper_site(locked_site())
    assert refused(site, try_start(61)) >= {"paper-mode"}


def test_on_paper_an_area_can_be_seen_clear_so_that_a_start_on_paper_can_be_entered():
    assert p1(done(paper_site(handed_back_site()), clear("OUT", "NEXT", when=62))).confirmation("OUT")


def test_an_officer_declares_it_once_for_a_time_that_is_past():
    assert refused(in_test_site(), on_paper(by="maud")) == {"no-role"}
    assert refused(in_test_site(), on_paper(60, since=61)) == {"not-yet"}
    assert refused(in_test_site(), on_paper(why="")) == {"says-too-little"}
    assert refused(paper_site(), on_paper(62)) == {"paper-already"}
