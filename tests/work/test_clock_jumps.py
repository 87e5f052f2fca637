"""The server's clock jumps: forward, things fall due at their own time; back, nothing comes to life again.

While it is behind the last entry nobody can say what time it is: nothing is accepted that counts by its time.
"""

import logging
from datetime import timedelta

import pytest

from permits.ledger.models import Entry, Head
from permits.ledger.verify import verify
from permits.records.replay import replay
from permits.work import store
from permits.work.actions import perform, set_policy, settle_site
from permits.work.rules import commands as c
from permits.work.rules.clock_behind import TOLERATED
from permits.work.rules.refusal import Refused
from permits.work.rules.words import Phase, Seen
from tests.records import job as jobs
from tests.records.conftest import job, plant  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db

A_DAY, A_SECOND = timedelta(days=1), timedelta(seconds=1)
AHEAD = 90  # minutes by which the clock ran ahead, for one command


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


def count(job):  # noqa: F811
    return Entry.objects.filter(head=job.site.head_id).count()


def refused_by_clock(act, job, *args, **fields):  # noqa: F811
    """Is it refused, for the clock and for nothing else, and nothing written?"""
    before = count(job)
    with pytest.raises(Refused) as refused:
        act(job, *args, **fields)
    assert count(job) == before
    return refused.value.codes == {"clock-behind"}


def sign_off(job, at):  # noqa: F811
    ask = c.SignOffCrew(permit=job.permit, by=job.ref("odo"), at=at)
    return perform(site=job.site, command=ask, by=job.people["odo"].author)


@pytest.fixture
def ran_ahead():
    """One command while the clock is far ahead; then the clock is right again. It was the true minute."""

    def run(job, act):  # noqa: F811
        true = job.minute
        job.minute = true + AHEAD
        act(job)
        job.minute = true
        return job

    return run


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
    assert refused_by_clock(ask, at_test, ended - timedelta(hours=2))
    assert settle_site(site=at_test.site, at=ended - timedelta(hours=2)) == 0
    assert Entry.objects.filter(head=at_test.site.head_id).count() == before
    assert at_test.row.expired_at == ended
    assert at_test.row.sanctions.get().ended_at is not None
    assert whole(at_test)


def test_after_a_jump_back_people_come_out_and_nobody_goes_in_until_the_clock_has_caught_up(job):  # noqa: F811
    jobs.isolated(job)
    ask(job, job.next())
    stood = last_at(job)
    sign_off(job, stood - timedelta(hours=3))
    assert entry(job, "CREW_SIGNED_OFF").at == stood, "time stands still"
    assert job.row.crew.get().off_at == stood, "the row has the entry's time"
    assert refused_by_clock(ask, job, stood - A_DAY)
    assert refused_by_clock(ask, job, stood - TOLERATED - A_SECOND)
    ask(job, stood - TOLERATED)
    sign_off(job, stood)
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


# ── the clock ran ahead for one command and is right again ──────────────────────────────────────────────


def clear_far_ahead(job):  # noqa: F811
    jobs.Job.clear(job)


def test_a_confirmation_from_a_clock_that_ran_ahead_does_not_stay_fresh(job, ran_ahead):  # noqa: F811
    """Time stood still: the areas counted as just looked at until the clock had caught up, here for hours."""
    jobs.checked(job).sanction().begin().free()
    ran_ahead(job, clear_far_ahead)
    assert refused_by_clock(jobs.Job.ready, job)
    job.minute += 60
    assert refused_by_clock(jobs.Job.ready, job), "an hour later it is as stale as it can be"
    minutes = store.policy_of(job.site).clear_minutes
    job.minute += AHEAD - 60 + minutes
    with pytest.raises(Refused) as refused:
        job.ready()
    assert refused.value.codes == {"confirmation-stale"}, "once the clock has caught up it tells again"
    job.clear().ready()


def test_nobody_confirms_an_area_clear_while_time_stands_still(job, ran_ahead):  # noqa: F811
    jobs.checked(job).sanction().begin().free()
    ran_ahead(job, jobs.Job.tell)
    assert refused_by_clock(jobs.Job.clear, job)
    assert refused_by_clock(jobs.Job.clear, job, how=Seen.RADIO)


def test_a_reading_that_is_too_early_does_not_isolate_because_the_clock_ran_ahead(job, ran_ahead):  # noqa: F811
    """The bus and the blade are still running down; by the entry from the future their waits were over."""
    jobs.accepted(job).lock_up()
    ran_ahead(job, jobs.Job.tell)
    assert refused_by_clock(jobs.Job.verify, job, wait=1)
    assert job.row.phase == Phase.ISOLATING.value
    job.minute += AHEAD
    job.verify()
    assert job.row.phase == Phase.ISOLATED.value


def test_a_store_is_not_released_while_time_stands_still(job):  # noqa: F811
    """The clock is hours slow: a wait from then would be over the moment it is set right."""
    jobs.accepted(job)
    job.tell()
    slow = job.at() - timedelta(hours=3)
    ask_release = c.ReleaseStore(permit=job.permit, by=job.ref("odo"), at=slow, point="C1-CDC", method="")

    def release(job):
        perform(site=job.site, command=ask_release, by=job.people["odo"].author)

    assert refused_by_clock(release, job)


def test_a_calibration_takes_no_reading_while_time_stands_still(job, ran_ahead):  # noqa: F811
    jobs.under_power(job).open_job().open_axis()
    ran_ahead(job, jobs.Job.tell)
    assert refused_by_clock(jobs.Job.read, job, "2441.6 mm")
    assert refused_by_clock(jobs.Job.close_job, job)


def test_the_sites_numbers_stay_as_they_are_while_time_stands_still(job):  # noqa: F811
    chosen = store.policy_of(job.site)

    def change(job):
        before = job.at() - 2 * A_DAY
        set_policy(site=job.site, chosen=chosen, by=job.people["maud"].author, at=before)

    assert refused_by_clock(change, job)


def test_the_log_says_it_once_for_each_command_and_each_minute(job, caplog):  # noqa: F811
    jobs.isolated(job)
    ask(job, job.next())
    stood = last_at(job)
    with caplog.at_level(logging.WARNING, "permits.clock"):
        settle_site(site=job.site, at=stood - TOLERATED)
        sign_off(job, stood - TOLERATED)
    assert caplog.messages == []
    said = "site QUILLFEN: the clock is 3 hours behind the ledger's last entry"
    with caplog.at_level(logging.WARNING, "permits.clock"):
        settle_site(site=job.site, at=stood - timedelta(hours=3))
        assert refused_by_clock(ask, job, stood - timedelta(hours=3))
    assert caplog.messages == [said, said]
    assert {record.levelno for record in caplog.records} == {logging.WARNING}
