"""While the server's clock is behind the record, the pages refuse as ever and people come out."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils.timezone import now

from permits.ledger.models import Entry
from permits.work.actions import perform
from permits.work.rules import commands as c
from tests.cast import PIN
from tests.work.reading_pages import page_of, send
from tests.work.test_pages_policy import posted


@pytest.fixture
def ran_ahead(job, person):
    """The clock ran ninety minutes ahead for one command, at the stage to which `job` is brought."""

    def run(stage):
        job.to(stage)
        ask = c.TellAffected(
            permit=job.id, by=person("odo").ref, at=now() + timedelta(minutes=90), whom="line 3", how="radio"
        )
        perform(site=job.site, command=ask, by=person("odo").author)
        return job

    return run


def refuses(answer):
    page = page_of(answer)
    return (
        answer.status_code == 409
        and answer.context["refusal"].codes == {"clock-behind"}
        and "minutes behind the record" in page.text
        and "An administrator sets the clock right, on the server." in page.text
    )


def count(job):
    return Entry.objects.filter(head=job.site.head_id).count()


def test_ready_is_refused_on_its_page_and_nothing_is_written(ran_ahead, phone):
    job = ran_ahead("cleared")
    before = count(job)
    assert refuses(send(phone("odo"), f"{job.url}ready/", pin=PIN["odo"]))
    assert count(job) == before


def test_whoever_is_inside_signs_off_and_anyone_stops_the_work(ran_ahead, phone):
    job = ran_ahead("signed_on")
    assert send(phone("odo"), f"{job.url}sign-off/").status_code == 302
    assert send(phone("pia"), f"{job.url}stop/", why="smoke at the drive").status_code == 302
    assert job.look().permit.is_stopped


def test_the_sites_numbers_are_not_changed(ran_ahead, phone):
    ran_ahead("told")
    assert refuses(phone("maud").post("/policy/change/", posted(clear_minutes="30")))


def test_calibration_refuses_on_its_pages_as_well(ran_ahead, phone):
    ran_ahead("told")
    caliper = {
        "key": uuid4(), "number": "CP-20", "name": "Caliper", "unit": "mm", "expanded_uncertainty": "0.04",
        "coverage_factor": "2", "resolution": "0.01", "due_on": (now() + timedelta(days=100)).date(),
    }  # fmt: skip
    assert refuses(phone("maud").post("/instruments/", caliper))
