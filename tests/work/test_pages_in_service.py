"""A machine that is out of use, or held by a permit on another one, says so wherever it is met."""

import pytest
from django.urls import reverse

from permits.plant.models import Tag
from permits.work.models import OutOfUse
from tests.work.reading_pages import text_of

pytestmark = pytest.mark.django_db

WHY = "C1 is out of use since P-1 was closed not proven: angle."


@pytest.fixture
def left(works):
    return OutOfUse.objects.create(
        site=works, machine="C1", permit="P-1", axes=["angle"], defects=[], any_axis=False
    )


@pytest.fixture
def pages(phone, works):
    odo, code = phone("odo"), Tag.objects.get(node__code="C1-QB1", withdrawn_at=None).short_code
    urls = {
        "board": reverse("work:board"),
        "machines": reverse("plant:machines"),
        "machine": reverse("plant:machine", args=["C1"]),
        "plate": reverse("work:point-by-code", args=[code]),
        "ask": reverse("work:ask-for-permit", args=["C1"]),
        "plan": reverse("work:ask-for-permit", args=["C1"]) + "?show=plan&zones=C1-INFEED",
    }
    return lambda name: text_of(odo.get(urls[name]))


@pytest.mark.parametrize("name", ["board", "machines", "machine", "plate", "ask", "plan"])
def test_a_machine_out_of_use_says_since_when_and_what_was_left(pages, left, name):
    assert WHY in pages(name)


def test_once_it_is_proven_no_page_says_so(pages, left):
    left.delete()
    assert not any(WHY in pages(name) for name in ("board", "machines", "machine", "plate", "ask"))


@pytest.mark.parametrize("name", ["machines", "machine", "plate", "ask"])
def test_a_machine_that_a_permit_holds_says_which_and_at_which_points(job, pages, name):
    job.to("locked")
    assert "C1 is not in service:" in pages(name)
    assert f"{job.id} holds " in pages(name)
