"""What is an exception, what is a note, and what is neither: one function per kind, over made-up entries."""

from decimal import Decimal

import pytest

from permits.calibration.rules.facts import Fact
from permits.people.rules.kinds import Kind as PeopleKind
from permits.plant.rules.facts import Fact as PlantFact
from permits.records import exceptions
from permits.records.exceptions import NOTES, OF_A_PERMIT, OF_THE_SITE, SoFar, What, found_in, judged
from permits.records.names import Names
from permits.records.telling import Voice
from permits.records.times import Clock
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED as POLICY_CHANGED
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import HaltKind, Reading, Seen
from permits.work.rules.written import KINDS, hints_of
from tests.records.entries import MAUD, NAMES, ODO, PIA, SEVEN, at, event, told

GOOD = {"passed": True, "counts": True, "method": "reading", "limit": Decimal(50)}
VOICE = Voice(Names(people=NAMES), Clock.of(SEVEN.tzinfo, "UTC", [SEVEN]))
JUDGED = {"job": 1, "axis": "angle", "pieces": 3, "grounds": ""}


def found(*entries):
    return [one.what for one in found_in(entries, clear_minutes=10)]


def test_issuer_and_holder_in_one_person():
    assert found(event(e.PermitIssued, own_issue=True)) == [What.OWN_ISSUE]
    assert found(event(e.PermitIssued, own_issue=False)) == []


@pytest.mark.parametrize("made", [e.SanctionGiven, e.PermitExtended])
def test_the_holder_who_signs_for_themselves_later(made):
    issued = event(e.PermitIssued, own_issue=False, holder=ODO, by=MAUD)
    assert found(issued, event(made, by=ODO)) == [What.OWN_ISSUE]
    assert found(issued, event(made, by=MAUD)) == []


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({}, []),
        ({"passed": False}, [What.FAILED_TEST]),
        ({"counts": False}, [What.EARLY_READING]),
        ({"passed": False, "counts": False}, [What.FAILED_TEST, What.EARLY_READING]),
        ({"counts": False, "method": TRY_START}, []),  # beside a reading: it only confirms
        ({"passed": False, "method": TRY_START}, [What.FAILED_TEST]),
    ],
)
def test_tests_that_failed_or_came_too_early(fields, expected):
    readings = (Reading(Decimal(0), "V", "L1-L2"),)
    assert found(event(e.PointVerified, readings=readings, **{**GOOD, **fields})) == expected


def confirm(minutes, *, areas=("OUT",), how=Seen.SELF, watching=False):
    return event(e.ConfirmedClear, minutes=minutes, areas=areas, how=how, watching=watching, elsewhere=())


def test_a_confirmation_that_went_stale_before_it_was_used():
    begun = event(e.CycleBegun)
    [stale] = found_in([begun, confirm(1), confirm(15, areas=("OUT", "NEXT"))], clear_minutes=10)
    assert (stale.what, stale.areas, stale.minutes) == (What.STALE_CONFIRMATION, ("OUT",), 14)
    assert "14 minutes" in stale.why(VOICE)


@pytest.mark.parametrize(
    "between",
    [
        [],  # renewed in time
        [event(e.ReadyToEnergise)],  # it was used; the next word is for another start
        [event(e.ConfirmationsVoided, areas=("OUT",))],  # someone went in: it did not go stale
    ],
)
def test_a_confirmation_that_was_renewed_as_it_should(between):
    second = 5 if not between else 60
    assert found(confirm(1), *between, confirm(second)) == []


def test_a_watched_area_does_not_go_stale():
    assert found(confirm(1, watching=True), confirm(60)) == []


def test_the_word_by_radio():
    assert found(confirm(1, how=Seen.RADIO)) == [What.RADIO_CONFIRMATION]


def test_time_that_ran_out():
    assert found(event(e.PermitExpired, by="", crew=(ODO,))) == [What.EXPIRED_WITH_CREW]
    assert found(event(e.PermitExpired, by="", crew=())) == [What.EXPIRED]
    assert found(event(e.VerificationLapsed, by="")) == [What.MISSED_RETEST]


def test_isolation_lost_is_an_exception_with_people_inside_and_a_note_without():
    assert found(event(e.IsolationLost, crew=(ODO,))) == [What.LOST_WITH_CREW]
    assert found(event(e.IsolationLost, crew=())) == [What.PROOF_LOST]
    assert What.PROOF_LOST.is_note


def test_defects_accepted_and_permits_closed_not_proven():
    assert found(event(e.DefectAccepted)) == [What.DEFECT_ACCEPTED]
    assert found(event(e.DefectResolved)) == []
    assert found(event(e.ClosedOutOfUse)) == [What.OUT_OF_USE]


@pytest.mark.parametrize(
    ("kind", "data", "expected"),
    [
        (Fact.CORRECTION_ENTERED, {"override": "wanted longer"}, [What.AGAINST_READINGS]),
        (Fact.CORRECTION_ENTERED, {"override": ""}, []),
        (Fact.RESULT_JUDGED, {"decision": "leave", "worse": False}, []),
        (Fact.RESULT_JUDGED, {"decision": "leave", "worse": True}, [What.RESULT_NOT_GOOD]),
        (Fact.RESULT_JUDGED, {"decision": "adjust", "worse": False}, [What.RESULT_NOT_GOOD]),
        (Fact.RESULT_JUDGED, {"decision": "measure again", "worse": False}, [What.RESULT_NOT_GOOD]),
        (Fact.PIECE_READ, {"overdue_since": ""}, []),
        (Fact.PIECE_READ, {"overdue_since": "2026-01-02"}, [What.OVERDUE_INSTRUMENT]),
        (Fact.PIECE_STRUCK, {"why": "typed wrong"}, [What.READING_STRUCK]),
        (Fact.AXIS_ENDED, {"stage": "as found", "decision": "adjust"}, [What.RESULT_NOT_GOOD]),
        (Fact.AXIS_ENDED, {"stage": "as found", "decision": "leave"}, []),
        (Fact.AXIS_ENDED, {"stage": "as left", "decision": "adjust"}, []),  # its as-left check says it
    ],
)
def test_corrections_and_results(kind, data, expected):
    assert found(told(kind.value, JUDGED | data)) == expected


def test_a_tag_that_stood_for_a_lock_is_an_exception():
    tagged = {"typed": False, "padlock": "7101", "tag": "7101"}
    assert found(event(e.LockApplied, **tagged, measure_done="Fuse F3 taken out")) == [What.TAG_FOR_LOCK]
    assert found(event(e.LockApplied, typed=False)) == []
    assert not What.TAG_FOR_LOCK.is_note


def test_typed_codes_and_lent_devices_are_notes():
    assert found(event(e.LockApplied, typed=True)) == [What.TYPED_CODE]
    assert found(event(e.CrewSignedOn, device=f"person:{MAUD}")) == [What.ANOTHERS_DEVICE]
    assert {What.TYPED_CODE, What.ANOTHERS_DEVICE} <= NOTES


@pytest.mark.parametrize(
    ("kind", "about", "expected"),
    [
        (PlantFact.WITHDRAWN_TAG_READ, "point:C1-QB1", What.WITHDRAWN_TAG),
        (PeopleKind.PIN_FAILED, f"person:{ODO}", What.WRONG_PIN),
        (PeopleKind.PIN_LOCKED, f"person:{ODO}", What.WRONG_PIN),
        (PlantFact.PROCEDURE_UNPROVEN, "procedure:C1/1", What.PROCEDURE_UNPROVEN),
    ],
)
def test_what_happens_around_permits(kind, about, expected):
    [one] = judged(told(kind.value, {}, about=about), SoFar(10), OF_THE_SITE)
    assert one.what is expected
    assert one.what.is_around


def test_a_damaged_entry_hides_no_other():
    damaged = told(Fact.RESULT_JUDGED.value, {"axis": "angle"})
    assert found(damaged, event(e.DefectAccepted)) == [What.DEFECT_ACCEPTED]


# ── what went otherwise ─────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("kind", "crew", "expected"),
    [
        (HaltKind.STOP, (ODO,), What.STOPPED_WITH_CREW),
        (HaltKind.STOP, (), What.STOPPED),
        (HaltKind.EMERGENCY, (ODO,), What.STOPPED_WITH_CREW),
        (HaltKind.PLANT, (), What.STOPPED),
        (HaltKind.SUSPENSION, (ODO,), What.SUSPENDED),
    ],
)
def test_a_stop_is_an_exception_and_a_suspension_a_note(kind, crew, expected):
    assert found(event(e.WorkStopped, kind=kind, crew=crew)) == [expected]
    assert expected.is_note is (kind is HaltKind.SUSPENSION)


def test_what_the_plant_did_to_people_inside_stands_once():
    lost, stop = event(e.IsolationLost, crew=(ODO,)), event(e.WorkStopped, kind=HaltKind.PLANT, crew=(ODO,))
    assert found(lost, stop) == [What.LOST_WITH_CREW]


ABSENT = [(e.AbsentSignedOff, What.ABSENT_SIGNED_OFF), (e.AbsentLockRemoved, What.ABSENT_LOCK)]


@pytest.mark.parametrize(("made", "what"), ABSENT)
def test_a_lock_taken_off_in_absence_is_open_until_the_owner_is_told(made, what):
    """29 CFR 1910.147(e)(3)(iii): before they resume work the employee has to know."""
    gone = event(made, number=1, owner=PIA, by=MAUD)
    [still] = found_in([gone], clear_minutes=10)
    assert (still.what, still.is_open, still.what.is_note) == (what, True, False)
    assert still.words.endswith("NOT TOLD YET")
    assert still.why(VOICE).startswith("OPEN: Pía Lindqvall has not been told yet")
    other = event(e.ReturnedTold, number=2, person=ODO, by=MAUD)
    [still] = found_in([gone], clear_minutes=10, site_wide=[other])
    assert still.is_open
    back = event(e.ReturnedTold, number=2, person=PIA, by=MAUD, minutes=90)
    [settled] = found_in([gone], clear_minutes=10, site_wide=[back])
    assert (settled.what, settled.is_open) == (what, False)
    assert settled.why(VOICE) == (
        "Pía Lindqvall was told before resuming work: 25 Nov 2026, 08:30:00 UTC, "
        "by Maud Ferrisdale (entry 2)."
    )


def test_being_told_settles_nothing_that_comes_after():
    back = event(e.ReturnedTold, number=1, person=PIA)
    gone = event(e.AbsentLockRemoved, number=2, owner=PIA)
    [again] = found_in([gone], clear_minutes=10, site_wide=[back])
    assert again.is_open


def test_a_holder_replaced_by_an_officer_is_an_exception_and_a_handover_is_none():
    assert found(event(e.HolderNamed)) == [What.HOLDER_REPLACED]
    handed = event(e.HandoverAccepted, own_issue=False)
    assert found(event(e.HandoverOffered), handed) == []
    assert found(event(e.PermitExpired, crew=()), handed) == [What.EXPIRED, What.HANDED_OVER_LATE]
    assert found(event(e.PermitExpired, crew=()), event(e.PermitExtended, by=MAUD), handed) == [What.EXPIRED]


def test_issuer_and_holder_become_one_person_by_a_handover():
    assert found(event(e.HandoverAccepted, own_issue=True)) == [What.OWN_ISSUE]
    issued = event(e.PermitIssued, own_issue=False, holder=ODO, by=MAUD)
    taken = event(e.HandoverAccepted, by=PIA, before=ODO, own_issue=False)
    assert found(issued, taken, event(e.SanctionGiven, by=PIA)) == [What.OWN_ISSUE]
    assert found(issued, taken, event(e.SanctionGiven, by=ODO)) == []


def test_a_plan_amended_is_a_note_and_by_its_holder_an_exception_too():
    issued = event(e.PermitIssued, own_issue=False, holder=ODO, by=MAUD)
    assert found(issued, event(e.PlanAmended, by=MAUD)) == [What.PLAN_AMENDED]
    assert set(found(issued, event(e.PlanAmended, by=ODO))) == {What.PLAN_AMENDED, What.OWN_ISSUE}
    assert What.PLAN_AMENDED.is_note


def test_a_late_entry_says_how_late():
    entry = event(e.LateEntered, happened_at=at(0), minutes=192)
    [late] = found_in([entry], clear_minutes=10)
    assert (late.what, late.why(VOICE)) == (What.LATE_ENTRY, "Entered 3 hours 12 minutes late.")
    [late] = found_in([event(e.LateEntered, happened_at=at(0), minutes=0.5)], clear_minutes=10)
    assert late.why(VOICE) == "Entered 30 seconds late."


def test_a_notice_that_nobody_acknowledged_is_a_note_once_the_permit_is_over():
    first, second = event(e.AffectedTold, number=1), event(e.AffectedTold, number=2)
    answered = event(e.NoticeAcknowledged, number=3, notice=1)
    assert found(first, second, answered) == []
    over = event(e.PermitClosed, number=4)
    [note] = found_in([first, second, answered, over], clear_minutes=10)
    assert (note.what, note.told) == (What.NOT_ACKNOWLEDGED, first)
    assert note.what.is_note


@pytest.mark.parametrize(
    ("entry", "expected", "note"),
    [
        (event(e.EmergencyDeclared), What.EMERGENCY, False),
        (event(e.EmergencyEnded), What.EMERGENCY_ENDED, True),
        (event(e.PaperDeclared), What.ON_PAPER, False),
        (event(e.PaperEnded), What.PAPER_ENDED, True),
        (event(e.ReturnedTold), What.TOLD_BACK, True),
        (told(POLICY_CHANGED, {"before": {}, "after": {}}, about="site"), What.POLICY_CHANGED, True),
    ],
)
def test_what_is_declared_for_the_whole_site_is_around_its_permits(entry, expected, note):
    [one] = judged(entry, SoFar(10), OF_THE_SITE)
    assert (one.what, one.what.is_note, one.what.is_around) == (expected, note, True)


def policy(number, before, after):
    data = {"before": {"clear_minutes": before}, "after": {"clear_minutes": after}}
    return told(POLICY_CHANGED, data, number=number, about="site")


def numbered(number, minutes):
    return event(
        e.ConfirmedClear, number=number, minutes=minutes, areas=("OUT",), how=Seen.SELF, watching=False,
        elsewhere=(),
    )  # fmt: skip


def test_a_confirmation_is_judged_by_the_policy_in_force_at_that_time():
    words = [numbered(1, 0), numbered(2, 8), numbered(4, 16), numbered(6, 24)]  # each 8 minutes old

    def stale(*changes):
        return [one.told.number for one in found_in(words, clear_minutes=10, site_wide=changes)]

    assert stale() == []
    assert stale(policy(3, 10, 5)) == [4, 6]
    assert stale(policy(3, 10, 5), policy(5, 5, 10)) == [4]


@pytest.mark.parametrize("data", [{}, {"after": "none"}, {"after": {"clear_minutes": "5"}}, {"after": {}}])
def test_a_change_of_policy_that_cannot_be_read_changes_nothing(data):
    damaged = told(POLICY_CHANGED, data, number=2, about="site")
    assert found_in([numbered(1, 0), numbered(3, 8)], clear_minutes=10, site_wide=[damaged]) == []


def test_every_kind_that_a_function_looks_at_is_read_by_the_watch():
    raised = set()
    for made in KINDS.values():
        for flag in (True, False):
            flags = {name: flag for name, hint in hints_of(made).items() if hint is bool}
            entry = event(made, **flags)
            if judged(entry, SoFar(10, holder=ODO, expired=True), (*OF_A_PERMIT, *OF_THE_SITE)):
                raised.add(entry.kind)
    assert len(raised) >= 20
    assert raised <= set(exceptions.KINDS)


def test_every_kind_has_its_words():
    assert set(exceptions.WORDS) == set(What)
