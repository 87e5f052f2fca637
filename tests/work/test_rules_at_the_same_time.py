"""People who work under one permit at the same time: who may go on, and what has moved on for whom."""

from dataclasses import replace

import pytest

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.evolve import fold
from permits.work.rules.moved_on import moved_on
from permits.work.rules.state import Site
from tests.work import otherwise as o
from tests.work import small_plant as s
from tests.work.any_event import given
from tests.work.small_plant import at

# ── people who work at the same time ────────────────────────────────────────────────────────────────────


def meanwhile(site: Site, ask: c.Command, *others: c.Command) -> list[type]:
    """The kinds of what the command cannot stand beside, once the others were carried out after its page."""
    happened: list[e.Event] = []
    for each in others:
        site = s.settled(site, each.at)
        events = decide(site, each)
        site = fold(site, events)
        happened += events
    about = ("P-1", "") if ask.permit else ("", "P-1")
    return [type(one) for one in moved_on(site, ask, [one for one in happened if one.permit in about])]


QUIET = (s.name_crew("pia", 10), s.tell(10), o.acknowledge(when=11), s.extend(12, 600))
ACCEPTED, LOCKED = s.accepted_site(), s.locked_site()


def beside_hal(point: str, when: float) -> c.ApplyLock:
    return s.lock(point, "901", when, by="hal")


def test_two_people_lock_two_points_at_once():
    assert meanwhile(ACCEPTED, s.lock("Q2", "102", 6), s.lock("Q1", "901", 5, by="hal")) == []


def test_two_people_lock_one_point_at_once():
    assert meanwhile(ACCEPTED, s.lock("Q1", "101", 6), s.lock("Q1", "901", 5, by="hal")) == []


def test_two_people_lock_freed_points_at_once_and_the_first_ends_the_test():
    test = s.powered_site()
    assert meanwhile(test, s.lock("Q2", "102", 31), beside_hal("Q1", 30)) == []


def test_who_locks_beside_one_who_makes_the_machine_dead_again_is_not_held_up():
    assert meanwhile(s.powered_site(), s.lock("Q1", "901", 41, by="hal"), s.reisolate(40)) == []


def test_two_people_release_two_stores_at_once_although_one_hangs_a_lock():
    locked = s.done(ACCEPTED, s.lock("Q1", "101"), s.lock("Q2", "102", 5))
    assert meanwhile(locked, s.release("G1", 7, padlock="903"), s.release("C1", 6, by="hal")) == []
    propped = [
        given(e.LockApplied, point="G1", padlock="903", by="hal", at=at(6)),
        given(e.StoreReleased, point="G1", by="hal", at=at(6), counts_from=at(6)),
    ]
    assert moved_on(fold(locked, propped), s.release("C1", 7), propped) == ()


def test_two_people_test_two_machines_at_once():
    conveyor = s.verify("DRILL", s.zero("Q2"), when=13)
    assert meanwhile(LOCKED, conveyor, s.verify("CUT", s.zero("Q1"), when=12)) == []


def test_two_people_confirm_two_areas_at_once():
    assert meanwhile(s.in_test_site(), s.clear("OUT", when=25), s.clear("NEXT", by="hal", when=24)) == []


def test_two_people_record_different_defects_one_after_the_other():
    worn = s.done(s.isolated_site(), s.sign_on("odo", "201"), s.check(defect="wear"))
    ask = c.ResolveDefect(permit="P-1", by="odo", at=at(30), defect=0, how="changed")
    done = replace(ask, by="hal", at=at(29))
    assert meanwhile(s.done(worn, s.sign_on("hal", "202", 16)), ask, done) == [e.DefectResolved]


def test_two_people_are_named_at_once_and_one_of_them_twice():
    assert meanwhile(o.with_shift(ACCEPTED), s.name_crew("pia", 5), s.name_crew("una", 4)) == []
    assert meanwhile(ACCEPTED, s.name_crew("pia", 5), s.name_crew("pia", 4, by="maud")) == [e.CrewNamed]


@pytest.mark.parametrize(
    "ask",
    [
        s.lock("Q1", "101", 20), s.release("C1", 20), s.verify("CUT", s.zero("Q1"), when=20),
        s.try_start(when=20),
    ],
    ids=lambda ask: type(ask).__name__,
)  # fmt: skip
def test_what_does_not_concern_a_step_does_not_stop_it(ask):
    assert meanwhile(LOCKED, ask, *QUIET) == []


# ── readings that may have been taken before the machine was dead ───────────────────────────────────────

READINGS = [s.verify("CUT", s.zero("Q1"), when=20), s.try_start(when=20)]


@pytest.fixture(params=READINGS, ids=lambda ask: type(ask).__name__)
def reading(request):
    return request.param


def test_a_first_lock_went_on_even_on_another_machine(reading):
    half = s.done(ACCEPTED, s.lock("Q1", "101"))
    assert meanwhile(half, reading, s.lock("Q2", "102", 5)) == [e.LockApplied]


def test_a_further_lock_beside_one_of_the_permit_is_no_matter(reading):
    assert meanwhile(LOCKED, reading, beside_hal("Q1", 15)) == []


def test_a_further_lock_is_no_matter_although_the_one_beside_it_came_off_later(reading):
    gone = meanwhile(LOCKED, reading, beside_hal("Q1", 15), s.remove("Q1", when=16))
    assert gone == [e.LockRemoved]


def test_a_lock_that_came_off_and_went_on_again_was_a_first_one(reading):
    again = meanwhile(LOCKED, reading, s.remove("Q1", when=15), s.lock("Q1", "101", 16))
    assert again[0] is e.LockRemoved
    assert again[-1] is e.LockApplied


def test_a_lock_that_went_on_as_the_other_came_off_counts_as_a_first_one(reading):
    """At one moment of the ledger nobody knows which came before."""
    p = s.p1(LOCKED)
    locks = tuple(replace(k, removed_at=at(15)) if k.where == "Q1" else k for k in p.locks)
    site = replace(LOCKED, permits={"P-1": replace(p, locks=locks)})
    on = given(e.LockApplied, point="Q1", padlock="901", by="hal", at=at(15))
    assert moved_on(fold(site, [on]), reading, [on]) == (on,)


def test_another_permits_lock_makes_no_first_lock_a_further_one(reading):
    half = s.done(s.next_door(ACCEPTED, 10, crew_on=False), s.lock("Q1", "101", 20))
    assert meanwhile(half, replace(reading, at=at(30)), s.lock("Q2", "102", 25)) == [e.LockApplied]


def test_a_store_was_released(reading):
    half = s.done(ACCEPTED, s.lock("Q1", "101"), s.lock("Q2", "102", 5))
    assert meanwhile(half, reading, s.release("C1", 6)) == [e.StoreReleased]


def test_the_same_point_was_tested(reading):
    assert meanwhile(LOCKED, reading, s.verify("CUT", s.zero("Q1"), when=12)) == [e.PointVerified]


def test_a_stop_made_every_test_void(reading):
    assert meanwhile(LOCKED, reading, o.stop(15)) == [e.WorkStopped]


# ── the other steps, each with what concerns it ─────────────────────────────────────────────────────────


def test_a_lock_came_off_this_point_without_its_owner():
    site = s.locked_site(o.TWO_OFFICERS)
    off = o.absent("Q1", "odo", 15, second="ida")
    assert meanwhile(site, s.lock("Q1", "901", 20, by="hal"), off)[0] is e.AbsentLockRemoved
    assert e.AbsentLockRemoved not in meanwhile(site, s.lock("Q2", "901", 20, by="hal"), off)


def test_the_permit_was_stopped_before_the_lock_was_sent():
    assert meanwhile(ACCEPTED, s.lock("Q1", "101", 6), o.stop(5)) == [e.WorkStopped]


def test_a_store_is_released_after_the_lock_upstream():
    half = s.done(ACCEPTED, s.lock("Q1", "101"))
    assert meanwhile(half, s.release("C1", 7), s.lock("Q2", "102", 5)) == [e.LockApplied]
    full = s.done(half, s.lock("Q2", "102", 5))
    assert meanwhile(full, s.release("C1", 8), s.release("C1", 7, by="hal")) == [e.StoreReleased]
    assert meanwhile(full, s.release("C1", 8), beside_hal("Q1", 7)) == []


def test_a_lock_came_off_before_people_were_told_of_the_start():
    back = s.handed_back_site()
    off = s.remove("Q1", "Q2", "G1", when=81)
    assert set(meanwhile(back, s.tell(82), off)) == {e.LockRemoved}
    assert meanwhile(s.done(back, off), s.tell(83), s.clear("OUT", "NEXT", when=82)) == []


def test_the_machine_was_checked_by_another():
    inside = s.done(s.isolated_site(), s.sign_on("odo", "201"), s.sign_on("hal", "202"))
    assert meanwhile(inside, s.check(when=20), s.check("hal", 19)) == [e.MachineChecked]
    assert meanwhile(inside, s.check(when=20), s.sign_off("hal", 19)) == []


def test_someone_went_in_before_the_area_was_confirmed_clear():
    site = s.checked_site()
    assert meanwhile(site, s.clear("OUT", when=30), s.sign_on("hal", "202", 25), s.sign_off("hal", 26)) == [
        e.CrewSignedOn
    ]


def test_a_confirmation_elsewhere_became_void():
    void = given(e.ConfirmationsVoided, areas=("NEXT",))
    assert moved_on(ACCEPTED, s.clear("OUT"), [void]) == ()
    assert moved_on(ACCEPTED, s.clear("OUT", "NEXT"), [void]) == (void,)


def test_a_freed_point_lost_its_lock_before_it_is_made_dead_again():
    test = s.in_test_site()
    assert set(meanwhile(test, s.reisolate(30), s.remove("Q1"))) == {e.LockRemoved}
    assert meanwhile(test, s.reisolate(30), s.clear("OUT", "NEXT", when=25)) == []
    assert e.SanctionEnded in meanwhile(s.powered_site(), s.reisolate(40), beside_hal("Q1", 30))


def test_another_sanction_than_the_one_that_was_seen():
    site = s.done(s.checked_site(), s.sanction())
    ask = s.end_sanction(40)
    other = (s.end_sanction(30), s.sanction(31))
    assert meanwhile(site, ask, *other) == [e.SanctionEnded, e.SanctionGiven]
    assert meanwhile(site, ask, s.begin()) == []


def test_the_correction_of_an_axis_stands_before_a_piece_is_read():
    site = s.done(s.powered_site(), s.open_job())
    ask = c.TakeReading(permit="P-1", by="hal", at=at(35), job=1)
    assert meanwhile(site, ask, s.correct()) == [e.AxisCorrected]
    assert meanwhile(site, ask, replace(ask, by="odo", at=at(34))) == []
    assert meanwhile(site, replace(ask, job=2), s.correct()) == []
    assert e.SanctionEnded in meanwhile(site, ask, s.end_sanction(34))


def test_a_job_was_opened_by_another():
    assert meanwhile(s.powered_site(), s.open_job(31, by="hal"), s.open_job(30)) == [e.JobOpened]


def test_it_was_handed_to_another_person_since():
    site = s.done(o.with_shift(LOCKED), o.offer("pia", 30))
    again = (o.withdraw(31), o.offer("una", 32))
    assert meanwhile(site, o.withdraw(40), *again) == [e.HandoverOffered]
    assert meanwhile(site, o.withdraw(40), s.tell(31)) == []


def test_the_site_was_stopped_anew():
    site = s.done(LOCKED, o.emergency(30))
    ask = o.end_emergency(50)
    assert meanwhile(site, ask, o.end_emergency(40), o.emergency(41)) == [
        e.EmergencyEnded, e.EmergencyDeclared,
    ]  # fmt: skip
    assert meanwhile(site, ask, s.tell(40)) == []
    assert meanwhile(LOCKED, o.emergency(31), o.emergency(30)) == []


def test_paper_mode_was_declared_by_another():
    assert meanwhile(LOCKED, o.on_paper(61), o.on_paper(60)) == [e.PaperDeclared]
    assert meanwhile(s.done(LOCKED, o.on_paper(60)), o.off_paper(71), o.off_paper(70)) == [e.PaperEnded]


def test_only_what_concerns_who_returned():
    told = given(e.ReturnedTold, permit="", person="hal")
    off = given(e.AbsentLockRemoved, owner="pia", point="Q1")
    ask = o.told_back("hal")
    assert moved_on(ACCEPTED, ask, [told, off]) == (told,)
    assert moved_on(ACCEPTED, o.told_back("pia"), [told, off]) == (off,)
    assert moved_on(ACCEPTED, o.told_back("odo"), [told, off]) == ()
