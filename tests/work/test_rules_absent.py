"""Locks of absent people (29 CFR 1910.147(e)(3)): two checks before, one open until they know."""

from dataclasses import replace

import pytest

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.evolve import fold
from permits.work.rules.words import BOX, Phase
from tests.work.otherwise import TWO_OFFICERS, absent, offer, stop, take_over, told_back
from tests.work.small_plant import (
    SITE,
    accept,
    checked_site,
    done,
    handed_back_site,
    happened,
    isolated_site,
    issue,
    lock,
    locked_site,
    occupied_site,
    p1,
    refusal,
    refused,
    release,
    remove,
    request,
    sanction,
    sign_off,
    sign_on,
    tell,
)


def test_an_absent_person_is_signed_off_and_their_padlock_leaves_the_box():
    site = done(occupied_site(), absent())
    assert [on.person for on in p1(site).signed_on] == ["hal"]
    assert [k.removed_at for k in p1(site).locks if k.where == BOX and k.owner == "odo"] != [None]
    assert site.untold == {"odo": ("P-1",)}


def test_both_who_took_it_off_are_named_and_sign():
    gone = happened(occupied_site(), absent())[0]
    assert isinstance(gone, e.AbsentSignedOff)
    assert (gone.by, gone.second, gone.owner) == ("sig", "maud", "odo")
    site = done(occupied_site(), absent())
    assert [s.person for s in p1(site).signatures[-2:]] == ["sig", "maud"]


def test_what_each_of_the_two_signs_is_in_the_entry():
    """Signatures are words of their day: a later version that words them otherwise leaves them so."""
    for site, ask in ((occupied_site(), absent()), (handed_back_site(), absent("Q1", when=82))):
        gone = happened(site, ask)[0]
        assert (gone.signed, gone.second_signed) == (c.SIGNED[type(ask)], c.SECOND_SIGNED[type(ask)])
        meanings = [s.meaning for s in p1(fold(site, [gone])).signatures[-2:]]
        assert meanings == [gone.signed, gone.second_signed]


def test_rewording_what_a_second_person_signs_changes_nothing_of_an_old_entry(monkeypatch):
    site = occupied_site()
    gone = happened(site, absent())[0]
    older = replace(gone, second_signed="")  # as entries were before they said it
    before = [p1(fold(site, [one])) for one in (gone, older)]
    assert before[0] == before[1]
    monkeypatch.setitem(c.SECOND_SIGNED, c.TakeOffForAbsent, "means something else from now on")
    assert [p1(fold(site, [one])) for one in (gone, older)] == before
    now = happened(site, absent())[0]
    assert p1(fold(site, [now])).signatures[-1].meaning == "means something else from now on"


@pytest.mark.parametrize("who", ["odo", "maud", "hal", "ola"])
def test_only_an_officer_takes_it_off(who):
    assert "no-role" in refused(occupied_site(), absent(by=who, owner="hal", second="pia"))


@pytest.mark.parametrize("second", ["sig", "odo", "nobody", ""])
def test_a_second_person_takes_part(second):
    assert refused(occupied_site(), absent(second=second)) == {"no-second-person"}


@pytest.mark.parametrize("left_out", ["not_on_site", "tried", "searched"])
def test_each_check_is_recorded(left_out):
    assert refused(occupied_site(), absent(**{left_out: " "})) == {"says-too-little"}


def test_a_point_needs_no_search():
    site = done(handed_back_site(), absent("Q1", searched="", when=82))
    assert "Q1" not in p1(site).locked


def test_ones_own_lock_is_taken_off_as_its_owner():
    assert "own-lock" in refused(occupied_site(), absent(owner="sig"))
    assert "own-lock" not in refused(occupied_site(TWO_OFFICERS), absent(owner="sig", by="ida"))


def test_who_is_not_signed_on_is_not_signed_off():
    assert refused(occupied_site(), absent(owner="pia")) == {"not-on"}


def test_a_lock_that_does_not_hang_is_not_taken_off():
    assert refused(handed_back_site(), absent("Q1", owner="hal", when=82)) == {"no-such-lock"}


def test_a_lock_stays_where_the_owners_of_it_may_be_inside():
    no = refusal(occupied_site(), absent("Q1"))
    assert "owner-signed-on" in no.codes


def test_the_last_lock_stays_while_work_goes_on():
    assert refused(isolated_site(), absent("Q1")) == {"last-lock"}


def test_a_lock_that_is_all_that_protects_its_owner_stays():
    """Odo is inside on his own point locks, without one on the box: he is searched for first."""
    site = done(isolated_site(), sign_on("odo", "", 20))
    assert "own-locks-protect" in refused(site, absent("Q1"))
    assert p1(done(site, absent(when=41))).signed_on == ()


def test_on_the_way_back_to_service_it_comes_off():
    site = done(handed_back_site(), absent("Q1", when=82), absent("Q2", when=83), absent("G1", when=84))
    assert p1(site).hanging == ()
    assert "G1" not in p1(site).released, "what the lock held released is undone with it"


def test_a_point_lock_does_not_come_off_while_the_permit_is_stopped_but_people_do():
    site = done(occupied_site(), stop(30), sign_off("hal", 31))
    assert "held-up" in refused(site, absent("Q1", when=32))
    assert p1(done(site, absent(when=33))).signed_on == ()


def test_before_acceptance_there_is_nothing_to_take_off():
    assert "wrong-phase" in refused(done(SITE, request(), issue()), absent("Q1"))


# ── told before they resume ─────────────────────────────────────────────────────────────────────────────


def gone_site():
    """Odo was signed off in his absence, and came back."""
    return done(checked_site(), sign_on("odo", "201", 25), absent(when=30))


@pytest.mark.parametrize(
    "ask",
    [
        lock("Q1", "901", 40),
        sign_on("odo", "201", 40),
    ],
)
def test_until_they_are_told_they_neither_lock_nor_sign_on(ask):
    no = refusal(gone_site(), ask)
    assert "not-told-back" in no.codes
    assert any("Sig Officer" in unmet.who for unmet in no.unmet)


def test_until_they_are_told_they_accept_nothing():
    site = done(gone_site(), request(41, zones=("NEXT",)), issue(42, "P-2", holder="odo"))
    assert refused(site, accept(43, "P-2")) == {"not-told-back"}
    assert done(site, told_back(), accept(61, "P-2")).permits["P-2"].phase is Phase.ISOLATING


def test_until_they_are_told_they_take_no_permit_over():
    site = done(handed_back_site(), absent("Q1", when=82))
    site = done(site, request(83, zones=("NEXT",), by="pia"), issue(84, "P-2", holder="pia", crew=()))
    site = done(site, accept(85, "P-2", by="pia"))
    site = done(site, replace(offer("odo", 86, by="pia"), permit="P-2"))
    assert refused(site, replace(take_over(87, by="odo"), permit="P-2")) == {"not-told-back"}


def test_until_they_are_told_they_hang_no_lock_on_a_release():
    site = done(isolated_site(), sign_on("odo", "201", 25), stop(26), absent(when=30))
    assert "not-told-back" in refused(site, release("G1", 31, padlock="555"))


def test_told_they_go_on():
    site = done(gone_site(), told_back())
    assert site.untold == {}
    assert [on.person for on in p1(done(site, sign_on("odo", "201", 61))).signed_on] == ["odo"]


def test_whoever_lost_locks_under_two_permits_is_told_of_both():
    site = done(
        gone_site(),
        request(40, zones=("NEXT",), by="pia"),
        issue(41, "P-2", holder="pia", crew=("hal",)),
        accept(42, "P-2", by="pia"),
        tell(43, "P-2", by="pia"),
        sign_on("hal", "202", 44),
        lock("Q2", "301", 45, "P-2", by="pia"),
        lock("Q2", "303", 46, "P-2", by="hal"),
        absent(owner="hal", when=47),
        replace(absent("Q2", owner="hal", when=48), permit="P-2"),
    )
    assert site.untold == {"odo": ("P-1",), "hal": ("P-1", "P-2")}
    [no] = [no for no in refusal(site, sign_on("hal", "202", 49)).unmet if no.code == "not-told-back"]
    assert "taken off under P-1, P-2 while they were absent" in no.what


@pytest.mark.parametrize("who", ["hal", "ola", "pia"])
def test_an_officer_or_issuer_records_that_they_were_told(who):
    assert refused(gone_site(), told_back(by=who)) == {"no-role"}
    assert done(gone_site(), told_back(by="maud")).untold == {}


def test_nobody_records_it_for_themselves():
    assert refused(gone_site(), told_back(by="odo")) == {"no-role", "told-oneself"}


def test_how_they_were_told_is_said():
    assert refused(gone_site(), told_back(how="")) == {"says-too-little"}


def test_who_has_nothing_to_hear_is_not_told():
    assert refused(locked_site(), told_back()) == {"nothing-to-tell"}


def test_signing_off_and_taking_ones_own_locks_off_need_no_telling():
    site = done(gone_site(), sanction(50))
    assert "not-told-back" not in refused(site, remove("Q1", when=51))
