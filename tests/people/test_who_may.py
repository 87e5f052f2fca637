"""Every route of the people room × nobody, each role, and the right role at another site, by GET and POST."""

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, reverse

from permits.people import urls
from permits.people.access import Door
from permits.people.rules.roles import Role
from tests.factories_people import AuthorisationFactory, MembershipFactory, PersonFactory
from tests.people.who_may import EVERYONE, SIGNED_IN, WHO_MAY


def routes(patterns=urls.urlpatterns):
    for one in patterns:
        if isinstance(one, URLResolver):
            yield from routes(one.url_patterns)
        elif isinstance(one, URLPattern):
            yield f"people:{one.name}", one


BY_ROLE = {name: roles for name, roles in WHO_MAY.items() if roles not in (EVERYONE, SIGNED_IN)}
ABOUT_ONE = {f"people:{one.name}" for one in urls.about_one}


def path(name, person, authorisation):
    kwargs = {"ref": person.ref} if name in ABOUT_ONE else {}
    if name == "people:withdraw-authorisation":
        kwargs["number"] = authorisation.pk
    return reverse(name, kwargs=kwargs)


@pytest.fixture
def someone(quillfen):
    return PersonFactory(site=quillfen, site__role=Role.TECHNICIAN)


@pytest.fixture
def grant(quillfen, someone):
    return AuthorisationFactory(site=quillfen, person=someone)


def test_every_route_is_in_the_table():
    assert {name for name, _ in routes()} == set(WHO_MAY)


def test_every_view_carries_the_mark_that_the_table_says():
    for name, pattern in routes():
        expected = {
            EVERYONE: Door(person=False, site=False),
            SIGNED_IN: Door(site=False),
        }.get(WHO_MAY[name]) or Door(roles=WHO_MAY[name])
        assert pattern.callback.who_may == expected, name


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", WHO_MAY)
def test_nobody_is_sent_to_the_sign_in_page(name, method, someone, grant):
    answer = getattr(Client(), method)(path(name, someone, grant))
    sent = answer.status_code == 302 and answer.url.startswith("/sign-in/?next=")
    assert sent == (WHO_MAY[name] is not EVERYONE)


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("name", BY_ROLE)
def test_a_role_opens_what_the_table_says(name, role, method, quillfen, someone, grant, signed_in):
    client = signed_in(PersonFactory(site=quillfen, site__role=role))
    answer = getattr(client, method)(path(name, someone, grant))
    assert (answer.status_code == 403) == (role not in WHO_MAY[name])
    assert answer.status_code < 500


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", sorted(ABOUT_ONE))
def test_the_right_role_at_another_site_does_not_find_the_person(
    name, method, fernbrook, someone, grant, signed_in
):
    for role in WHO_MAY[name]:
        client = signed_in(PersonFactory(site=fernbrook, site__role=role))
        answer = getattr(client, method)(path(name, someone, grant))
        assert answer.status_code == (405 if (name, method) == ("people:person", "post") else 404)


def test_a_role_counts_only_at_the_site_that_is_open(quillfen, fernbrook, signed_in):
    person = PersonFactory(site=quillfen, site__role=Role.TECHNICIAN)
    MembershipFactory(person=person, site=fernbrook, role=Role.ADMINISTRATOR)
    assert signed_in(person, quillfen).get("/people/").status_code == 403
    assert signed_in(person, fernbrook).get("/people/").status_code == 200
