"""Requesting and issuing a permit: the plan, the procedure, the people, the other permits."""

from dataclasses import replace
from datetime import timedelta

import pytest

from permits.plant.rules.energy import Kind, Link, Node
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.issuing import clashes
from permits.work.rules.words import Phase, Policy
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accepted_site,
    at,
    cancel,
    checked_site,
    done,
    happened,
    isolated_site,
    issue,
    next_door,
    p1,
    refusal,
    refused,
    request,
    sanction,
    with_graph,
    with_node,
    with_person,
)


def clash_codes(site, permit="P-2"):
    return {unmet.code for unmet in clashes(site, site.permits[permit])}


# ── request ─────────────────────────────────────────────────────────────────────────────────────────────


def test_a_request_carries_the_plan():
    [asked] = happened(SITE, request())
    assert (asked.lock, asked.release) == (("Q1", "Q2"), ("C1", "G1"))


def test_a_request_names_a_zone_once_however_often_it_is_given():
    [asked] = happened(SITE, request(zones=("NEXT", "NEXT")))
    assert asked.zones == ("NEXT",)


def test_permits_are_numbered_in_the_order_in_which_they_are_asked_for():
    site = done(SITE, request(), request(1, zones=("NEXT",), by="pia"))
    assert list(site.permits) == ["P-1", "P-2"]


def test_an_operator_cannot_ask_for_a_permit():
    assert refused(SITE, request(by="ola")) == {"no-role"}


def test_a_request_without_a_zone_is_refused():
    assert refused(SITE, request(zones=())) == {"no-zone"}


@pytest.mark.parametrize("zone", ["ATTIC", "Q1"])
def test_a_request_for_what_is_no_zone_is_refused(zone):
    assert refused(SITE, request(zones=(zone,))) == {"no-such-zone"}


def test_a_zone_that_belongs_to_no_machine_is_refused_since_nobody_is_authorised_for_it():
    assert refused(with_node(SITE, "NEXT", machine=None), request(zones=("NEXT",))) == {"zone-of-no-machine"}


def test_what_is_to_stay_live_must_be_part_of_the_plant():
    assert refused(SITE, replace(request(), keep_live=("PLC",))) == {"no-such-node"}


@pytest.mark.parametrize("field", ["kind_of_work", "reason"])
def test_a_request_says_what_is_done_and_why(field):
    assert refused(SITE, replace(request(), **{field: "  "})) == {"says-too-little"}


def test_a_permit_cannot_end_before_it_starts():
    assert refused(SITE, replace(request(), ends_at=at(-10))) == {"window-backwards", "window-past"}


def test_a_permit_cannot_be_over_when_it_is_asked_for():
    assert refused(SITE, replace(request(), starts_at=at(-60), ends_at=at(-10))) == {"window-past"}


def test_a_permit_runs_no_longer_than_the_site_allows():
    assert refused(SITE, replace(request(), ends_at=at(12 * 60 + 1))) == {"window-too-long"}


def test_a_permit_may_run_as_long_as_the_site_allows():
    assert done(SITE, replace(request(), ends_at=at(12 * 60)))


def test_a_zone_behind_nothing_that_can_be_locked_is_refused_with_the_path():
    site = with_graph(SITE, Node("F9", Kind.SUPPLY, "Shaft"), Link("F9", "NEXT"))
    no = refusal(site, request(zones=("NEXT",)))
    assert (no.codes, no.path) == ({"cannot-isolate"}, ("Shaft", "Drilling table"))


def test_what_only_the_locked_point_feeds_cannot_stay_live():
    no = refusal(SITE, replace(request(zones=("NEXT",)), keep_live=("CON",)))
    assert (no.codes, no.path[-1]) == ({"keep-live-conflict"}, "Drilling table")


def test_a_refusal_names_every_unmet_condition():
    ask = replace(request(zones=("ATTIC",), by="ola"), reason="", ends_at=at(-1))
    assert refused(SITE, ask) == {
        "no-role",
        "no-such-zone",
        "says-too-little",
        "window-backwards",
        "window-past",
    }


# ── issue ───────────────────────────────────────────────────────────────────────────────────────────────


def requested():
    return done(SITE, request())


def test_issuing_freezes_the_revision_of_the_procedure():
    assert p1(done(requested(), issue())).procedures == (("CUT", 1),)


def test_a_permit_is_issued_once():
    assert refused(done(requested(), issue()), issue(5)) == {"wrong-phase"}


def test_there_is_nothing_to_issue_where_nothing_was_asked_for():
    assert refused(SITE, issue()) == {"no-such-permit"}


def test_a_cancelled_permit_is_no_open_permit():
    assert refused(done(requested(), cancel()), issue(5)) == {"no-such-permit"}


def test_only_an_issuer_issues():
    assert refused(requested(), replace(issue(), by="sig")) == {"no-role"}


def test_a_request_whose_time_is_over_is_not_issued():
    assert refused(requested(), issue(481)) == {"expired"}


def test_issuer_and_holder_are_two_people():
    site = with_person(requested(), "odo", roles=frozenset({"technician", "issuer"}))
    assert refused(site, replace(issue(), by="odo")) == {"own-issue"}


def test_where_a_site_allows_it_own_issue_is_recorded_as_such():
    site = with_person(requested(), "odo", roles=frozenset({"technician", "issuer"}))
    site = replace(site, policy=Policy(own_issue=True))
    assert p1(done(site, replace(issue(), by="odo"))).own_issue


def test_the_holder_must_be_known():
    assert refused(requested(), issue(holder="nobody")) == {"no-such-person"}


def test_the_crew_to_be_works_as_technicians():
    assert refused(requested(), issue(crew=("ola",))) == {"no-role", "not-authorised"}


def test_the_crew_to_be_is_authorised_and_in_date():
    site = with_person(requested(), "hal", authorisations=())
    no = refusal(site, issue())
    assert no.codes == {"not-authorised"}
    assert "Hal Helper" in no.unmet[0].what


def test_the_authorisation_must_hold_on_the_day_at_the_plant():
    at_year_end = timedelta(
        days=36, hours=17, minutes=30
    )  # 23:30 UTC on 31 December, half past midnight at the plant
    late = done(replace(SITE, timezone="Europe/Paris"), replace(request(), at=at(0) + at_year_end,
        starts_at=at(0) + at_year_end, ends_at=at(60) + at_year_end))  # fmt: skip
    assert refused(late, replace(issue(), at=at(1) + at_year_end)) == {"not-authorised"}


def test_a_machine_without_an_approved_procedure_gets_no_permit():
    assert refused(replace(requested(), procedures={}), issue()) == {"no-procedure"}


def test_the_procedure_must_cover_the_zones():
    site = requested()
    narrow = replace(site.procedures["CUT"], zones=("SAW",))
    assert refused(replace(site, procedures={"CUT": narrow}), issue()) == {"procedure-too-narrow"}


def test_nothing_is_issued_after_the_plant_changed_so_that_plan_and_procedure_fall_short():
    no = refusal(with_graph(requested(), *SECOND_FEED), issue())
    assert no.codes == {"procedure-unproven", "plan-no-longer-isolates"}
    assert no.path == ("Second feeder", "Saw drive", "Saw chamber")


def test_a_lock_on_what_can_no_longer_be_locked_counts_for_nothing():
    site = with_node(requested(), "Q2", lockable=False)
    assert refused(site, issue()) == {"procedure-unproven", "plan-no-longer-isolates"}


def test_several_permits_on_one_machine_need_a_coordinator():
    site = done(accepted_site(), request(10, zones=("OUT",), by="pia"))
    ask = issue(11, "P-2", holder="pia", crew=())
    assert refused(site, replace(ask, coordinator="")) == {"no-coordinator"}


def test_several_permits_on_one_machine_have_one_coordinator_not_two():
    site = done(accepted_site(), request(10, zones=("OUT",), by="pia"))
    ask = issue(11, "P-2", holder="pia", crew=())
    assert refused(site, replace(ask, coordinator="sig")) == {"another-coordinator"}


def test_a_permit_that_is_over_needs_no_coordination():
    site = done(requested(), cancel(), request(10, by="pia"))
    assert done(site, replace(issue(11, "P-2", holder="pia", crew=()), coordinator=""))


def test_the_holder_is_not_crew_as_well():
    assert p1(done(requested(), issue(crew=("odo", "hal", "hal")))).crew_named == ("hal",)


# ── clashes, shown when a permit is planned ─────────────────────────────────────────────────────────────


def test_a_point_that_two_plans_lock_is_shown():
    assert clash_codes(done(isolated_site(), request(30, zones=("NEXT",), by="pia"))) == {"shared-point"}


def test_a_point_that_another_permit_wants_live_for_a_test_is_shown():
    site = done(checked_site(), sanction(), request(30, zones=("NEXT",), by="pia"))
    assert clash_codes(site) == {"wanted-live"}


def test_what_another_permit_keeps_live_is_shown():
    kept = replace(request(zones=("LUG",)), keep_live=("CON",))
    assert clash_codes(done(SITE, kept, request(30, zones=("NEXT",), by="pia"))) == {"kept-live"}


def test_what_this_permit_keeps_live_is_shown_where_another_plan_takes_it():
    kept = replace(request(30, zones=("LUG",), by="pia"), keep_live=("CON",))
    assert clash_codes(done(SITE, request(zones=("NEXT",)), kept)) == {"kept-live"}


def test_a_permit_that_is_over_clashes_with_nothing():
    assert clash_codes(done(requested(), cancel(), request(30, zones=("NEXT",), by="pia"))) == set()


def test_what_needs_no_point_is_isolated_as_soon_as_it_is_accepted():
    """A zone that nothing feeds: an empty plan (design §3)."""
    site = with_graph(SITE, Node("PIT", Kind.ZONE, "Pit", machine="DRILL"))
    site = replace(site, procedures={"DRILL": replace(site.procedures["DRILL"], zones=("PIT",))})
    site = done(site, request(zones=("PIT",)), issue())
    accepted = c.AcceptPermit(
        permit="P-1", by="odo", at=at(2), knows_energies=True, knows_hazards=True, knows_control=True
    )
    assert [type(event) for event in happened(site, accepted)] == [e.PermitAccepted, e.Isolated]


def test_next_doors_permit_shares_a_point_and_still_stands_on_its_own_lock():
    site = next_door(isolated_site())
    assert site.permits["P-2"].phase is Phase.ISOLATED
    assert site.permits["P-2"].locked == {"Q2"}


def test_a_coordinator_who_has_left_coordinates_nothing():
    site = done(accepted_site(), request(10, zones=("OUT",), by="pia"))
    ask = replace(issue(11, "P-2", holder="pia", crew=()), coordinator="sig")
    site = replace(site, people={ref: person for ref, person in site.people.items() if ref != "maud"})
    assert "another-coordinator" not in refused(site, replace(ask, by="sig"))
