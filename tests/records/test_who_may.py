"""Every route of the records room × nobody, each role, the right role at another site, by GET and POST."""

import pytest
from django.test import Client
from django.urls import reverse

from permits.people.access import Door
from permits.people.rules.roles import Role
from permits.records import urls
from tests.factories_people import MembershipFactory, PersonFactory
from tests.records import job as jobs
from tests.records.who_may import ALL_BUT_AFFECTED, WHO_MAY

ABOUT_ONE = [f"records:{one.name}" for one in urls.about_one]


def path(name):
    return reverse(name, args=["P-1"] if name in ABOUT_ONE else [])


def test_every_route_is_in_the_table():
    assert {f"records:{one.name}" for one in urls.urlpatterns} == set(WHO_MAY)


def test_every_view_carries_the_mark_that_the_table_says():
    for pattern in urls.urlpatterns:
        assert pattern.callback.who_may == Door(roles=WHO_MAY[f"records:{pattern.name}"]), pattern.name


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", WHO_MAY)
def test_nobody_is_sent_to_the_sign_in_page(name, method, db):
    answer = getattr(Client(), method)(path(name))
    assert answer.status_code == 302
    assert answer.url.startswith("/sign-in/?next=")


@pytest.mark.parametrize("role", Role)
def test_a_role_opens_what_the_table_says(role, job, signed_in):
    jobs.accepted(job)
    client = signed_in(PersonFactory(site=job.site, site__role=role))
    for name in WHO_MAY:
        may = role in WHO_MAY[name]
        assert client.get(path(name)).status_code == (200 if may else 403), name
        assert client.post(path(name)).status_code == (405 if may else 403), name


def test_the_right_role_at_another_site_finds_nothing(job, fernbrook, signed_in):
    jobs.accepted(job)
    person = PersonFactory(site=fernbrook, site__role=Role.AUDITOR)
    client = signed_in(person)
    for name in ABOUT_ONE:
        assert client.get(path(name)).status_code == 404, name
    assert "P-1" not in client.get(path("records:search")).content.decode()


def test_a_role_counts_only_at_the_site_that_is_open(job, fernbrook, signed_in):
    person = PersonFactory(site=job.site, site__role=Role.AFFECTED)
    for role in ALL_BUT_AFFECTED:
        MembershipFactory(person=person, site=fernbrook, role=role)
    assert signed_in(person, job.site).get(path("records:search")).status_code == 403
    assert signed_in(person, fernbrook).get(path("records:search")).status_code == 200
