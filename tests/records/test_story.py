"""One permit's story and a site's exceptions, from a real job carried out through the rooms' own actions."""

from datetime import timedelta

import pytest

from permits.ledger.models import Entry
from permits.people.actions import PinRefused, check_pin, grant_role
from permits.people.models import Person
from permits.people.rules.roles import Role
from permits.plant.actions import read_withdrawn, reissue_tag
from permits.plant.models import Node, Tag
from permits.records import watch
from permits.records.exceptions import What
from permits.records.names import ERASED
from permits.records.story import story_of
from permits.records.watch import exceptions_at
from permits.work.actions import settle_site
from permits.work.models import SitePolicy
from tests.records import job as jobs

pytestmark = pytest.mark.django_db


def story(job):
    return story_of(job.site, job.permit, job.at())


def whats(raised):
    return [one.what for one in raised]


def line(told, kind):
    return next(one for one in told.lines if one.kind == kind)


# ── a job as it should go ───────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def closed(job):
    return jobs.closed(job, "odo", "tamar")


def test_a_closed_job_from_its_first_entry_to_its_last(closed):
    told = story(closed)
    assert [one.kind for one in told.lines] == closed.kinds()
    assert [one.number for one in told.lines] == sorted(one.number for one in told.lines)
    assert (told.lines[0].kind, told.lines[-1].kind) == ("PERMIT_REQUESTED", "PERMIT_CLOSED")
    assert (told.state, told.word, told.is_over) == ("over", "Closed", True)
    assert told.exceptions == told.notes == told.around == []
    assert not any("not read by this version" in one.what for one in told.lines)
    assert told.entries == f"Entries {told.first} to {told.last} of ledger QUILLFEN"
    assert told.last_digest == Entry.objects.get(head=closed.site.head_id, number=told.last).digest


def test_signatures_have_name_meaning_and_time(closed):
    told = story(closed)
    last = told.signatures[-1]
    assert (last.person, last.meaning) == ("თამარ ველისციხელი", "closes the permit")
    assert [one.meaning.split()[0] for one in told.signatures] == [
        "issues", "accepts", "sanctions", "is", "hands", "closes", "closes",
    ]  # fmt: skip
    signed = line(told, "PERMIT_ISSUED")
    assert (signed.who, signed.signed) == (
        "Szczęsny Żurawicki",
        "issues the permit: the plan and the procedure are right for this work",
    )
    offset = closed.at().astimezone(closed.site.zone).strftime("%z")
    assert signed.time.endswith("UTC" if offset == "+0000" else f"UTC{offset[:3]}:{offset[3:]}")


def test_the_tables_say_when_each_thing_began_and_ended(closed):
    told = story(closed)
    assert [(one.padlock, one.off is not None) for one in told.locks] == [
        (number, True) for number in ("101", "102", "103", "104", "105", "108")
    ]
    assert {one.person for one in told.crew} == {"Odo Kestrelman", "Wim Ottergaard"}
    assert all(one.off for one in told.crew)
    assert [one.state.partition(" ")[0] for one in told.tests] == ["void"] * len(told.tests)
    freed = next(one for one in told.tests if "Cell main disconnector" in one.point)
    assert freed.state.endswith("lock taken off")
    assert (freed.limit, freed.fed, freed.readings[0]) == ("50 V", "yes", "L1-L2: 0")
    [sanction] = told.sanctions
    assert sanction.cycles[0].startswith("Cycle 1 begun")
    assert "ready to energise, Odo Kestrelman" in sanction.cycles[0]
    assert told.checks[0].how == "in order"
    assert [one.what.partition(" (")[0] for one in told.returns] == [
        "Odo Kestrelman handed the machine back",
        "Odo Kestrelman gave power back after a visual check; the machine is in service",
        "The permit is closed",
    ]


def test_the_calibration_as_found_corrected_as_left(closed):
    [job] = story(closed).jobs
    [axis] = job.axes
    assert (axis.name, axis.tolerance, axis.end) == ("Length, long system", "±1 mm", "closed")
    assert [one.deviation for one in axis.pieces] == [
        "+1.6 mm",
        "+1.9 mm",
        "+1.7 mm",
        "+0.1 mm",
        "-0.1 mm",
        "0 mm",
    ]
    assert {one.stage for one in axis.pieces} == {"as found", "as left, after change 1"}
    [change] = axis.changes
    assert (change.parameter, change.old, change.new, change.verdict) == (
        "offset",
        "12.4 mm",
        "10.7 mm",
        "adjust",
    )
    assert [one.decision for one in axis.results] == ["leave", "leave"]
    assert job.settings_after == "cell-2026-11-25-after.bak"


def test_who_had_which_part(closed):
    people = dict(story(closed).people)
    assert people["Odo Kestrelman"] == "asked for it, holder, tested points, signed it closed"
    assert people["Pía Lindqvall"] == "acknowledged a notice, confirmed areas clear"


def test_a_name_that_is_forgotten_prints_as_erased(closed):
    Person.objects.filter(sign_in="wim").update(name="")
    told = story(closed)
    assert ERASED in dict(told.facts)["Crew"]
    assert not any("Wim" in one.what for one in told.lines)


def test_a_name_that_was_changed_is_marked_where_it_signed_under_another(closed):
    Person.objects.filter(sign_in="odo").update(name="Odo Marshgate", name_salt="other")
    assert line(story(closed), "PERMIT_ACCEPTED").who == "Odo Marshgate (renamed since)"


def test_what_left_the_plant_keeps_the_name_it_had(closed):
    Node.objects.filter(code="C1-QB1").update(removed_at=closed.at())
    assert "Cell main disconnector (no longer in the plant)" in line(story(closed), "LOCK_APPLIED").what


def test_a_changed_row_is_the_first_exception(closed, owner):
    entry = Entry.objects.filter(head=closed.site.head_id, kind="LOCK_APPLIED").first()
    Entry.objects.filter(pk=entry.pk).update(body=entry.body.replace('"padlock":"101"', '"padlock":"911"'))
    [changed] = story(closed).exceptions
    assert (changed.what, changed.number) == (What.CHANGED_ENTRY, entry.number)


# ── a job in which much went otherwise ──────────────────────────────────────────────────────────────────


def test_exceptions_stand_first_the_gravest_before_the_others(job):
    told = story(jobs.closed_with_exceptions(job))
    assert whats(told.exceptions) == [
        What.FAILED_TEST,
        What.EARLY_READING,
        What.EARLY_READING,
        What.STALE_CONFIRMATION,
        What.RADIO_CONFIRMATION,
        What.DEFECT_ACCEPTED,
        What.AGAINST_READINGS,
        What.RESULT_NOT_GOOD,
        What.RESULT_NOT_GOOD,
        What.READING_STRUCK,
    ]
    assert whats(told.notes) == [What.TYPED_CODE, What.ANOTHERS_DEVICE, What.ANOTHERS_DEVICE]
    failed = next(one for one in told.lines if one.exception == "test failed")
    assert failed.number == told.exceptions[0].number
    lent = next(one for one in told.lines if one.device)
    assert (lent.who, lent.device) == ("Wim Ottergaard", "Odo Kestrelman")
    # The site's list, read once for all permits, says the same of this one.
    site = exceptions_at(job.site)
    assert sorted((one.what, one.told.number) for one in site) == sorted(
        (one.what, one.number) for one in told.exceptions
    )


def test_people_inside_when_the_time_ran_out(job):
    jobs.isolated(job).sign_on("odo", "201")
    job.minute = 9 * 60
    job.sign_off("odo")
    told = story(job)
    assert What.EXPIRED_WITH_CREW in whats(told.exceptions)
    assert line(told, "PERMIT_EXPIRED").who == "by itself, when due"


def test_what_fell_due_counts_in_the_state_before_it_is_written(job):
    jobs.isolated(job).sign_on("odo", "201")
    late = story_of(job.site, job.permit, job.at() + timedelta(hours=9))
    assert (late.state, late.word) == ("unsafe", "Expired with people inside")


def test_what_happened_around_a_permit_is_told_with_it_and_only_with_it(job):
    jobs.accepted(job)
    tag = Tag.objects.get(node__code="C1-QB1")
    other = Tag.objects.get(node__code="P1-QB1")
    maud = job.people["maud"]
    for one in (tag, other):
        reissue_tag(tag=one, why="worn off", by=maud.author, at=job.next())
        read_withdrawn(tag=one, by=job.people["odo"].author, at=job.next())
    for name in ("odo", "ilse"):
        with pytest.raises(PinRefused):
            check_pin(job.people[name], "000000", site=job.site, at=job.next())
    read, wrong = story(job).around
    assert (read.what, wrong.what) == (What.WITHDRAWN_TAG, What.WRONG_PIN)
    assert read.sentence.endswith("of =L3.C1+H3-QB1 Cell main disconnector")
    assert wrong.sentence.startswith("A wrong PIN was entered for Odo Kestrelman")
    assert len([one for one in exceptions_at(job.site) if one.what.is_around]) == 4


def test_other_permits_at_the_same_points_are_named(job):
    jobs.accepted(job)
    other = jobs.Job(job.site, job.at(), holder="eleni", crew=()).ask(("K4-TRANSFER",), reason="Chain guide")
    assert story(job).others == [
        "P-2 (requested), Ελένη Δρυμώνα: shares =L3.C1+H4-QB4 Outfeed conveyor disconnector"
    ]
    assert story(other).others[0].startswith("P-1 (isolating), Odo Kestrelman")


def test_a_permit_that_nobody_asked_for_has_no_story(plant):
    assert story_of(plant, "P-9", plant.head.last_at or jobs.morning_after(plant)) is None


# ── the site's exceptions, kept in the process ──────────────────────────────────────────────────────────


def test_only_new_entries_are_read_the_second_time(job, django_assert_max_num_queries):
    jobs.accepted(job).lock_up().verify(wait=1)
    before = exceptions_at(job.site)
    assert {one.what for one in before} == {What.EARLY_READING}
    job.verify(values={"C1-QB1": "400"})
    with django_assert_max_num_queries(4):
        after = exceptions_at(job.site)
    assert after[: len(before)] == before
    assert [one.what for one in after[len(before) :]] == [What.FAILED_TEST]


def test_another_ledger_under_the_same_key_is_read_from_its_beginning(job):
    jobs.accepted(job)
    exceptions_at(job.site)
    kept = watch._watches[job.site.head_id]
    kept.digest, kept.found = "f" * 64, [object()]
    assert exceptions_at(job.site) == []


def test_a_changed_policy_judges_anew(job):
    jobs.checked(job).sanction().begin().free().clear().clear(wait=7)
    assert exceptions_at(job.site) == []
    SitePolicy.objects.create(site=job.site, clear_minutes=5)
    assert [one.what for one in exceptions_at(job.site)] == [What.STALE_CONFIRMATION]


def test_a_lost_proof_with_nobody_inside_is_a_note(job):
    job.crew = ()
    job.ask(("P1-BED",), reason="Seal").issue().accept().tell(tests=False).lock_up().verify(wait=100)
    assert job.state()[1].phase == "isolated"
    settle_site(site=job.site, at=job.next(90))
    told = story(job)
    assert whats(told.notes) == [What.PROOF_LOST]
    assert whats(told.exceptions) == [What.MISSED_RETEST]
    assert any(one.state.startswith("lapsed") for one in told.tests)


def test_the_holder_who_sanctions_their_own_test_where_the_site_allows_it(job):
    SitePolicy.objects.create(site=job.site, own_issue=True)
    grant_role(
        site=job.site, person=job.people["odo"], role=Role.ISSUER, by=job.people["ilse"].author, at=job.next()
    )
    job.issuer = "odo"
    jobs.checked(job).sanction()
    assert whats(story(job).exceptions) == [What.OWN_ISSUE, What.OWN_ISSUE]
    assert line(story(job), "PERMIT_ISSUED").what == "Odo Kestrelman issued the permit to themselves"
