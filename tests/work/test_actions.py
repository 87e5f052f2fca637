"""What the write path promises: once or not at all, nothing half done, what fell due is kept."""

from datetime import timedelta
from uuid import uuid4

import pytest

from permits.ledger.models import Entry
from permits.plant import actions as plant_actions
from permits.plant.actions import PlantRefused
from permits.work import actions as work
from permits.work import store
from permits.work.actions import perform, settle_site
from permits.work.happened import happened_since
from permits.work.models import Lock, Permit
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.due import due
from permits.work.rules.moved_on import PageStale
from permits.work.rules.refusal import Refused
from permits.work.rules.words import Phase, Position
from tests.records import job as jobs
from tests.records.conftest import job, plant  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db


def first_lock(job, at):  # noqa: F811
    return c.ApplyLock(
        permit=job.permit, by=job.ref("odo"), at=at, point="C1-QB1", padlock="501", tag="7501",
        position=Position.OFF,
    )  # fmt: skip


def entries(job):  # noqa: F811
    return Entry.objects.filter(head=job.site.head_id).count()


def test_the_same_request_sent_twice_counts_once(job):  # noqa: F811
    jobs.accepted(job)
    key, ask = uuid4(), first_lock(job, job.next())
    first = perform(site=job.site, command=ask, by=job.people["odo"].author, key=key)
    before = entries(job)
    assert perform(site=job.site, command=ask, by=job.people["odo"].author, key=key) == []
    assert (len(first), entries(job)) == (1, before)
    assert Lock.objects.filter(padlock="501").count() == 1


def test_a_refusal_leaves_no_half_state(job):  # noqa: F811
    jobs.accepted(job)
    before, rows = entries(job), store.load(job.site).permits
    ask = c.SignOnCrew(permit=job.permit, by=job.ref("odo"), at=job.next(), padlock="B-1")
    with pytest.raises(Refused) as refused:
        perform(site=job.site, command=ask, by=job.people["odo"].author, key=uuid4())
    assert "wrong-phase" in refused.value.codes
    assert (entries(job), store.load(job.site).permits) == (before, rows)


def test_what_fell_due_is_written_although_the_command_is_refused(job):  # noqa: F811
    jobs.isolated(job)
    after_end = Permit.objects.get(reference=job.permit).ends_at + timedelta(minutes=5)
    ask = c.SignOnCrew(permit=job.permit, by=job.ref("odo"), at=after_end, padlock="B-1")
    with pytest.raises(Refused) as refused:
        perform(site=job.site, command=ask, by=job.people["odo"].author)
    assert "expired" in refused.value.codes
    [expired] = Entry.objects.filter(head=job.site.head_id, kind="PERMIT_EXPIRED")
    assert expired.at == Permit.objects.get(reference=job.permit).ends_at
    assert expired.by == "system:clock"


def test_a_request_that_was_refused_while_something_fell_due_is_refused_again_when_sent_again(job):  # noqa: F811
    jobs.isolated(job)
    after_end = Permit.objects.get(reference=job.permit).ends_at + timedelta(minutes=5)
    ask = c.SignOnCrew(permit=job.permit, by=job.ref("odo"), at=after_end, padlock="B-1")
    key = uuid4()
    for _ in range(2):
        with pytest.raises(Refused):
            perform(site=job.site, command=ask, by=job.people["odo"].author, key=key)


def test_two_jobs_of_a_minute_at_once_write_what_fell_due_once(job, monkeypatch):  # noqa: F811
    """The second one looked before the first had written, and finds nothing left to write."""
    jobs.isolated(job)
    after_end = Permit.objects.get(reference=job.permit).ends_at + timedelta(minutes=5)
    late = due(store.load(job.site), after_end)
    settle_site(site=job.site, at=after_end)
    before = entries(job)
    answers = iter([late])
    monkeypatch.setattr(work, "due", lambda site, at: next(answers, []))
    assert settle_site(site=job.site, at=after_end) == 0
    assert entries(job) == before


def test_the_job_of_each_minute_writes_what_fell_due_once(job):  # noqa: F811
    jobs.isolated(job)
    after_end = Permit.objects.get(reference=job.permit).ends_at + timedelta(minutes=5)
    assert settle_site(site=job.site, at=after_end) >= 1
    assert settle_site(site=job.site, at=after_end) == 0


def test_a_stale_page_may_lock_but_not_cancel_and_hears_all_that_is_unmet(job):  # noqa: F811
    jobs.accepted(job)
    seen = Permit.objects.get(reference=job.permit).last_entry
    job.tell()
    perform(site=job.site, command=first_lock(job, job.next()), by=job.people["odo"].author, seen=seen)
    jobs_done = c.CancelPermit(permit=job.permit, by=job.ref("odo"), at=job.next(), why="changed our minds")
    with pytest.raises(Refused) as refused:
        perform(site=job.site, command=jobs_done, by=job.people["odo"].author, seen=seen)
    assert [unmet.code for unmet in refused.value.unmet] == ["page-stale", "locks-still-on"]


def put_on(job, who, at, point="C1-QB1", padlock="W-1"):  # noqa: F811
    ask = c.ApplyLock(
        permit=job.permit, by=job.ref(who), at=at, point=point, padlock=padlock, tag="T-W",
        position=Position.OFF,
    )  # fmt: skip
    return perform(site=job.site, command=ask, by=job.people[who].author)


def test_anothers_lock_beside_it_does_not_make_a_page_stale(job):  # noqa: F811
    jobs.accepted(job)
    seen = Permit.objects.get(reference=job.permit).last_entry
    job.tell()
    put_on(job, "wim", job.next())
    perform(site=job.site, command=first_lock(job, job.next()), by=job.people["odo"].author, seen=seen)
    assert Lock.objects.filter(where="C1-QB1", removed_at=None).count() == 2


def refused_as_stale(job, ask, seen):  # noqa: F811
    before = entries(job)
    with pytest.raises(PageStale) as refused:
        perform(site=job.site, command=ask, by=job.people["odo"].author, seen=seen)
    assert refused.value.codes == {"page-stale"}
    assert entries(job) == before
    return refused.value


def test_a_stale_page_may_not_lock_where_an_officer_took_a_lock_off(job):  # noqa: F811
    jobs.accepted(job)
    job.tell()
    put_on(job, "wim", job.next())
    seen = Permit.objects.get(reference=job.permit).last_entry
    job.do(
        c.TakeOffForAbsent, "maud", where="C1-QB1", owner=job.ref("wim"), second=job.ref("torvald"),
        not_on_site="gate list", tried="telephone, home",
    )  # fmt: skip
    refused = refused_as_stale(job, first_lock(job, job.next()), seen)
    assert "was taken off in their absence by Maud" in refused.unmet[0].what
    now = Permit.objects.get(reference=job.permit).last_entry
    perform(site=job.site, command=first_lock(job, job.next()), by=job.people["odo"].author, seen=now)


def test_a_stale_page_may_not_lock_after_a_stop_until_it_has_shown_it(job):  # noqa: F811
    jobs.accepted(job)
    job.tell()
    seen = Permit.objects.get(reference=job.permit).last_entry
    job.do(c.StopWork, "pia", why="smoke")
    refused_as_stale(job, first_lock(job, job.next()), seen)
    now = Permit.objects.get(reference=job.permit).last_entry
    perform(site=job.site, command=first_lock(job, job.next()), by=job.people["odo"].author, seen=now)


def test_what_fell_due_between_page_and_request_is_news_to_the_page_once(job):  # noqa: F811
    """The permit's time ran out meanwhile: that is written, shown, and then no reason to refuse any more."""
    jobs.isolated(job)
    seen = Permit.objects.get(reference=job.permit).last_entry
    late = Permit.objects.get(reference=job.permit).ends_at + timedelta(minutes=5)
    ask = c.TellAffected(permit=job.permit, by=job.ref("odo"), at=late, whom="line 3", how="radio")
    with pytest.raises(PageStale) as refused:
        perform(site=job.site, command=ask, by=job.people["odo"].author, seen=seen, key=uuid4())
    assert "The time of P-1 was over" in refused.value.unmet[0].what
    assert refused.value.against[0].by == ""
    now = Permit.objects.get(reference=job.permit).last_entry
    assert now > seen
    assert perform(site=job.site, command=ask, by=job.people["odo"].author, seen=now, key=uuid4())


def test_without_a_page_nothing_is_asked_of_what_happened_before(job):  # noqa: F811
    jobs.accepted(job)
    job.tell()
    assert perform(site=job.site, command=first_lock(job, job.next()), by=job.people["odo"].author)


def test_to_know_what_happened_since_costs_one_query_more_where_nothing_did(
    job, django_assert_num_queries  # noqa: F811
):
    jobs.accepted(job)
    seen = Permit.objects.get(reference=job.permit).last_entry
    ask = first_lock(job, job.next())
    with django_assert_num_queries(1):
        assert happened_since(job.site, ask, seen) == ()
    job.do(c.StopWork, "pia", why="smoke")
    with django_assert_num_queries(2):
        assert [type(one) for one in happened_since(job.site, ask, seen)] == [e.WorkStopped]


def test_the_clock_set_back_does_not_reach_behind_the_last_entry(job):  # noqa: F811
    jobs.accepted(job)
    last = Entry.objects.filter(head=job.site.head_id).latest("number")
    perform(site=job.site, command=first_lock(job, last.at - timedelta(hours=1)), by=job.people["odo"].author)
    assert Entry.objects.filter(head=job.site.head_id).latest("number").at == last.at


def test_someone_who_acts_on_anothers_phone_is_named_with_the_device(job):  # noqa: F811
    jobs.isolated(job)
    wim, odo = job.people["wim"], job.people["odo"]
    ask = c.SignOnCrew(permit=job.permit, by=wim.ref, at=job.next(), padlock="B-9")
    perform(site=job.site, command=ask, by=wim.author_on(odo))
    body = Entry.objects.filter(head=job.site.head_id, kind="CREW_SIGNED_ON").latest("number").body
    assert f'"by":"{wim.about}"' in body
    assert f'"device":"{odo.about}"' in body


def test_a_second_feed_behind_an_open_permit_stops_it_in_the_same_transaction(job):  # noqa: F811
    jobs.isolated(job)
    job.do(c.SignOnCrew, "odo", padlock="B-1")
    before = Entry.objects.filter(head=job.site.head_id).latest("number").number
    link = {"from": "B3-BAR", "to": "C1-CHAMBER"}
    plant_actions.save_link(site=job.site, link=link, by=job.people["maud"].author, at=job.next())
    kinds = list(
        Entry.objects.filter(head=job.site.head_id, number__gt=before)
        .order_by("number")
        .values_list("kind", flat=True)
    )
    assert "PLANT_CHANGED" in kinds
    assert "ISOLATION_LOST" in kinds
    stopped = store.load(job.site).permits[job.permit]
    assert stopped.phase is Phase.ISOLATING
    assert stopped.stopped_path[-1] == "Saw chamber"
    # The way out is open: sign off; nothing that takes protection away is.
    with pytest.raises(Refused):
        job.do(c.RemoveLocks, "odo", points=("C1-QB1",))
    job.do(c.SignOffCrew, "odo")


def test_a_point_that_carries_a_lock_cannot_leave_the_plant(job):  # noqa: F811
    jobs.isolated(job)
    with pytest.raises(PlantRefused) as refused:
        plant_actions.remove_node(site=job.site, code="C1-QB1", by=job.people["maud"].author, at=job.next())
    assert "padlock" in str(refused.value)
