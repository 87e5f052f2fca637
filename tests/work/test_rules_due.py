"""What falls due by time, and what a change of the plant does to the permits that are open."""

from dataclasses import replace

import pytest

from permits.plant.rules.energy import Graph, Link
from permits.work.rules import events as e
from permits.work.rules.due import due, plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.words import HaltKind, Phase
from tests.work.otherwise import lift
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accepted_site,
    at,
    at_the_board,
    checked_site,
    done,
    extend,
    handed_back_site,
    in_test_site,
    isolated_site,
    issue,
    locked_site,
    occupied_site,
    p1,
    powered_site,
    readings,
    refused,
    release,
    request,
    sanction,
    settled,
    sign_off,
    sign_on,
    verify,
    with_graph,
    with_node,
    zero,
)


def kinds(events) -> list[type]:
    return [type(event) for event in events]


def recheck(site=SITE, minutes: int = 60):
    """The plant, but the bus must be read again after some minutes."""
    return with_node(site, "C1", release=replace(SITE.graph["C1"].release, recheck_min=minutes))


def changed(site, *extra, by: str = "sig", when: float = 30):
    """The site after an officer added to its plant, and what that did."""
    site = with_graph(site, *extra)
    events = plant_changed(site, at(when), by)
    return fold(site, events), events


# ── expiry ──────────────────────────────────────────────────────────────────────────────────────────────


def test_a_permit_expires_at_its_end_not_when_someone_looks():
    [expired] = due(accepted_site(), at(500))
    assert (type(expired), expired.at, expired.by) == (e.PermitExpired, at(480), "")


@pytest.mark.parametrize(("minute", "count"), [(479.99, 0), (480, 1)])
def test_a_permit_expires_on_its_last_minute(minute, count):
    assert len(due(accepted_site(), at(minute))) == count


def test_expiry_names_who_is_still_inside():
    assert due(occupied_site(), at(480))[0].crew == ("odo", "hal")


def test_expiry_ends_a_sanction():
    late = replace(sanction(470), until=at(480))
    site = done(checked_site(), late)
    assert kinds(due(site, at(480))) == [e.PermitExpired, e.SanctionEnded]


def test_expiry_does_not_undo_what_is_locked_and_proven():
    assert p1(settled(isolated_site(), at(500))).phase is Phase.ISOLATED


def test_a_request_does_not_expire():
    assert due(done(SITE, request()), at(5000)) == []


def test_an_issued_permit_that_nobody_accepted_expires():
    assert kinds(due(done(SITE, request(), issue()), at(500))) == [e.PermitExpired]


def test_a_permit_that_got_more_time_expires_again_later():
    site = done(settled(isolated_site(), at(481)), extend(482, 600))
    assert [x.at for x in due(site, at(700))] == [at(600)]


def test_a_permit_that_is_over_expires_no_more():
    site = isolated_site()
    over = replace(site, permits={"P-1": replace(p1(site), phase=Phase.CLOSED)})
    assert due(over, at(500)) == []


# ── a sanction's end ────────────────────────────────────────────────────────────────────────────────────


def test_a_sanction_ends_at_its_time():
    [ended] = due(done(checked_site(), sanction()), at(500 - 60))
    assert (type(ended), ended.at) == (e.SanctionEnded, at(141))


def test_a_test_whose_time_is_over_is_not_proven_dead():
    site = settled(powered_site(), at(141))
    assert p1(site).phase is Phase.ISOLATING
    assert all(v.void_at is not None for v in p1(site).verifications)


def test_between_cycles_the_end_of_a_sanction_voids_nothing():
    site = settled(done(checked_site(), sanction()), at(141))
    assert p1(site).phase is Phase.ISOLATED


# ── lapses ──────────────────────────────────────────────────────────────────────────────────────────────


def test_a_verification_lapses_when_its_recheck_is_missed():
    events = due(isolated_site(recheck()), at(100))
    assert kinds(events) == [e.VerificationLapsed, e.IsolationLost]
    assert [x.at for x in events] == [at(72), at(72)]


def test_everyone_inside_is_called_out_when_a_verification_lapses():
    assert due(occupied_site(recheck()), at(100))[1].crew == ("odo", "hal")


def test_a_recheck_while_isolated_renews_it():
    site = done(isolated_site(recheck()), verify("CUT", zero("C1"), when=70))
    assert [x.at for x in due(site, at(200))] == [at(130), at(130)]


def test_what_is_read_again_is_isolated_again():
    site = done(isolated_site(recheck()), verify("CUT", zero("C1"), when=100))
    assert p1(site).phase is Phase.ISOLATED


def test_a_lapse_does_not_ask_for_a_new_machine_check():
    site = done(checked_site(recheck()), verify("CUT", zero("C1"), when=100))
    assert p1(site).checked


def test_a_second_lapse_of_the_same_moment_calls_nobody_out_twice():
    both = with_node(recheck(), "G1", release=replace(SITE.graph["G1"].release, recheck_min=90))
    events = due(isolated_site(both), at(300))
    assert kinds(events) == [e.VerificationLapsed, e.IsolationLost]


def test_nothing_lapses_during_a_test():
    assert due(in_test_site(recheck()), at(100)) == []


# ── once, in order ──────────────────────────────────────────────────────────────────────────────────────


def test_what_fell_due_comes_oldest_first():
    site = isolated_site(recheck())
    assert [x.at for x in due(site, at(600))] == [at(72), at(72), at(480)]


@pytest.mark.parametrize("minute", [50, 72, 141, 480, 1000])
def test_what_fell_due_falls_due_once(minute):
    for site in (
        occupied_site(recheck()),
        powered_site(recheck()),
        done(checked_site(recheck()), sanction()),
    ):
        assert due(settled(site, at(minute)), at(minute)) == []


def test_looking_often_or_late_comes_to_the_same():
    site = often = occupied_site(recheck())
    for minute in range(30, 600, 7):
        often = settled(often, at(minute))
    assert settled(often, at(600)) == settled(site, at(600))


def test_only_sign_off_is_left_to_who_is_inside_when_time_is_over():
    site = settled(occupied_site(), at(481))
    assert refused(site, sanction(482)) >= {"expired"}
    assert p1(done(site, sign_off("hal", 482), sign_off("odo", 482))).signed_on == ()


# ── the plant changes ───────────────────────────────────────────────────────────────────────────────────


def test_a_second_feed_stops_the_permit_with_the_new_path():
    site, events = changed(occupied_site(), *SECOND_FEED)
    lost, stop = events[-2:]
    assert (type(lost), lost.crew) == (e.IsolationLost, ("odo", "hal"))
    assert (type(stop), stop.kind, stop.crew) == (e.WorkStopped, HaltKind.PLANT, ("odo", "hal"))
    assert lost.path == ("Second feeder", "Saw drive", "Saw chamber")
    assert p1(site).phase is Phase.ISOLATING


def test_a_stop_voids_every_verification():
    site, _ = changed(isolated_site(), *SECOND_FEED)
    assert all(v.void_at is not None for v in p1(site).verifications)


def test_a_stop_ends_the_sanction():
    site, _ = changed(powered_site(), *SECOND_FEED)
    assert (p1(site).sanction, p1(site).phase) == (None, Phase.ISOLATING)


def test_a_stop_asks_for_a_new_machine_check():
    site, _ = changed(checked_site(), *SECOND_FEED)
    assert not p1(site).checked


def test_a_stop_empties_no_store_that_is_fed_again():
    site, _ = changed(isolated_site(), *SECOND_FEED)
    assert "C1" not in p1(site).released


def test_a_permit_that_is_isolating_is_stopped_too():
    site, _ = changed(locked_site(), *SECOND_FEED)
    assert "the plant changed" in p1(site).stopped_because


def test_a_permit_that_is_stopped_already_is_not_stopped_for_the_same_again():
    site, _ = changed(locked_site(), *SECOND_FEED)
    assert plant_changed(site, at(40), "sig") == []


def test_a_plant_mended_lets_the_permit_be_proven_again():
    site, _ = changed(isolated_site(), *SECOND_FEED)
    mended = replace(site, graph=SITE.graph)
    assert plant_changed(mended, at(40), "sig") == []
    assert p1(done(mended, lift(41), *readings_again(41))).phase is Phase.ISOLATED


def readings_again(when: float):
    return [release("C1", when), *readings(when + 6)]


def test_a_change_elsewhere_stops_nobody():
    _, events = changed(occupied_site(), *SECOND_FEED[:1])
    assert events == []


def test_a_machine_that_goes_back_to_service_needs_no_stop():
    _, events = changed(handed_back_site(), *SECOND_FEED)
    assert events == []


def test_what_was_tested_with_nothing_upstream_is_void_where_the_plant_now_feeds_it():
    """The zone stays isolated; but the lock on Q1 was only proven with the board dead."""
    site = done(at_the_board(locked_site(), 8), *readings(30), sign_on("hal", "202", 35))
    site, events = changed(site, Link("F2", "Q1"), when=40)
    assert kinds(events) == [e.VerificationVoided, e.IsolationLost]
    assert (events[0].point, events[1].crew) == ("Q1", ("hal",))
    assert p1(site).phase is Phase.ISOLATING


def test_an_isolator_that_can_no_longer_be_locked_stops_the_permit():
    site = with_node(occupied_site(), "Q2", lockable=False)
    assert e.IsolationLost in kinds(plant_changed(site, at(30), "sig"))


def test_a_zone_that_goes_stops_the_permit():
    site = isolated_site()
    nodes = [n for n in site.graph.nodes.values() if n.id != "OUT"]
    links = [k for k in site.graph.links if k.target != "OUT"]
    gone = replace(site, graph=Graph.of(nodes, links))
    assert "OUT" in plant_changed(gone, at(30), "sig")[-1].why


def test_the_change_carries_the_name_of_who_made_it():
    _, events = changed(isolated_site(), *SECOND_FEED, by="sig")
    assert {event.by for event in events} == {"sig"}


def test_a_plant_mended_isolates_a_permit_that_waited_for_nothing_else():
    """The switch was taken for none, tested all the same, and then found to be one after all."""
    doubted = with_node(locked_site(), "Q2", lockable=False)
    tested = done(fold(doubted, plant_changed(doubted, at(9), "sig")), *readings())
    mended = replace(done(tested, lift(40)), graph=SITE.graph)
    assert p1(mended).phase is Phase.ISOLATING
    assert kinds(plant_changed(mended, at(50), "sig")) == [e.Isolated]
