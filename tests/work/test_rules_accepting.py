"""Accepting, more time, crew, notices, cancelling."""

from dataclasses import replace

import pytest

from permits.work.rules import events as e
from permits.work.rules.words import Phase, Policy, Stage
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accept,
    accepted_site,
    at,
    cancel,
    checked_site,
    done,
    extend,
    handed_back_site,
    happened,
    in_test_site,
    isolated_site,
    issue,
    locked_site,
    name_crew,
    occupied_site,
    p1,
    refusal,
    refused,
    release,
    remove,
    request,
    restored_site,
    sanction,
    settled,
    sign_off,
    sign_on,
    tell,
    with_graph,
    with_person,
)


def issued_site():
    return done(SITE, request(), issue())


# ── accept ──────────────────────────────────────────────────────────────────────────────────────────────


def test_the_holder_accepts_and_isolates():
    assert p1(done(issued_site(), accept())).phase is Phase.ISOLATING


def test_acceptance_says_what_its_signature_means():
    [accepted] = happened(issued_site(), accept())
    assert "knows the energies" in accepted.signed


def test_a_permit_is_accepted_once():
    assert refused(accepted_site(), accept(5)) == {"wrong-phase"}


def test_nobody_accepts_for_the_holder():
    no = refusal(issued_site(), accept(by="hal"))
    assert no.codes == {"not-holder"}
    assert "Odo Holder" in no.unmet[0].who


def test_the_holder_must_be_authorised_for_the_machine():
    site = with_person(issued_site(), "odo", authorisations=())
    assert refused(site, accept()) == {"not-authorised"}


def test_a_permit_whose_time_is_over_is_not_accepted():
    assert refused(issued_site(), accept(480)) == {"expired"}


@pytest.mark.parametrize("known", ["knows_energies", "knows_hazards", "knows_control"])
def test_energies_hazards_and_means_of_control_are_each_confirmed(known):
    assert refused(issued_site(), replace(accept(), **{known: False})) == {"not-understood"}


def test_a_plan_that_the_plant_has_outgrown_is_not_accepted():
    no = refusal(with_graph(issued_site(), *SECOND_FEED), accept())
    assert (no.codes, no.path) == ({"plan-no-longer-isolates"}, ("Second feeder", "Saw drive", "Saw chamber"))


# ── more time ───────────────────────────────────────────────────────────────────────────────────────────


def test_an_issuer_gives_more_time():
    assert p1(done(accepted_site(), extend(100, 600))).ends_at == at(600)


def test_an_expired_permit_lives_again_with_more_time():
    site = done(settled(isolated_site(), at(481)), extend(482, 600))
    assert p1(done(site, sign_on("hal", "202", 483))).signed_on


def test_only_an_issuer_gives_more_time():
    assert refused(accepted_site(), extend(100, 600, by="sig")) == {"no-role"}


def test_the_holder_gives_themselves_no_more_time():
    site = with_person(accepted_site(), "odo", roles=frozenset({"technician", "issuer"}))
    assert refused(site, extend(100, 600, by="odo")) == {"own-issue"}


def test_more_time_is_longer_than_before():
    assert refused(accepted_site(), extend(100, 480)) == {"window-past"}


def test_more_time_ends_in_the_future():
    assert refused(settled(accepted_site(), at(481)), extend(600, 590)) == {"window-past"}


def test_more_time_is_no_longer_than_a_new_permit_may_run():
    assert refused(accepted_site(), extend(100, 100 + 12 * 60 + 1)) == {"window-too-long"}


def test_what_was_only_asked_for_is_not_extended():
    assert refused(done(SITE, request()), extend(100, 600)) == {"wrong-phase"}


# ── crew ────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_holder_names_crew():
    assert p1(done(accepted_site(), name_crew("pia"))).works_under_it("pia")


def test_an_issuer_names_crew():
    assert p1(done(accepted_site(), name_crew("pia", by="maud"))).works_under_it("pia")


def test_crew_does_not_name_crew():
    assert refused(accepted_site(), name_crew("pia", by="hal")) == {"no-role"}


def test_someone_is_named_once():
    assert refused(accepted_site(), name_crew("hal")) == {"already-named"}


def test_crew_must_be_known():
    assert refused(accepted_site(), name_crew("nobody")) == {"no-such-person"}


def test_crew_must_be_technicians_and_authorised():
    assert refused(accepted_site(), name_crew("ola")) == {"no-role", "not-authorised"}


def test_nobody_is_named_after_hand_back():
    assert refused(handed_back_site(), name_crew("pia", 90)) == {"wrong-phase"}


# ── notices ─────────────────────────────────────────────────────────────────────────────────────────────


def test_a_notice_while_isolating_is_the_one_before_locking():
    [told] = happened(accepted_site(), tell(5))
    assert told.stage is Stage.BEFORE


def test_a_notice_after_the_last_lock_is_the_one_after_unlocking():
    [told] = happened(done(handed_back_site(), remove("Q1", "Q2", "G1", when=81)), tell(82))
    assert told.stage is Stage.AFTER


def test_the_second_notice_waits_for_the_last_lock():
    no = refusal(done(handed_back_site(), remove("Q1", when=81)), tell(82))
    assert no.codes == {"locks-still-on"}
    assert "Conveyor switch, Gantry" in no.unmet[0].what


def test_a_notice_before_the_permit_is_accepted_tells_of_nothing():
    assert refused(issued_site(), tell()) == {"wrong-phase"}


@pytest.mark.parametrize("field", ["whom", "how"])
def test_a_notice_says_whom_and_how(field):
    assert refused(accepted_site(), replace(tell(), **{field: ""})) == {"says-too-little"}


def test_crew_may_tell_and_record_it():
    assert p1(done(accepted_site(), tell(5, by="hal"))).notices[-1].by == "hal"


def test_who_has_nothing_to_do_with_the_permit_records_no_notice():
    assert refused(accepted_site(), tell(5, by="ola")) == {"no-role"}


# ── cancel ──────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("who", ["odo", "maud", "sig"])
def test_who_asked_or_an_issuer_or_an_officer_cancels(who):
    assert p1(done(issued_site(), cancel(by=who))).phase is Phase.CANCELLED


def test_others_do_not_cancel():
    assert refused(issued_site(), cancel(by="hal")) == {"no-role"}


def test_it_is_said_why_a_permit_is_cancelled():
    assert refused(issued_site(), cancel(why=" ")) == {"says-too-little"}


def test_a_permit_is_not_cancelled_while_its_locks_hang():
    no = refusal(locked_site(), cancel(8))
    assert no.codes == {"locks-still-on"}
    assert [unmet.who.split(" takes")[0] for unmet in no.unmet] == ["Odo Holder"] * 3


def test_once_its_locks_are_off_an_untouched_permit_is_cancelled():
    site = done(locked_site(), remove("Q1", "Q2", "G1", when=8), cancel(9))
    assert p1(site).phase is Phase.CANCELLED


def test_with_a_cancelled_permit_no_store_counts_as_released_any_more():
    site = done(locked_site(), remove("Q1", "Q2", "G1", when=8), cancel(9))
    assert site.released == set()


def test_after_anyone_was_inside_a_permit_ends_by_hand_back():
    site = done(isolated_site(), sign_on("hal", "202"), sign_off("hal", 15))
    site = with_graph(site, *SECOND_FEED)
    assert refused(site, cancel(16)) >= {"work-has-begun"}


def test_after_a_sanction_a_permit_ends_by_hand_back():
    assert refused(done(checked_site(), sanction()), cancel(22)) >= {"work-has-begun"}


def test_nobody_is_inside_when_a_permit_is_cancelled():
    assert refused(occupied_site(), cancel(30)) == {
        "wrong-phase",
        "work-has-begun",
        "crew-signed-on",
        "locks-still-on",
    }


def test_a_test_is_not_cancelled_but_handed_back():
    assert "wrong-phase" in refused(in_test_site(), cancel(30))


# ── own issue, all along ────────────────────────────────────────────────────────────────────────────────


def test_where_own_issue_is_allowed_the_holder_extends_their_own_permit():
    site = with_person(accepted_site(), "odo", roles=frozenset({"technician", "issuer"}))
    site = replace(site, policy=Policy(own_issue=True))
    assert p1(done(site, extend(100, 600, by="odo"))).ends_at == at(600)


def test_a_permit_that_is_closed_is_no_open_permit():
    site = restored_site()
    closed = replace(site, permits={"P-1": replace(p1(site), phase=Phase.CLOSED)})
    assert refused(closed, release("C1", 99)) == {"no-such-permit"}


def test_cancelling_is_one_event():
    assert [type(event) for event in happened(issued_site(), cancel())] == [e.PermitCancelled]
