"""What the database refuses by itself, to whoever goes round the rules."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.db.models import F

from permits.work import models as rows
from tests.records import job as jobs
from tests.records.conftest import job, plant  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db


@pytest.fixture
def row(job):  # noqa: F811
    jobs.checked(job)
    return job.row


def refused(name, change):
    """The change hits the constraint of this name (SQLite names columns for a unique one)."""
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        change()
    found = next(
        c
        for model in vars(rows).values()
        if hasattr(model, "_meta")
        for c in model._meta.constraints
        if c.name == name
    )
    columns = getattr(found, "fields", ())
    assert name in str(error.value) or (columns and all(col in str(error.value) for col in columns))


def again(part, **changes):
    """Another row like this one, with a place of its own."""
    values = {f.attname: getattr(part, f.attname) for f in part._meta.fields if f.name != "id"}
    type(part).objects.create(**{**values, "n": 900, **changes})


def test_one_padlock_is_in_one_place(row):
    lock = row.locks.filter(removed_at=None).first()
    refused("one_padlock_is_in_one_place", lambda: again(lock, where="C1-QM9", owner="ZZZZZZZZ"))


def test_one_live_lock_per_person_and_point(row):
    lock = row.locks.filter(removed_at=None).first()
    refused("one_live_lock_per_person_and_point", lambda: again(lock, padlock="X-1"))


def test_a_lock_is_removed_after_it_was_applied(row):
    lock = row.locks.first()
    early = lock.applied_at - timedelta(minutes=1)
    refused("lock_removed_after_applied", lambda: again(lock, padlock="X-2", where="Q", removed_at=early))


def test_a_lock_has_a_number_and_a_point_lock_a_danger_tag(row):
    lock = row.locks.filter(removed_at=None).exclude(where="box").first()
    refused("a_lock_has_a_number", lambda: again(lock, padlock="", where="Q"))
    refused("a_point_lock_has_a_danger_tag", lambda: again(lock, padlock="X-3", where="Q", tag=""))


def test_what_was_done_besides_a_tag_stands_at_a_point(row):
    box = row.locks.filter(removed_at=None).first()
    refused(
        "a_measure_stands_at_a_point_not_on_the_box",
        lambda: again(box, padlock="X-4", where="box", measure_done="Fuse taken out"),
    )


def test_one_live_release_per_permit_and_store(row):
    refused("one_live_release_per_permit_and_store", lambda: again(row.releases.first()))


def test_a_reading_counts_from_the_release_on(row):
    made = row.releases.first()
    early = made.at - timedelta(seconds=1)
    refused("a_reading_counts_from_the_release_on", lambda: again(made, point="Q", counts_from=early))


def test_one_is_signed_on_once_under_a_permit(row):
    on = row.crew.first()
    again(on, person="ZZZZZZZZ", off_at=None)
    refused("one_is_signed_on_once_under_a_permit", lambda: again(on, person="ZZZZZZZZ", off_at=None, n=901))
    refused("signed_off_after_signed_on", lambda: again(on, n=902, off_at=on.on_at - timedelta(minutes=1)))


def test_a_settled_defect_says_who_and_when(row):
    made = rows.Defect(
        permit=row,
        n=900,
        item="wear",
        what="worn",
        found_by="ZZZZZZZZ",
        found_at=row.requested_at,
        state="resolved",
    )
    refused("a_settled_defect_says_who_and_when", made.save)


def test_one_standing_confirmation_per_permit_and_area(row):
    made = {"permit": row, "area": "C1-OUTFEED", "by": "ZZZZZZZZ", "at": row.requested_at, "how": "seen"}
    rows.Confirmation.objects.create(n=900, watching=False, **made)
    again_made = rows.Confirmation(n=901, watching=False, **made)
    refused("one_standing_confirmation_per_permit_and_area", again_made.save)


def test_one_sanction_in_force_per_permit_with_no_more_cycles_than_given(row):
    made = {
        "permit": row,
        "points": [],
        "limits": "jog",
        "until": row.ends_at,
        "by": "ZZZZZZZZ",
        "at": row.requested_at,
    }
    rows.Sanction.objects.create(n=900, cycles=1, **made)
    refused("one_sanction_in_force_per_permit", rows.Sanction(n=901, cycles=1, **made).save)
    over = rows.Sanction(n=902, cycles=1, cycle=2, ended_at=row.ends_at, **made)
    refused("no_more_cycles_than_sanctioned", over.save)


def test_one_open_job_per_permit(row):
    made = {"permit": row, "machine": "C1", "opened_at": row.requested_at, "unproven": [], "proven": []}
    rows.JobSeen.objects.create(n=900, number=1, **made)
    refused("one_open_job_per_permit", rows.JobSeen(n=901, number=2, **made).save)


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("permit_phase_is_one_of_the_eight", {"phase": "paused", "ended_at": F("ends_at")}),
        ("a_permit_that_is_over_has_ended", {"ended_at": F("ends_at")}),
        ("a_permit_at_work_has_issuer_and_holder", {"holder": ""}),
    ],
)
def test_a_permit_is_never_in_a_state_that_means_nothing(name, changes, row):
    refused(name, lambda: rows.Permit.objects.filter(pk=row.pk).update(**changes))


def test_a_permit_ends_after_it_starts(row):
    refused(
        "permit_ends_after_it_starts",
        lambda: rows.Permit.objects.filter(pk=row.pk).update(ends_at=row.starts_at),
    )


def test_issuer_and_holder_are_two_people_or_it_says_so(row):
    refused(
        "issuer_and_holder_are_two_people_or_it_says_so",
        lambda: rows.Permit.objects.filter(pk=row.pk).update(issuer=row.holder),
    )


def test_numbers_are_given_once(row):
    values = {f.attname: getattr(row, f.attname) for f in row._meta.fields if f.name != "id"}
    refused(
        "one_permit_per_site_and_number",
        lambda: rows.Permit.objects.create(**{**values, "reference": "P-77"}),
    )
    refused(
        "one_permit_per_site_and_reference", lambda: rows.Permit.objects.create(**{**values, "number": 77})
    )


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("a_confirmation_holds_1_to_60_minutes", {"clear_minutes": 0}),
        ("a_permit_runs_1_to_72_hours", {"permit_hours": 73}),
        ("a_sanction_runs_1_to_24_hours", {"test_hours": 0}),
        ("a_store_is_read_again_within_a_day", {"recheck_minutes": 1441}),
    ],
)
def test_a_policy_keeps_within_sense(name, changes, row):
    refused(name, lambda: rows.SitePolicy.objects.create(site=row.site, **changes))


def test_a_message_tells_another_something_once(row):
    message = rows.Message.objects.exclude(by="").first()
    values = {f.attname: getattr(message, f.attname) for f in message._meta.fields if f.name != "id"}

    def once_more(**changes):
        return lambda: rows.Message.objects.create(**{**values, "entry": 9_000, **changes})

    refused("one_message_per_entry_and_person", once_more(entry=message.entry))
    refused("a_message_tells_someone_something", once_more(text=""))
    refused("a_message_tells_someone_something", once_more(person="", by="ZZZZZZZZ"))
    refused("nobody_is_told_of_their_own_deed", once_more(by=message.person))
    once_more()()


def test_a_lifted_halt_says_who_and_how(row):
    made = {"permit": row, "kind": "stop", "by": "ZZZZZZZZ", "at": row.requested_at, "why": "smoke"}
    lifted = {"lifted_at": row.requested_at + timedelta(minutes=5), "lifted_by": "YYYYYYYY"}
    name = "a_lifted_halt_says_who_and_how"
    refused(name, lambda: rows.Halt.objects.create(n=900, **made, **lifted))
    refused(name, lambda: rows.Halt.objects.create(n=901, **made, lifted_by="YYYYYYYY"))
    rows.Halt.objects.create(n=902, **made, **lifted, how_lifted="looked at")


def test_one_acknowledges_a_notice_once(row):
    made = {"permit": row, "notice": 0, "person": "ZZZZZZZZ", "at": row.requested_at}
    rows.Acknowledgement.objects.create(n=900, **made)
    refused("one_acknowledges_a_notice_once", lambda: rows.Acknowledgement.objects.create(n=901, **made))


def test_a_person_is_told_of_a_permit_once(row):
    made = {"site": row.site, "person": "ZZZZZZZZ", "permit": "P-7"}
    rows.Untold.objects.create(**made)
    rows.Untold.objects.create(**made | {"permit": "P-8"})
    refused("a_person_is_told_of_a_permit_once", lambda: rows.Untold.objects.create(**made))


def test_a_machine_is_out_of_use_once(row):
    made = {"site": row.site, "machine": "C1", "permit": "P-7", "axes": [], "defects": [], "any_axis": True}
    rows.OutOfUse.objects.create(**made)
    refused("a_machine_is_out_of_use_once", lambda: rows.OutOfUse.objects.create(**made))


def test_every_constraint_has_a_test_here():
    """But the places of children, which one test stands for."""
    from pathlib import Path

    text = Path(__file__).read_text(encoding="utf-8")
    named = {c.name for m in vars(rows).values() if hasattr(m, "_meta") for c in m._meta.constraints}
    assert {name for name in named if name not in text and not name.endswith("has_its_place")} == set()


def test_a_child_has_its_place(row):
    lock = row.locks.first()
    refused("lock_has_its_place", lambda: again(lock, n=lock.n, padlock="X-9", where="Q"))
