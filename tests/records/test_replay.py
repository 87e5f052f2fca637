"""Replaying the ledger gives the tables again; whoever changes a row by hand is named."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from permits.ledger.models import Entry
from permits.ledger.pen import writing
from permits.plant.actions import save_demands, save_node
from permits.plant.rules.noderows import write_node
from permits.plant.store import plant_file_of
from permits.records.replay import replay
from permits.work.models import Lock, Permit, Verification
from tests.factories_plant import CLERK
from tests.records import job as jobs

pytestmark = pytest.mark.django_db


@pytest.fixture
def two(job):
    """One closed permit and one at work."""
    jobs.closed_with_exceptions(job)
    other = jobs.Job(job.site, job.at())
    jobs.isolated(other).sign_on("odo", "201")
    return job


def run(*arguments):
    out = StringIO()
    try:
        call_command("replay_ledger", *arguments, stdout=out)
    except CommandError as error:
        return error.returncode, out.getvalue(), str(error)
    return 0, out.getvalue(), ""


def test_the_ledger_gives_the_tables_again(two):
    done = replay(two.site)
    assert done.differences == []
    assert done.permits == 2
    events = Entry.objects.filter(head=two.site.head_id, about__startswith="permit:")
    assert done.entries == events.count() - sum(
        count for kind, count in done.skipped.items() if events.filter(kind=kind).exists()
    )
    assert done.skipped["PIECE_READ"] == 16
    code, out, _ = run()
    assert code == 0
    assert out.startswith(f"QUILLFEN: no difference, 2 permits from {done.entries} entries (skipped: ")
    assert "facts of calibration" in out


def test_a_tag_that_stood_for_a_lock_comes_back_with_what_was_done_besides(plant, owner):
    at = jobs.morning_after(plant)
    node = write_node(plant_file_of(plant).graph["C1-QB2"])
    tag_only = {"lockable": False, "tag_only": {"measure": "Take the fuses out"}}
    save_demands(site=plant, demands={}, tag_out=True, by=CLERK, at=at)
    save_node(site=plant, node=node | tag_only, by=CLERK, at=at)
    jobs.isolated(jobs.Job(plant, at))
    tagged = Lock.objects.get(where="C1-QB2")
    assert (tagged.padlock, tagged.measure_done) == (tagged.tag, "Done: Take the fuses out")
    assert replay(plant).differences == []
    Lock.objects.filter(pk=tagged.pk).update(measure_done="")
    [difference] = replay(plant).differences
    assert "Take the fuses out" in str(difference)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda: Permit.objects.filter(reference="P-1").update(holder="SOMEBODY"),
            "P-1: holder is 'SOMEBODY'",
        ),
        (lambda: Permit.objects.filter(reference="P-2").update(last_entry=1), "P-2: last_entry is 1;"),
        (lambda: Lock.objects.filter(permit__reference="P-1", n=0).update(padlock="911"), "P-1: locks[0] is"),
        (
            lambda: Verification.objects.filter(permit__reference="P-2", n=2).delete(),
            "P-2: verifications[2] is",
        ),
        (
            lambda: Verification.objects.filter(permit__reference="P-2").delete(),
            "P-2: verifications has 0 items",
        ),
    ],
)
def test_a_row_changed_by_hand_is_named(two, owner, change, words):
    change()
    code, out, error = run("--site", "QUILLFEN")
    assert code == 1
    assert f"DIFFERENT: permit {words}" in out
    assert error == "1 of 1 sites differ from their ledger."


def test_a_permit_that_only_one_side_has_is_named(two, owner):
    Permit.objects.filter(reference="P-2").update(reference="P-7")
    said = {(one.permit, one.what) for one in replay(two.site).differences}
    assert said == {
        ("P-7", "the tables have it, the ledger does not"),
        ("P-2", "the ledger has it, the tables do not"),
    }


def test_an_event_that_fits_nothing_before_it_stops_the_replay(two):
    with writing(two.site.head_id, by=two.people["odo"].author, at=two.next(600)) as pen:
        number = pen.write("PERMIT_ACCEPTED", "permit:P-9", {"signed": "accepts"}).number
    [stopped] = replay(two.site).differences
    assert (stopped.permit, stopped.entry) == ("P-9", number)
    code, out, _ = run()
    assert code == 1
    assert f"entry {number}: permit P-9: the event does not fit what came before it" in out


def test_an_event_that_cannot_be_read_stops_the_replay(two):
    with writing(two.site.head_id, by=two.people["odo"].author, at=two.next(600)) as pen:
        pen.write("LOCK_APPLIED", "permit:P-2", {"colour": "red"})
    [stopped] = replay(two.site).differences
    assert stopped.what == "the entry cannot be read as LOCK_APPLIED"


def test_an_unknown_site_is_said(plant):
    assert run("--site", "NOWHERE") == (2, "", "There is no site 'NOWHERE'; there are: QUILLFEN.")


def test_without_a_site_there_is_nothing_to_replay(db):
    assert run() == (0, "There is no site yet, so there is nothing to replay.\n", "")
