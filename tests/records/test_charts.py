"""The printed record shows each axis of its jobs over time, beside the visits of other days."""

from datetime import timedelta
from io import BytesIO

import pypdf
import pytest

from permits.calibration import actions as calibration
from permits.calibration.actions import Who
from permits.calibration.models import Axis
from permits.calibration.rules.lengths import from_record
from permits.plant.prints.page import Paper
from permits.records.charts import histories_of
from permits.records.picture import scene_of
from permits.records.prints.record import Print, record
from permits.records.story import story_of
from tests.records import job as jobs

pytestmark = pytest.mark.django_db


def words_of(job):
    story = story_of(job.site, job.permit, job.at())
    sheet = Print(Paper.A4, job.at(), "https://permits.quillfen.example/records/P-1/")
    pdf = record(story, scene_of(job.site, story), sheet, axes=histories_of(job.site, job.permit))
    return " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages)


def test_earlier_visits_and_this_one_stand_on_the_chart(job):
    axis = Axis.objects.get(code="length-2")
    for days, found in ((20, "0.4 mm"), (10, "0.7 mm")):
        on = job.site.day_of(job.start - timedelta(days=days))
        who = Who(by=job.people["maud"].author, at=job.site.head.last_at)
        calibration.enter_earlier(
            axis=axis, on=on, as_found=from_record(found), as_left=None, source="book 3", who=who
        )
    jobs.closed(job)
    assert [len(one.visits) for one in histories_of(job.site, job.permit)] == [3]
    assert "Length, long system over time" in words_of(job)


def test_one_visit_alone_has_no_chart(job):
    jobs.closed(job)
    assert "over time" not in words_of(job)
