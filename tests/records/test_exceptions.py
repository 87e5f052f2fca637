"""What is an exception, what is a note, and what is neither: one function per kind, over made-up entries."""

from decimal import Decimal

import pytest

from permits.calibration.rules.facts import Fact
from permits.people.rules.kinds import Kind as PeopleKind
from permits.plant.rules.facts import Fact as PlantFact
from permits.records import exceptions
from permits.records.exceptions import NOTES, OF_A_PERMIT, OF_THE_SITE, SoFar, What, found_in, judged
from permits.records.names import Names
from permits.work.rules import events as e
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import Reading, Seen
from permits.work.rules.written import KINDS, hints_of
from tests.records.entries import MAUD, ODO, event, told

GOOD = {"passed": True, "counts": True, "method": "reading", "limit": Decimal(50)}
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
    assert "14 minutes" in stale.why(Names())


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


def test_every_kind_that_a_function_looks_at_is_read_by_the_watch():
    raised = set()
    for made in KINDS.values():
        for flag in (True, False):
            flags = {name: flag for name, hint in hints_of(made).items() if hint is bool}
            entry = event(made, **flags)
            if judged(entry, SoFar(10, holder=ODO), OF_A_PERMIT):
                raised.add(entry.kind)
    assert len(raised) >= 9
    assert raised <= set(exceptions.KINDS)


def test_every_kind_has_its_words():
    assert set(exceptions.WORDS) == set(What)
