"""The server's clock jumps: forward, things fall due at their own time; back, nothing comes to life again."""

from datetime import timedelta

import pytest

from permits.ledger.models import Entry, Head
from permits.ledger.verify import verify
from permits.records.replay import replay
from permits.work.actions import perform, settle_site
from permits.work.rules import commands as c
from permits.work.rules.refusal import Refused
from tests.records import job as jobs
from tests.records.conftest import job, plant  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db

A_DAY = timedelta(days=1)


def entry(job, kind):  # noqa: F811
    return Entry.objects.filter(head=job.site.head_id, kind=kind).latest("number")


def last_at(job):  # noqa: F811
    return Entry.objects.filter(head=job.site.head_id).latest("number").at


def whole(job):  # noqa: F811
    return verify(Head.objects.get(pk=job.site.head_id)).ok and replay(job.site).differences == []


def ask(job, at, **fields):  # noqa: F811
    return perform(
        site=job.site,
        command=c.SignOnCrew(permit=job.permit, by=job.ref("odo"), at=at, padlock="B-1", **fields),
        by=job.people["odo"].author,
    )


@pytest.fixture
def at_test(job):  # noqa: F811
    """A sanction that ends before the permit does, its cycle begun."""
    return jobs.checked(job).sanction(hours=1).begin()


def test_a_jump_forward_writes_each_thing_with_the_time_at_which_it_fell_due(at_test):
    permit, sanction = at_test.row, at_test.row.sanctions.get()
    assert settle_site(site=at_test.site, at=permit.ends_at + A_DAY) >= 2
    assert entry(at_test, "SANCTION_ENDED").at == sanction.until
    assert entry(at_test, "PERMIT_EXPIRED").at == permit.ends_at
    assert sanction.until < permit.ends_at
    assert at_test.row.expired_at == permit.ends_at
    assert whole(at_test)


def test_a_jump_back_does_not_bring_to_life_what_expired(at_test):
    ended = at_test.row.ends_at
    settle_site(site=at_test.site, at=ended + A_DAY)
    before = Entry.objects.filter(head=at_test.site.head_id).count()
    with pytest.raises(Refused) as refused:
        ask(at_test, ended - timedelta(hours=2))
    assert "expired" in refused.value.codes
    assert settle_site(site=at_test.site, at=ended - timedelta(hours=2)) == 0
    assert Entry.objects.filter(head=at_test.site.head_id).count() == before
    assert at_test.row.expired_at == ended
    assert at_test.row.sanctions.get().ended_at is not None
    assert whole(at_test)


def test_after_a_jump_back_time_stands_still_until_the_clock_has_caught_up(job):  # noqa: F811
    jobs.isolated(job)
    stood = last_at(job)
    ask(job, stood - A_DAY)
    assert entry(job, "CREW_SIGNED_ON").at == stood
    assert job.row.crew.get().on_at == stood, "the row has the entry's time"
    perform(
        site=job.site,
        command=c.SignOffCrew(permit=job.permit, by=job.ref("odo"), at=stood - timedelta(hours=3)),
        by=job.people["odo"].author,
    )
    assert (job.row.crew.get().on_at, job.row.crew.get().off_at) == (stood, stood)
    caught_up = stood + timedelta(minutes=2)
    ask(job, caught_up)
    assert last_at(job) == caught_up
    times = list(Entry.objects.filter(head=job.site.head_id).order_by("number").values_list("at", flat=True))
    assert times == sorted(times)
    assert whole(job)


def test_a_jump_forward_and_back_leaves_nobody_inside_an_expired_permit_unnoticed(job):  # noqa: F811
    jobs.isolated(job)
    ask(job, job.next())
    ended = job.row.ends_at
    settle_site(site=job.site, at=ended + A_DAY)  # the clock ran ahead for one minute
    expired = entry(job, "PERMIT_EXPIRED")
    assert job.ref("odo") in expired.body, "who is inside is named"
    job.do(c.SignOffCrew, "odo")  # coming out is never refused, whatever the clock says
    assert job.row.crew.get().off_at == expired.at
    assert whole(job)
