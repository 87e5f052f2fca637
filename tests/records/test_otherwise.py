"""A permit to which everything happens that can go otherwise: exceptions, story, tables, print, file."""

import html
import json
import re
from io import BytesIO

import pypdf
import pytest

from permits.ledger.models import Entry
from permits.ledger.pen import writing
from permits.people.actions import grant_role
from permits.people.models import Person
from permits.people.rules.roles import Role
from permits.plant.prints.page import Paper
from permits.records import listings
from permits.records.entries import told_about
from permits.records.exceptions import What
from permits.records.exports import entries_file
from permits.records.picture import scene_of
from permits.records.prints.record import Print, record
from permits.records.story import story_of
from permits.records.watch import exceptions_at
from permits.work.models import SitePolicy
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED as POLICY_CHANGED
from tests.records import job as jobs
from tests.records.otherwise import ADDED, amended, of_site, otherwise, told_back

pytestmark = pytest.mark.django_db

TAMAR, MAUD, TORVALD = "თამარ ველისციხელი", "Maud Ferrisdale", "Torvald Eskmoor"


@pytest.fixture
def gone(job):
    """The permit after all of it, closed."""
    return otherwise(job)


def text_of(answer):
    assert answer.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def story(job):
    return story_of(job.site, job.permit, job.at())


def whats(raised):
    return [one.what for one in raised]


def of_kind(told, kind):
    return [one for one in told.lines if one.kind == kind]


# ── exceptions ──────────────────────────────────────────────────────────────────────────────────────────


def test_the_exceptions_what_is_open_first_then_the_gravest(gone):
    told = story(gone)
    assert whats(told.exceptions) == [
        What.ABSENT_LOCK,
        What.STOPPED_WITH_CREW,
        What.ABSENT_SIGNED_OFF,
        What.STOPPED,
        What.LATE_ENTRY,
        What.LATE_ENTRY,
    ]
    assert [one.is_open for one in told.exceptions] == [True, False, False, False, False, False]
    still, _, settled, *_ = told.exceptions
    assert still.word == "absent person's lock taken off; NOT TOLD YET"
    assert still.detail.startswith("OPEN: Odo Kestrelman has not been told yet")
    assert settled.word == "absent person signed off"
    assert "Wim Ottergaard was told before resuming work: " in settled.detail
    assert whats(told.notes) == [
        What.SUSPENDED, What.PLAN_AMENDED, What.NOT_ACKNOWLEDGED, What.NOT_ACKNOWLEDGED, What.PROOF_LOST,
    ]  # fmt: skip
    assert whats(told.around) == [
        What.EMERGENCY, What.EMERGENCY_ENDED, What.TOLD_BACK, What.ON_PAPER, What.PAPER_ENDED,
    ]  # fmt: skip
    # The site's list, read once for all permits, says the same of this one.
    ours = [one for one in exceptions_at(gone.site) if one.told.permit and not one.what.is_note]
    assert sorted((one.what, one.told.number) for one in ours) == sorted(
        (one.what, one.number) for one in told.exceptions
    )


def test_an_absent_persons_lock_is_settled_by_their_being_told_and_stays_an_exception(gone):
    def absences():
        return [one.is_open for one in exceptions_at(gone.site) if one.what is What.ABSENT_LOCK]

    assert absences() == [True]
    told_back(gone, "odo")
    assert absences() == [False]
    [still] = [one for one in story(gone).exceptions if one.what is What.ABSENT_LOCK]
    assert not still.is_open
    assert f"by {TORVALD} (entry " in still.detail
    assert What.TOLD_BACK in whats(story(gone).around)  # Wim's; Odo's came after the permit's end
    assert len([one for one in story(gone).around if one.what is What.TOLD_BACK]) == 1


def test_the_auditor_finds_them_by_kind(gone, signed_in, darya):
    desk = signed_in(darya)
    page = text_of(desk.get("/records/exceptions/", {"kind": "absent-signed-off"}))
    assert "Wim Ottergaard was told before resuming work" in page
    assert f"by {TORVALD}" in page
    page = text_of(desk.get("/records/exceptions/", {"kind": "emergency"}))
    assert f"{MAUD} declared an emergency: the whole site is stopped" in page
    page = text_of(desk.get(f"/records/{gone.permit}/"))
    assert "NOT TOLD YET" in page
    assert "Entered late: happened at" in page


# ── what an officer declares for the whole site ─────────────────────────────────────────────────────────


def test_a_permit_is_touched_by_what_was_in_force_before_it_was_asked_for_and_not_by_what_was_over(job):
    of_site(job, c.DeclareEmergency, "maud", why="Drill")
    of_site(job, c.EndEmergency, "maud", how="It was a drill")
    of_site(job, c.DeclareEmergency, "maud", why="Fire in hall 2")
    job.ask()
    [found] = story(job).around
    assert found.word == "emergency at the whole site; NOT ENDED YET"
    assert found.detail == "OPEN: it has not ended yet. Why: Fire in hall 2."
    of_site(job, c.EndEmergency, "torvald", how="Put out")
    found, over = story(job).around
    assert (found.what, found.is_open, over.what) == (What.EMERGENCY, False, What.EMERGENCY_ENDED)
    assert found.detail == f"Ended {over.time}, by {TORVALD} (entry {over.number}). Why: Fire in hall 2."


def test_an_emergency_after_its_end_does_not_touch_a_permit(job):
    job.ask()
    job.do(c.CancelPermit, job.holder, why="Not needed")
    of_site(job, c.DeclareEmergency, "maud", why="Fire in hall 2")
    assert story(job).around == []


def change_policy(job, before, after):
    with writing(job.site.head_id, by=job.people["maud"].author, at=job.next(0.1)) as pen:
        data = {"before": {"clear_minutes": before}, "after": {"clear_minutes": after}}
        pen.write(POLICY_CHANGED, "site", data)


def test_a_confirmation_is_judged_by_the_policy_of_its_time(job):
    """Seven minutes old: fresh under ten minutes, stale under five, whatever the policy is today."""
    jobs.checked(job).sanction().begin().free().clear().clear(wait=7)
    SitePolicy.objects.create(site=job.site, clear_minutes=5)
    change_policy(job, 10, 5)
    assert exceptions_at(job.site)[:-1] == []
    job.clear(wait=7)
    number = Entry.objects.filter(kind="CONFIRMED_CLEAR").latest("number").number
    SitePolicy.objects.filter(site=job.site).update(clear_minutes=10)
    change_policy(job, 5, 10)
    job.clear(wait=7)
    stale = [one for one in exceptions_at(job.site) if not one.what.is_note]
    assert [(one.what, one.told.number) for one in stale] == [(What.STALE_CONFIRMATION, number)]
    told = story(job)
    assert [(one.what, one.number) for one in told.exceptions] == [(What.STALE_CONFIRMATION, number)]
    assert whats(told.around) == [What.POLICY_CHANGED, What.POLICY_CHANGED]


# ── the story and its tables ────────────────────────────────────────────────────────────────────────────


def test_what_was_entered_late_says_when_it_happened_and_whose_word_it_is(gone):
    told = story(gone)
    late = [one for one in told.lines if one.late]
    [back] = of_kind(told, "HANDED_BACK")
    by, at = "Ελένη Δρυμώνα", gone.start
    assert back in late
    assert back.who == by
    happened = told.clock.full(at.replace(hour=8, minute=54))
    assert back.late == (
        f"entered late: happened at {happened} (form F-7), vouched for by {TAMAR} and {MAUD}"
    )
    assert f"(on paper, form F-7, {told.clock.short(at.replace(hour=8, minute=54))})" in back.signed
    off = [one for one in of_kind(told, "LOCK_REMOVED") if one.late]
    assert len(off) == 7
    assert all("(form F-8)" in one.late for one in off)
    assert {one.kind for one in late} == {"HANDED_BACK", "LOCK_REMOVED", "RELEASE_UNDONE"}
    assert not any(one.late for one in of_kind(told, "REENERGISED"))


def test_second_persons_sign_too(gone):
    told = story(gone)
    rows = [(one.person, one.meaning.split()[0]) for one in told.signatures]
    assert rows.count((MAUD, "takes")) == rows.count((TORVALD, "confirms")) == 2
    assert rows.count((TAMAR, "enters")) == rows.count((MAUD, "confirms")) == 2
    [line] = of_kind(told, "ABSENT_LOCK_REMOVED")
    assert line.signers == (MAUD, TORVALD)
    assert len(told.signatures) == len(told.account.permit.signatures)  # as the rules count them


def test_an_entry_is_bound_to_the_second_person_as_to_the_first(gone):
    """What they signed and the salted digest of their name are in its body, under the chain."""
    bound = 0
    for told in told_about(gone.site.head_id, f"permit:{gone.permit}"):
        if not isinstance(told.event, e.SignedByTwo):
            continue
        second = Person.objects.get(ref=told.event.second)
        assert told.data["second_digest"] == second.name_digest
        assert told.data["second_signed"] in c.SECOND_SIGNED.values()
        assert told.by_digest == Person.objects.get(ref=told.person).name_digest
        bound += 1
    assert bound == 4


def test_the_tables_say_who_took_what_off_and_why_a_test_is_void(gone):
    told = story(gone)
    left = next(one for one in told.locks if one.padlock == "101")
    assert left.off_note == f"owner absent: by {MAUD} and {TORVALD}"
    on_paper = next(one for one in told.locks if one.padlock == "301")
    happened = told.clock.short(gone.start.replace(hour=9, minute=5))
    assert on_paper.off_note == f"happened {happened}, entered late"
    wim = next(one for one in told.crew if one.person == "Wim Ottergaard")
    assert wim.off_note == left.off_note
    assert told.tests[0].state.endswith("work stopped: Smoke at the blade drive")
    added = [one for one in told.points if one.added]
    assert [one.point for one in added] == ["=L3.P1+H3-QB1 Press main disconnector"]
    assert added[0].point.endswith(told.names.node(ADDED).name)
    before, of_the_added_point, after = told.notices
    assert "acknowledged by Pía Lindqvall" in before.how
    assert of_the_added_point.how.endswith("not acknowledged")
    assert after.how.endswith("not acknowledged")


def test_stops_and_handovers_stand_together_with_what_touched_the_whole_site(gone):
    told = story(gone)
    halts = [one.what for one in told.halts]
    assert halts[0] == "Pía Lindqvall stopped the work"
    assert f"{MAUD} declared an emergency: the whole site is stopped" in halts
    assert "Ελένη Δρυμώνα took the permit over from Odo Kestrelman" in halts
    numbers = [int(one.entries) for one in told.halts]
    assert numbers == sorted(numbers)
    assert [one.what.split(" ")[2] for one in told.amendments] == [
        "added", "declared", "entered", "entered", "ended",
    ]  # fmt: skip
    holder = dict(told.facts)["Holder"]
    assert holder.startswith("Ελένη Δρυμώνα (before: Odo Kestrelman until ")
    assert dict(told.people)[TORVALD] == "second person"


def test_a_holder_replaced_by_an_officer_and_a_handover_withdrawn(job):
    jobs.isolated(job)
    job.do(c.NameHolder, "maud", to=job.ref("eleni"), why="Went home ill, says the gate")
    told = story(job)
    assert whats(told.exceptions) == [What.HOLDER_REPLACED]
    assert dict(told.facts)["Holder"] == "Odo Kestrelman; Ελένη Δρυμώνα is to take it over"
    job.do(c.WithdrawHandover, "maud", why="He is back")
    assert [one.what for one in story(job).halts][-1] == f"{MAUD} withdrew the handover"


def test_the_print_has_all_of_it(gone):
    told = story(gone)
    sheet = Print(Paper.A4, told.clock.local(gone.at()), "https://permits.quillfen.example/records/P-1/")
    pdf = record(told, scene_of(gone.site, told), sheet)
    pages = pypdf.PdfReader(BytesIO(pdf)).pages
    words = " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())
    for expected in (
        "6 exceptions, 1 still open and first, then the gravest",
        "NOT TOLD YET",
        "Stops and handovers",
        "Plan amended, entered late",
        "Entered late: happened at",
        "owner absent: by Maud Ferrisdale and Torvald Eskmoor",
        "(on paper, form F-7,",
        "acknowledged by Pía Lindqvall",
        "not acknowledged",
        "emergency at the whole site",
        f"by {TORVALD} (entry",
    ):
        assert expected in words, expected
    titles = [part.title for part in listings.second_part(told)]
    assert titles.index("Stops and handovers") < titles.index("Hand-back and end")


def test_the_file_of_entries_has_what_was_about_the_whole_site_too(gone):
    told_back(gone, "odo")
    of_site(gone, c.DeclareEmergency, "maud", why="Fire in hall 2")  # after the permit's end
    file = json.loads(entries_file(gone.site, gone.permit, gone.at()))
    bodies = [json.loads(one["body"]) for one in file["site_wide"]]
    assert {body["about"] for body in bodies} == {"site"}
    assert [body["kind"] for body in bodies] == [
        "EMERGENCY_DECLARED", "EMERGENCY_ENDED", "RETURNED_TOLD", "PAPER_DECLARED", "PAPER_ENDED",
        "RETURNED_TOLD",
    ]  # fmt: skip


def test_a_plan_amended_by_its_own_holder_is_an_exception_too(job):
    """The rules refuse it where issuer and holder are to be two; where they may be one, the record says."""
    SitePolicy.objects.create(site=job.site, own_issue=True)
    grant_role(
        site=job.site, person=job.people["odo"], role=Role.ISSUER, by=job.people["ilse"].author, at=job.next()
    )
    amended(jobs.isolated(job), "odo")
    told = story(job)
    assert whats(told.exceptions) == [What.OWN_ISSUE]
    assert What.PLAN_AMENDED in whats(told.notes)
