"""Every kind of entry has a sentence in the plant's words; what cannot be read is shown as it stands."""

from decimal import Decimal
from typing import get_args

import pytest

from permits.calibration.rules.facts import Fact
from permits.people.rules.kinds import Kind as PeopleKind
from permits.plant.rules.facts import Fact as PlantFact
from permits.records.names import ERASED, Names, Place
from permits.records.telling import Voice, spoken, tell
from permits.records.times import Clock
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED as POLICY_CHANGED
from permits.work.rules.words import HaltKind, Position, Reading
from permits.work.rules.written import KINDS
from tests.records.entries import MAUD, NAMES, ODO, PIA, SEVEN, at, event, told

NODES = {
    "C1-QB1": Place("C1-QB1", "Cell main disconnector", "=L3.C1+H3-QB1", "isolator", "C1"),
    "C1-CHAMBER": Place("C1-CHAMBER", "Saw chamber", "=L3.C1+Z2", "zone", "C1"),
    "OLD-1": Place("OLD-1", "Old valve", "=L3-QM9", "isolator", is_gone=True),
}
VOICE = Voice(Names(people=NAMES, nodes=NODES), Clock.of(SEVEN.tzinfo, "UTC", [SEVEN]))

AXIS = {"job": 1, "axis": "angle"}
JUDGED = {"decision": "leave", "grounds": "It is inside."}
CERTIFICATE = {"expanded_uncertainty": "0.1 mm", "coverage_factor": "2", "resolution": "0.05 mm"}
CALIBRATION = {
    Fact.AXIS_SAVED: {"axis": "angle", "name": "Saw angle", "order": 1, "tolerance": "0.15 deg"},
    Fact.AXIS_REMOVED: {"axis": "angle", "name": "Saw angle"},
    Fact.FEATURE_SAVED: {"feature": "Diagonal", "unit": "mm", "depends": {"angle": "1.2"}},
    Fact.FEATURE_REMOVED: {"feature": "Diagonal"},
    Fact.POLICY_SAVED: {"lengths": "in", "finest": 16, "overdue": "refused"},
    Fact.EARLIER_RESULT_ENTERED: {
        **AXIS, "name": "Saw angle", "on": "2026-01-02", "as_found": "0.2 deg", "as_left": "",
        "source": "Book 3",
    },
    Fact.INSTRUMENT_SAVED: {"name": "Steel tape", "due_on": "2027-01-01", **CERTIFICATE},
    Fact.INSTRUMENT_REMOVED: {},
    Fact.JOB_DESCRIBED: {
        "job": 1, "machine": "C1", "settings_before": "a.bak", "reference_board": "RB-1",
        "test_piece": "stud",
    },
    Fact.AXIS_OPENED: {
        **AXIS, "name": "Saw angle", "tolerance": "0.15 deg", "instrument": "DP-11", **CERTIFICATE,
    },
    Fact.PIECE_READ: {
        **AXIS, "piece": 1, "stage": "as found", "nominal": "92 5/8 in", "measured": "92 3/4 in",
    },
    Fact.PIECE_STRUCK: {
        **AXIS, "piece": 1, "stage": "as found", "nominal": "600 mm", "measured": "6000 mm",
        "why": "Typed wrong",
    },
    Fact.PRE_CHECKED: {
        "job": 1,
        "features": [{"feature": "Diagonal", "deviation": "1 mm", "standard_uncertainty": "0.1 mm"}],
        "axes": [{"axis": "angle", "name": "Saw angle"}], "ranked": [], "verdict": "angle", "pair": [],
        "try_first": [], "grounds": "It fits best.",
    },
    Fact.CORRECTION_ENTERED: {
        **AXIS, "parameter": "offset", "old": "1 mm", "new": "2 mm", "override": "", **JUDGED,
    },
    Fact.RESULT_JUDGED: {**AXIS, "pieces": 3, "worse": False, **JUDGED},
    Fact.AXIS_ENDED: {**AXIS, "state": "closed", "corrections": 1, "stage": "as left", **JUDGED},
    Fact.SETTINGS_SAVED: {"job": 1, "settings_after": "b.bak"},
}  # fmt: skip
TAG = {"short_code": "ABCDEF7", "why": "worn", "reissue": 1, "token": "X"}
PLANT = {
    PlantFact.PLANT_CHANGED: {"version": 2},
    PlantFact.PROCEDURE_SUPERSEDED: {"by_revision": 2},
    PlantFact.PROCEDURE_UNPROVEN: {"flaws": [{"id": "C1-CHAMBER", "path": ["C1-QB1", "C1-CHAMBER"]}]},
    PlantFact.TAG_ISSUED: TAG,
    PlantFact.TAG_WITHDRAWN: TAG,
    PlantFact.WITHDRAWN_TAG_READ: TAG,
}
PEOPLE = {
    PeopleKind.SITE_ADDED: {"name": "Works"},
    PeopleKind.ROLE_GRANTED: {"role": "issuer"},
    PeopleKind.ROLE_ENDED: {"role": "issuer"},
    PeopleKind.AUTHORISED: {"machine": "C1"},
    PeopleKind.AUTHORISATION_WITHDRAWN: {"machine": "C1", "why": "left"},
    PeopleKind.EMPLOYER_CHANGED: {"employer": "Fitters"},
    PeopleKind.CONTRACTOR_HOSTED: {
        "host": ODO, "employer": "Fitters", "starts_on": "2026-11-25", "expires_on": "2026-12-24",
        "informed": "procedures handed over",
    },
    PeopleKind.HOSTING_ENDED: {"host": ODO, "why": "work is done"},
    PeopleKind.PIN_FAILED: {"tries_left": 1},
    PeopleKind.PIN_LOCKED: {"after": 10},
}  # fmt: skip


def sentence(entry):
    return tell(entry, VOICE).what


@pytest.mark.parametrize("kind", KINDS)
def test_every_event_of_a_permit_has_a_sentence(kind):
    line = spoken(event(KINDS[kind]), VOICE)
    assert line is not None
    assert line.what
    assert not line.what.endswith(".")


def test_every_fact_of_calibration_has_a_sentence():
    assert set(CALIBRATION) == set(Fact)
    for kind, data in CALIBRATION.items():
        assert spoken(told(kind.value, data), VOICE) is not None, kind


@pytest.mark.parametrize("kind", PlantFact)
def test_every_fact_of_the_plant_has_a_sentence(kind):
    about = "procedure:C1/1" if kind.startswith("PROCEDURE") else "point:C1-QB1"
    assert spoken(told(kind.value, PLANT.get(kind, {}), about=about), VOICE) is not None


@pytest.mark.parametrize("kind", PeopleKind)
def test_every_fact_of_people_has_a_sentence(kind):
    assert (
        spoken(told(kind.value, PEOPLE.get(kind, {"why": "asked"}), about=f"person:{MAUD}"), VOICE)
        is not None
    )


def test_an_axis_that_owes_its_check_is_told_since_which_permit_and_how_it_was_made():
    opened = spoken(told(Fact.AXIS_OPENED.value, CALIBRATION[Fact.AXIS_OPENED] | {"owed": "P-1"}), VOICE)
    assert "Its as-left check is owed since P-1 was closed not proven." in opened.detail
    result = spoken(told(Fact.RESULT_JUDGED.value, CALIBRATION[Fact.RESULT_JUDGED] | {"owed": "P-1"}), VOICE)
    assert result.what.endswith("is left as it was found, on 3 pieces: leave")
    assert result.detail == "This is the as-left check owed since P-1 was closed not proven. It is inside."
    for kind in (Fact.AXIS_OPENED, Fact.RESULT_JUDGED):  # an entry that owes nothing says nothing of it
        assert "owed" not in spoken(told(kind.value, CALIBRATION[kind] | {"owed": ""}), VOICE).detail


def test_a_draft_is_told_with_what_the_officer_asked_of_its_plan():
    def detail(**data):
        return spoken(told(PlantFact.PROCEDURE_DRAFTED.value, data, about="procedure:C1/1"), VOICE).detail

    assert detail() == detail(keep_live=[], choice=None) == ""
    assert detail(keep_live=["C1-QB1"], choice={"pinned": ["OLD-1"], "forbidden": ["C1-QB1"]}) == (
        "Stays live: Cell main disconnector. The points were chosen by hand. Had to be in it: Old valve. "
        "Ruled out: Cell main disconnector."
    )


def test_what_had_to_stay_live_and_does_not_is_told_with_the_way_that_is_cut():
    flaw = {"id": "C1-CHAMBER", "path": ["C1-QB1", "C1-CHAMBER"], "kept_dead": True}
    line = spoken(
        told(PlantFact.PROCEDURE_UNPROVEN.value, {"flaws": [flaw]}, about="procedure:C1/1"), VOICE
    )
    assert line.what.endswith("no longer holds")
    assert line.detail == (
        "Saw chamber has to stay live, and no supply reaches it by Cell main disconnector → Saw chamber."
    )


def test_a_lock_is_told_with_everything_that_was_seen():
    entry = event(e.LockApplied, point="C1-QB1", padlock="101", tag="7101", position=Position.OFF, typed=True)
    assert sentence(entry) == (
        "Odo Kestrelman locked =L3.C1+H3-QB1 Cell main disconnector with padlock 101, danger tag 7101; "
        "seen off; code typed by hand"
    )


def test_a_failed_test_names_the_readings_over_the_limit_and_keeps_them_all():
    readings = (Reading(Decimal("231"), "V", "L1-N"), Reading(Decimal("0.4"), "V", "L1-PE"))
    entry = event(
        e.PointVerified, point="C1-QB1", method="reading", readings=readings, limit=Decimal(50), unit="V",
        passed=False, counts=True, instrument="VT-04",
    )  # fmt: skip
    line = tell(entry, VOICE)
    assert line.what.endswith("Cell main disconnector: FAILED, L1-N: 231 V over the limit of 50 V")
    assert line.detail.startswith("L1-N: 231, L1-PE: 0.4 V. Instrument VT-04.")


def test_lengths_are_told_in_the_digits_that_were_typed():
    entry = told(Fact.PIECE_READ, CALIBRATION[Fact.PIECE_READ])
    assert sentence(entry).endswith("as found: 92 3/4 in, nominal 92 5/8 in, deviation +1/8 in")


def test_a_name_that_is_gone_is_erased():
    assert sentence(event(e.PermitAccepted, by="GONE0000")) == f"{ERASED} accepted the permit"


def test_a_tag_in_place_of_a_lock_is_told_with_what_was_done_besides():
    entry = event(
        e.LockApplied, point="C1-QB1", padlock="7101", tag="7101", position=Position.OFF, typed=False,
        measure_done="Fuse holder F3 pulled, in the tool crib",
    )  # fmt: skip
    assert sentence(entry) == (
        "Odo Kestrelman tagged =L3.C1+H3-QB1 Cell main disconnector, which takes no lock, "
        "with danger tag 7101; seen off"
    )
    assert tell(entry, VOICE).detail == "Done besides: Fuse holder F3 pulled, in the tool crib."
    off = event(e.LockRemoved, point="C1-QB1", padlock="7101", was_tag=True)
    assert sentence(off).startswith("Odo Kestrelman took their danger tag 7101 off")


# ── what went otherwise ─────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (HaltKind.STOP, "Odo Kestrelman stopped the work"),
        (HaltKind.SUSPENSION, "Odo Kestrelman suspended the permit"),
        (HaltKind.EMERGENCY, "Odo Kestrelman stopped the work together with the whole site: emergency"),
        (HaltKind.PLANT, "A change of the plant by Odo Kestrelman stopped the work"),
    ],
)
def test_a_stop_is_told_with_its_reason_and_who_was_called_out(kind, words):
    line = tell(event(e.WorkStopped, kind=kind, why="smoke at the drive", crew=(PIA, MAUD)), VOICE)
    assert line.what == words
    assert line.detail == "Why: smoke at the drive. Called out: Pía Lindqvall and Maud Ferrisdale."


ABSENCE = {"owner": PIA, "second": ODO, "not_on_site": "gate list", "tried": "telephone", "by": MAUD}


def test_a_lock_taken_off_in_absence_is_told_with_both_people_and_every_check():
    line = tell(event(e.AbsentLockRemoved, point="C1-QB1", padlock="301", **ABSENCE), VOICE)
    assert line.what == (
        "Maud Ferrisdale, with Odo Kestrelman, took padlock 301 of Pía Lindqvall off "
        "=L3.C1+H3-QB1 Cell main disconnector in their absence"
    )
    assert line.detail == "Not on site: gate list. Sought: telephone."
    line = tell(event(e.AbsentSignedOff, padlock="301", searched="all three zones", **ABSENCE), VOICE)
    assert line.what == (
        "Maud Ferrisdale, with Odo Kestrelman, signed Pía Lindqvall off in their absence, "
        "padlock 301 off the group box"
    )
    assert line.detail.endswith("Zones searched: all three zones.")


def test_a_handover_is_told_with_both_holders():
    assert sentence(event(e.HandoverOffered, to=PIA)) == (
        "Odo Kestrelman offered to hand the permit over to Pía Lindqvall"
    )
    line = tell(event(e.HandoverAccepted, by=PIA, before=ODO, own_issue=True), VOICE)
    assert line.what == "Pía Lindqvall took the permit over from Odo Kestrelman"
    assert line.detail == "Issuer and holder are one person from now on."


@pytest.mark.parametrize("command", [one.__name__ for one in get_args(c.LateCommand)])
def test_whatever_may_be_entered_late_has_its_words(command):
    entry = event(
        e.LateEntered, what=command, happened_at=at(-60), second=PIA, form="F-7", entries=2, by=MAUD
    )
    line = tell(entry, VOICE)
    assert line.what.startswith("Maud Ferrisdale entered late, from form F-7: ")
    assert line.what.endswith(" at 25 Nov 2026, 06:00:00 UTC")
    assert command not in line.what
    assert line.detail == (
        "Vouched for by Maud Ferrisdale and Pía Lindqvall. The next 2 entries are what happened then."
    )


def test_changed_numbers_of_the_site_are_told_with_what_they_were_and_are():
    before = {"clear_minutes": 10, "own_issue": False, "permit_hours": 12}
    data = {"before": before, "after": {**before, "clear_minutes": 1, "own_issue": True, "test_hours": 2}}
    line = tell(told(POLICY_CHANGED, data, about="site", by=MAUD), VOICE)
    assert line.what == "Maud Ferrisdale changed the site's numbers"
    assert line.detail == (
        "A clear confirmation stays fresh for: 10 minutes before, 1 minute now. "
        "Issuer and holder may be one person: no before, yes now."
    )


def test_what_left_the_plant_keeps_its_name():
    entry = event(e.LockRemoved, point="OLD-1", padlock="9")
    assert sentence(entry).endswith("padlock 9 off =L3-QM9 Old valve (no longer in the plant)")


def test_nobody_is_named_where_time_did_it():
    assert sentence(event(e.PermitExpired, by="", crew=(ODO,))) == (
        "The permit's time ran out with Odo Kestrelman still signed on"
    )


@pytest.mark.parametrize(
    "entry",
    [
        told("SOMETHING_OF_LATER", {"colour": "blue"}),
        told("LOCK_APPLIED", {"point": "C1-QB1"}),  # a member is missing
        told("POINT_VERIFIED", {"readings": "none"}),
        told("PIECE_READ", {"axis": "angle"}),
    ],
)
def test_what_this_version_cannot_read_is_shown_as_it_stands(entry):
    line = tell(entry, VOICE)
    assert line.what.endswith("(not read by this version)")
    assert all(str(value) in line.detail for value in entry.data.values())
