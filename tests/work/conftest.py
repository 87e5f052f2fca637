"""The demo plant at work, for the pages: loaded once a file, and each test on a savepoint of its own."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.db import transaction
from django.test import Client
from django.utils.timezone import now

from permits.people.models import Person, Site
from tests.kept import STILL_NEW_S, kept
from tests.work.the_job import TheJob

FIXTURES = Path(__file__).parent.parent.parent / "fixtures"
EARLIER = timedelta(hours=3)  # the plant was described, and the work next door began, before any test's job


@contextmanager
def rolled_back() -> Iterator[None]:
    """Everything that is written inside is undone at its end, as in Django's own test case."""
    block = transaction.atomic()
    block._from_testcase = True  # so that an outermost action may open its transaction inside
    with block:
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def plant_at_work(django_db_setup, django_db_blocker) -> Iterator[datetime]:
    """The demo plant with its tags, procedures and the permit next door. Yields when it was loaded."""
    from permits.records import demo

    def loaded() -> datetime:
        at = now() - EARLIER
        demo.prepare(FIXTURES, at=at)
        return at

    with django_db_blocker.unblock(), rolled_back():
        yield kept("the plant at work", loaded, good_for=STILL_NEW_S)


@pytest.fixture
def db(request, django_db_blocker) -> Iterator[None]:
    """The test's database; where the plant is at work in it, a savepoint: it is loaded once a file."""
    if "plant_at_work" not in request.fixturenames:
        request.getfixturevalue("_django_db_helper")
        yield
        return
    request.getfixturevalue("plant_at_work")
    with django_db_blocker.unblock(), rolled_back():
        yield


@pytest.fixture
def works(plant_at_work, db) -> Site:
    """The demo plant's site."""
    return Site.objects.get(code="QUILLFEN")


@pytest.fixture
def person(works):
    """person("odo"): someone of the demo plant."""
    return lambda sign_in: Person.objects.get(sign_in=sign_in)


@pytest.fixture
def phone(person):
    """phone("odo"): a browser in which that person is signed in."""

    def open_browser(sign_in: str) -> Client:
        client = Client()
        client.force_login(person(sign_in))
        return client

    return open_browser


@pytest.fixture
def elsewhere(works):
    """elsewhere(Role.ISSUER): a browser of someone with that role at another site, where nothing is open."""
    from tests.factories_people import PersonFactory, SiteFactory

    site = SiteFactory(code="FERNBROOK", name="Fernbrook Joinery", timezone="UTC")

    def open_browser(role) -> Client:
        client = Client()
        client.force_login(PersonFactory(site=site, site__role=role))
        return client

    return open_browser


@pytest.fixture
def job(works) -> TheJob:
    """A calibration at the crosscut cell that tests bring to the stage that they are about."""
    return TheJob(works, begins=now() - timedelta(minutes=150), is_kept=True)
