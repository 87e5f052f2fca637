"""The described crosscut cell and a job under power on it, made once a file; each test begins there."""

import copy
from datetime import timedelta

import pytest
from django.db import transaction
from django.utils.timezone import now

from tests.calibration import ground
from tests.cast import with_people
from tests.kept import STILL_NEW_S, kept


def under_power():
    """The demo plant's site with its people since three hours, and a permit since two."""
    site = with_people(now() - timedelta(hours=3))
    ground.describe(site)
    return ground.bench(site, now() - timedelta(hours=2))


@pytest.fixture(scope="module")
def made_once(django_db_setup, django_db_blocker):
    """Half a hundred commands bring a machine under power safely: too many to repeat for each test."""
    with django_db_blocker.unblock():
        whole = transaction.atomic()
        whole._from_testcase = True  # as Django's own test cases do: the pen's durable block may stand in it
        whole.__enter__()
        try:
            yield kept("the crosscut cell under power", under_power, good_for=STILL_NEW_S)
        finally:
            transaction.set_rollback(True)
            whole.__exit__(None, None, None)


@pytest.fixture
def quillfen(db, made_once):
    """The demo plant's site, with its people and its described crosscut cell."""
    from permits.people.models import Site

    return Site.objects.select_related("head").get(code="QUILLFEN")


@pytest.fixture
def cell(quillfen):
    """The crosscut cell with its axes, instruments and features."""
    from permits.plant.queries import machine_of

    return machine_of(quillfen, "C1")


@pytest.fixture
def bench(quillfen, made_once):
    """A permit whose test has been under power for an hour; no job is open yet, and pages can be sent now."""
    found = copy.copy(made_once)
    found.site = quillfen
    return found


@pytest.fixture
def as_odo(odo, signed_in):
    """The holder's browser."""
    return signed_in(odo)
