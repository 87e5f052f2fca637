"""What the tables hold and what the ledger tells are the same, at every stage of a job on the demo plant."""

import pytest

from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.people.models import Membership
from permits.work import store
from permits.work.rules import commands as c
from permits.work.rules.evolve import fold
from permits.work.rules.state import Site as State
from permits.work.rules.words import Position
from permits.work.rules.written import KINDS, from_data
from tests.records import job as jobs
from tests.records.conftest import job, plant  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db


def replayed(site) -> State:
    """The site's permits folded from the ledger's entries alone."""
    import json

    now = store.load(site)
    state = State(graph=now.graph, people=now.people, timezone=now.timezone)
    for entry in Entry.objects.filter(head=site.head_id, kind__in=KINDS).order_by("number"):
        body = json.loads(entry.body)
        by = entry.by.removeprefix("person:") if entry.by.startswith("person:") else ""
        event = from_data(
            entry.kind, body["data"], permit=entry.about.removeprefix("permit:"), by=by, at=entry.at
        )
        state = fold(state, [event])
    return state


def rows_of(site) -> dict:
    from permits.work.models import Permit

    return {p.id: p for p in store.permits_from(Permit.objects.filter(site=site).order_by("number"))}


@pytest.mark.parametrize(
    "stage", ["accepted", "isolated", "checked", "under_power", "closed", "closed_with_exceptions"]
)
def test_tables_and_ledger_agree_at_each_stage(stage, job):  # noqa: F811
    made = getattr(jobs, stage)(job)
    rows, told = rows_of(job.site), replayed(job.site).permits
    assert set(rows) == set(told) == {made.permit}
    assert rows[made.permit] == told[made.permit]
    job.site.head.refresh_from_db()
    assert verify(job.site.head).ok


def test_loading_takes_the_same_number_of_queries_whatever_is_open(job, django_assert_num_queries):  # noqa: F811
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    jobs.accepted(job)
    with CaptureQueriesContext(
        connection,
    ) as one:
        store.load(job.site)
    for _ in range(4):
        jobs.Job(job.site, job.next(5)).ask()
    with django_assert_num_queries(len(one)):
        store.load(job.site)


def test_a_padlock_of_someone_who_left_is_then_whose_it_was_last(job):  # noqa: F811
    jobs.closed(job)
    owners = store.load(job.site).padlock_owners
    number = next(padlock for padlock, owner in owners.items() if owner == job.ref("odo"))
    Membership.objects.filter(site=job.site, person=job.people["odo"]).update(ended_at=job.at())
    other = jobs.accepted(jobs.Job(job.site, job.next(), issuer="tamar", holder="eleni", crew=()))
    first = other.state()[1].plan_lock[0]
    other.do(c.ApplyLock, "eleni", point=first, padlock=number, tag="T-900", position=Position.OFF)
    assert store.load(job.site).padlock_owners == owners | {number: job.ref("eleni")}
    assert replayed(job.site).padlock_owners == store.load(job.site).padlock_owners
