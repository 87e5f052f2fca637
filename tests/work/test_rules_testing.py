"""Power under control: the sanction, the cycles, ready to energise, making it dead again, the jobs."""

from dataclasses import replace

import pytest

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.testing import against_cycle, against_ready
from permits.work.rules.words import Phase, Policy
from tests.work.otherwise import lift
from tests.work.small_plant import (
    GRAPH,
    QUALIFIED,
    SECOND_FEED,
    SITE,
    accept,
    accepted_site,
    at,
    begin,
    check,
    checked_site,
    clear,
    close_job,
    correct,
    done,
    electrical,
    end_sanction,
    extend,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    isolate_again,
    isolated_site,
    issue,
    lock,
    locks_and_releases,
    next_door,
    occupied_site,
    open_job,
    p1,
    powered_site,
    prove,
    readings,
    ready,
    refusal,
    refused,
    reisolate,
    release,
    remove,
    request,
    restored_site,
    sanction,
    settled,
    sign_off,
    sign_on,
    tell,
    verify,
    with_graph,
    with_person,
    zero,
)


def read(when: float = 27, *, job: int = 1) -> c.TakeReading:
    return c.TakeReading(permit="P-1", by="odo", at=at(when), job=job)


def with_job():
    return done(powered_site(), open_job())


# ── the sanction ────────────────────────────────────────────────────────────────────────────────────────


def test_a_sanction_names_its_points_in_the_plans_order():
    [given] = happened(checked_site(), sanction(points=("Q2", "Q1")))
    assert given.points == ("Q1", "Q2")


def test_a_sanction_needs_an_isolated_machine():
    assert refused(accepted_site(), sanction()) == {"wrong-phase"}


def test_only_an_issuer_sanctions():
    assert refused(checked_site(), sanction(by="sig")) == {"no-role"}


def test_the_holder_does_not_sanction_their_own_test():
    site = with_person(checked_site(), "odo", roles=frozenset({"technician", "issuer"}))
    assert refused(site, sanction(by="odo")) == {"own-issue"}


def test_an_expired_permit_gets_no_sanction():
    assert refused(checked_site(), sanction(480)) == {"expired", "window-too-long"}


def test_one_sanction_is_in_force_at_a_time():
    assert refused(done(checked_site(), sanction()), sanction(22)) == {"sanctioned-already"}


def test_a_sanction_names_points():
    assert refused(checked_site(), sanction(points=())) == {"no-point"}


def test_a_sanction_names_points_of_the_plan():
    assert refused(checked_site(), sanction(points=("Q0",))) == {"not-in-plan"}


@pytest.mark.parametrize("cycles", [0, -1])
def test_a_sanction_allows_a_cycle_at_least(cycles):
    assert refused(checked_site(), sanction(cycles=cycles)) == {"no-cycle"}


def test_a_sanction_ends_in_the_future():
    assert refused(checked_site(), replace(sanction(), until=at(21))) == {"window-past"}


def test_a_sanction_is_no_longer_than_the_site_allows():
    assert refused(checked_site(), replace(sanction(), until=at(21 + 4 * 60 + 1))) == {"window-too-long"}


def test_a_sanction_ends_with_its_permit_at_the_latest():
    assert refused(checked_site(), replace(sanction(470), until=at(481))) == {"window-too-long"}


def test_a_sanction_has_limits():
    assert refused(checked_site(), replace(sanction(), limits=" ")) == {"says-too-little"}


def test_a_sanction_is_given_while_the_own_crew_is_still_inside():
    assert p1(done(occupied_site(), sanction(30))).sanction is not None


def test_a_sanction_is_refused_while_another_permit_holds_a_point_to_be_freed():
    no = refusal(next_door(checked_site(), crew_on=False), sanction(40))
    assert no.codes == {"locked-by-another"}
    assert "Pia Holder's padlock 301 hangs on Conveyor switch for permit P-2" in no.unmet[0].what


def behind_the_conveyor():
    """Pia works in the shed, whose switch is fed through the conveyor's; Odo's lock there keeps it unfed."""
    plant = with_graph(
        SITE,
        electrical("Q5", "Shed switch", 50, "BOARD"),
        Node("SHED", Kind.ZONE, "Shed", machine="BOARD"),
        Link("CON", "Q5"),
        Link("Q5", "SHED"),
    )
    shed = replace(SITE.procedures["BOARD"], zones=("SHED",), lock=("Q5",))
    site = checked_site(replace(plant, procedures={**SITE.procedures, "BOARD": shed}))
    volts = replace(zero("Q1"), point="Q5")
    return done(
        site,
        request(30, zones=("SHED",), by="pia"),
        issue(31, "P-2", holder="pia", crew=()),
        accept(32, "P-2", by="pia"),
        tell(33, "P-2", by="pia"),
        lock("Q5", "301", 34, "P-2", by="pia"),
        verify("BOARD", volts, when=35, permit="P-2", by="pia"),
        sign_on("pia", "302", 36, "P-2"),
    )


def test_a_sanction_is_refused_while_another_crew_relies_on_a_test_made_without_upstream():
    no = refusal(behind_the_conveyor(), sanction(40))
    assert no.codes == {"relies-on-dead-upstream"}
    assert no.path == ("Neighbour's feeder", "Conveyor switch", "Conveyor", "Shed switch")


def test_once_that_crew_is_out_the_point_is_freed_and_their_test_is_void():
    site = done(
        behind_the_conveyor(), sign_off("pia", 37, "P-2"), sanction(40), begin(41), remove("Q2", when=42)
    )
    assert site.permits["P-2"].phase is Phase.ISOLATING


# ── a cycle ─────────────────────────────────────────────────────────────────────────────────────────────


def test_a_cycle_begins_and_is_counted():
    site = in_test_site()
    assert (p1(site).phase, p1(site).sanction.cycle) == (Phase.TESTING, 1)


def test_a_cycle_needs_a_sanction():
    no = refusal(checked_site(), begin())
    assert no.codes == {"no-sanction"}
    assert "Maud Issuer" in no.unmet[0].who


def test_a_cycle_begins_from_isolated():
    assert refused(done(powered_site(), reisolate()), begin(41)) == {"wrong-phase"}


def test_only_the_holder_begins_a_cycle():
    assert refused(done(checked_site(), sanction()), replace(begin(), by="hal")) == {"not-holder"}


def test_no_cycle_begins_after_the_sanctions_end():
    site = done(checked_site(), sanction())
    unsettled = replace(begin(), at=at(141))
    assert "no-sanction" in refused(site, unsettled)


def test_a_sanction_that_ran_out_while_nobody_looked_begins_no_cycle():
    site = done(checked_site(), sanction())
    codes = {unmet.code for unmet in against_cycle(site, p1(site), begin(141))}
    assert "sanction-over" in codes


def test_no_more_cycles_begin_than_were_sanctioned():
    site = done(checked_site(), sanction(cycles=1))
    used = (replace(p1(site).sanctions[0], cycle=1),)
    site = replace(site, permits={"P-1": replace(p1(site), sanctions=used)})
    assert refused(site, begin()) == {"cycles-used"}


def test_making_it_dead_after_the_last_cycle_ends_the_sanction():
    site = done(checked_site(), sanction(cycles=1), begin(), reisolate(30))
    assert p1(site).sanctions[0].why_ended == "all its cycles are used"


def test_a_cycle_needs_the_machine_check():
    site = done(isolated_site(), sanction(15))
    assert refused(site, begin()) == {"not-checked"}


def test_after_a_stop_the_machine_is_checked_again():
    changed = with_graph(checked_site(), *SECOND_FEED)
    stopped = fold(changed, plant_changed(changed, at(30), "sig"))
    mended = replace(stopped, graph=SITE.graph)
    site = done(mended, lift(30), release("C1", 31), *readings(40), sanction(42))
    no = refusal(site, begin(43))
    assert no.codes == {"not-checked"}
    assert "since the stop" in no.unmet[0].what


def test_a_check_that_lapsed_by_time_alone_need_not_be_repeated():
    site = done(checked_site(), sanction(), begin(), reisolate(30), *readings(31))
    assert p1(site).checked


def test_nobody_is_inside_when_a_cycle_begins():
    site = done(occupied_site(), sanction(30))
    no = refusal(site, begin(31))
    assert no.codes == {"crew-signed-on"}
    assert [unmet.what.split(" is")[0] for unmet in no.unmet] == ["Odo Holder", "Hal Helper"]


def test_tools_are_out_when_a_cycle_begins():
    assert refused(done(checked_site(), sanction()), replace(begin(), tools_out=False)) == {"tools-in"}


def test_guards_are_on_when_a_cycle_begins():
    assert refused(done(checked_site(), sanction()), replace(begin(), guards_on=False)) == {"guards-off"}


def untold():
    site = done(checked_site(), sanction())
    notices = tuple(replace(notice, covers_tests=False) for notice in p1(site).notices)
    return replace(site, permits={"P-1": replace(p1(site), notices=notices)})


def test_affected_people_are_told_of_the_test():
    assert refused(untold(), begin()) == {"not-told-of-test"}


def test_one_notice_may_cover_a_job_with_several_tests():
    site = done(untold(), tell(22), begin(23), reisolate(30), *readings(31), begin(33))
    assert p1(site).sanction.cycle == 2


def test_others_are_looked_at_again_when_the_cycle_begins():
    site = next_door(checked_site(), crew_on=False)
    given = done(checked_site(), sanction())
    site = replace(site, permits={**site.permits, "P-1": replace(p1(given))})
    assert refused(site, begin(40)) == {"locked-by-another"}


# ── freeing points ──────────────────────────────────────────────────────────────────────────────────────


def test_each_owner_frees_their_own():
    site = done(checked_site(), lock("Q1", "211", 21, by="hal"), sanction(), begin())
    no = refusal(done(site, remove("Q1", "Q2")), ready())
    assert "lock-still-on" in no.codes
    assert "Hal Helper's padlock 211 still hangs on Main switch" in no.unmet[0].what


def test_only_the_sanctioned_points_are_freed():
    site = done(checked_site(), sanction(points=("Q1",)), begin())
    assert refused(site, remove("Q2")) == {"not-sanctioned"}


def test_freeing_the_main_switch_fills_the_bus_again():
    assert "C1" not in p1(done(in_test_site(), remove("Q1"))).released


def test_freeing_only_the_conveyor_leaves_the_bus_empty():
    assert "C1" in p1(done(in_test_site(), remove("Q2"))).released


def test_a_prop_may_be_named_in_a_sanction_and_taken_out():
    site = done(checked_site(), sanction(points=("G1",)), begin(), remove("G1"))
    assert "G1" not in p1(site).released


# ── ready ───────────────────────────────────────────────────────────────────────────────────────────────


def freed():
    return done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT"))


def test_ready_is_signed_and_timed():
    assert p1(powered_site()).sanction.ready_at == at(25)


def test_ready_belongs_to_a_test():
    assert refused(checked_site(), ready()) == {"wrong-phase", "no-sanction"}


def test_only_the_holder_is_ready():
    assert refused(freed(), replace(ready(), by="hal")) == {"not-holder"}


def test_an_expired_permit_is_never_ready():
    codes = {unmet.code for unmet in against_ready(freed(), p1(freed()), ready(481))}
    assert codes >= {"expired", "sanction-over"}


def test_nobody_is_inside_when_it_is_ready():
    on = p1(done(checked_site(), sign_on("hal", "202", 21))).crew
    site = freed()
    site = replace(site, permits={"P-1": replace(p1(site), crew=on)})
    assert "crew-signed-on" in refused(site, ready())


def test_others_are_looked_at_again_when_it_is_ready():
    site = freed()
    other = next_door(checked_site()).permits["P-2"]
    assert refused(replace(site, permits={**site.permits, "P-2": other}), ready()) == {
        "exposes-crew",
        "locked-by-another",
    }


def test_ready_needs_every_area_fresh_at_that_moment():
    assert refused(freed(), ready(34)) == {"confirmation-stale"}


def sharing_a_zone(site=SITE):
    """The saw's drive feeds the chamber alone, so that a lock on Q2 isolates the outfeed beside its test."""
    links = [link for link in GRAPH.links if (link.source, link.target) != ("DRV", "OUT")]
    site = replace(site, graph=Graph.of(GRAPH.nodes.values(), links))
    return with_person(site, "pia", authorisations=QUALIFIED)


def at_the_outfeed(site):
    """Pia's permit P-2 on the outfeed, a zone of P-1 as well, isolated by Q2."""
    return next_door(site, zones=("OUT",), crew_on=False)


def test_nobody_goes_into_a_zone_that_another_permits_test_keeps_clear_locked_or_not():
    site = done(at_the_outfeed(checked_site(sharing_a_zone())), sanction(40, points=("Q1",)), begin(41))
    no = refusal(site, sign_on("pia", "302", 42, "P-2"))
    assert no.codes == {"under-test"}
    assert "Outfeed is kept clear for the test under power of P-1" in no.unmet[0].what
    assert "Odo Holder" in no.unmet[0].who
    site = done(site, remove("Q1", when=43), reisolate(44))
    assert site.permits["P-2"].phase is Phase.ISOLATED
    assert done(site, sign_on("pia", "302", 45, "P-2")).permits["P-2"].signed_on


def test_no_cycle_begins_and_none_is_ready_while_another_permits_crew_is_in_the_zones():
    site = done(at_the_outfeed(checked_site(sharing_a_zone())), sanction(40, points=("Q1",)))
    inside = done(site, sign_on("pia", "302", 41, "P-2"))
    no = refusal(inside, begin(42))
    assert no.codes == {"someone-inside"}
    assert "Pia Holder is signed on in Outfeed under P-2" in no.unmet[0].what
    testing = done(site, begin(42))
    both = replace(testing, permits={**testing.permits, "P-2": inside.permits["P-2"]})
    assert "someone-inside" in refused(both, ready(43))


# ── dead again ──────────────────────────────────────────────────────────────────────────────────────────


def test_reisolating_leaves_power_behind_at_once():
    site = done(powered_site(), reisolate())
    assert (p1(site).phase, p1(site).sanction.ready_at) == (Phase.ISOLATING, None)


def test_the_sanction_lasts_for_the_next_cycle():
    site = done(powered_site(), reisolate(), *isolate_again(41))
    assert p1(done(site, begin(55))).sanction.cycle == 2


def test_the_bus_is_released_and_waited_for_again_after_power():
    site = done(powered_site(), reisolate(), lock("Q1", "101", 41), lock("Q2", "102", 42))
    assert refused(site, readings(43)[0]) == {"not-all-released"}
    site = done(site, release("C1", 43), *readings(44))
    assert p1(site).phase is Phase.ISOLATING, "a reading one minute later does not count"
    assert p1(done(site, *readings(48))).phase is Phase.ISOLATED


def test_only_what_is_in_a_test_or_going_back_is_isolated_again():
    assert refused(checked_site(), reisolate()) == {"wrong-phase"}


def test_who_is_not_named_does_not_isolate_again():
    assert refused(powered_site(), replace(reisolate(), by="pia")) == {"not-named"}


def test_who_isolates_again_is_authorised():
    site = with_person(powered_site(), "odo", authorisations=())
    assert refused(site, reisolate()) == {"not-authorised"}


def test_isolating_again_after_power_came_back_asks_for_every_closing_step_again():
    site = done(restored_site(), reisolate(90))
    assert p1(site).reenergised_at is None
    assert refused(site, lock("Q1", "101", 91)) == {"not-told"}, "people were told that it starts"
    site = done(site, tell(91), *locks_and_releases(91), *readings(99), hand_back(110))
    assert refused(site, c.SignClosed(permit="P-1", by="odo", at=at(111))) == {"not-reenergised"}


# ── ending a sanction ───────────────────────────────────────────────────────────────────────────────────


def test_ending_the_sanction_in_a_test_makes_everything_unproven():
    site = done(powered_site(), end_sanction(30))
    assert p1(site).phase is Phase.ISOLATING
    assert all(v.void_at is not None for v in p1(site).verifications)


@pytest.mark.parametrize("who", ["odo", "maud", "sig"])
def test_the_holder_an_issuer_or_an_officer_ends_a_sanction(who):
    assert p1(done(in_test_site(), end_sanction(30, by=who))).sanction is None


def test_crew_does_not_end_a_sanction():
    assert refused(in_test_site(), end_sanction(30, by="hal")) == {"no-role"}


def test_without_a_sanction_there_is_none_to_end():
    assert refused(checked_site(), end_sanction(30)) == {"no-sanction"}


# ── jobs ────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_job_opens_under_a_sanction():
    assert p1(with_job()).open_jobs[0][1].machine == "CUT"


def test_a_job_opens_only_under_a_sanction():
    assert refused(checked_site(), open_job()) == {"no-sanction"}


def test_a_job_opens_while_isolated_or_testing():
    assert refused(done(powered_site(), reisolate()), open_job(41)) == {"wrong-phase"}


def test_a_job_is_opened_by_someone_named():
    assert refused(powered_site(), open_job(by="pia")) == {"not-named"}


def test_a_job_is_for_a_machine_of_the_permit():
    assert refused(powered_site(), open_job(machine="DRILL")) == {"not-in-scope"}


def test_one_job_is_open_at_a_time():
    assert refused(with_job(), open_job(27)) == {"job-open"}


def test_an_expired_permit_opens_no_job():
    site = settled(done(checked_site(), extend(22, 500)), at(500))
    assert "expired" in refused(site, open_job(501))


def test_a_reading_is_taken_under_power_and_changes_nothing_by_itself():
    assert happened(with_job(), read()) == []


def test_no_reading_is_taken_before_ready():
    site = done(in_test_site(), open_job(23))
    assert refused(site, read()) == {"not-under-test"}


def test_no_reading_is_taken_without_a_job():
    assert refused(powered_site(), read()) == {"job-not-open"}


def test_a_change_by_hand_is_entered_while_isolated():
    site = done(with_job(), reisolate(), *isolate_again(41))
    assert p1(done(site, correct(55))).jobs[0].unproven == ("angle",)


def test_no_change_is_entered_while_it_is_not_proven():
    assert refused(done(with_job(), reisolate()), correct(41)) == {"wrong-phase"}


def test_a_correction_waits_for_its_as_left_check():
    assert refused(done(with_job(), correct()), close_job()) == {"correction-unproven"}


def test_a_later_correction_asks_for_the_check_again():
    site = done(with_job(), correct(), prove(), correct(30))
    assert (p1(site).jobs[0].unproven, p1(site).jobs[0].proven) == (("angle",), ())


def test_a_proven_job_closes():
    assert p1(done(with_job(), correct(), prove(), close_job())).open_jobs == ()


def test_a_closed_job_takes_nothing_more():
    assert refused(done(with_job(), close_job()), prove(31)) == {"job-not-open"}


def test_a_job_stays_open_across_cycles():
    assert p1(done(with_job(), reisolate(), *isolate_again(41), begin(55))).open_jobs


def test_asking_about_a_job_changes_nothing():
    ask = c.AskJob(permit="P-1", by="odo", at=at(27), job=1)
    assert happened(with_job(), ask) == []


def test_who_is_not_named_asks_about_no_job():
    ask = c.AskJob(permit="P-1", by="pia", at=at(27), job=1)
    assert refused(with_job(), ask) == {"not-named"}


# ── what a site may allow ───────────────────────────────────────────────────────────────────────────────


def test_where_own_issue_is_allowed_the_holder_sanctions_their_own_test():
    site = with_person(checked_site(), "odo", roles=frozenset({"technician", "issuer"}))
    site = replace(site, policy=Policy(own_issue=True))
    assert [type(x) for x in happened(site, sanction(by="odo"))] == [e.SanctionGiven]


def test_a_helper_signs_off_before_each_cycle():
    site = done(checked_site(), sanction(), sign_on("hal", "202", 22))
    assert refused(site, begin(23)) == {"crew-signed-on"}
    assert done(site, sign_off("hal", 23), begin(24))


def test_a_check_made_again_is_recorded_again():
    site = done(checked_site(), sign_on("hal", "202", 21), check("hal", 22))
    assert len(p1(site).checks) == 2


def test_after_hand_back_no_test_begins():
    assert "wrong-phase" in refused(handed_back_site(), begin(81))
