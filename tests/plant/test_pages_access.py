"""Every route of the plant room × nobody, each role, and the right role at another site, by GET and POST."""

import pytest
from django.test import Client
from django.urls import reverse

from permits.people.access import Door
from permits.people.rules.roles import Role
from permits.plant import urls
from tests.factories_people import PersonFactory
from tests.plant.who_may import WHO_MAY

ARGS = {
    "plant:machine": ["C1"],
    "plant:edit-machine": ["C1"],
    "plant:remove-machine": ["C1"],
    "plant:plan": ["C1"],
    "plant:procedures": ["C1"],
    "plant:write-procedure": ["C1"],
    "plant:compare-procedures": ["C1"],
    "plant:procedure": ["C1", 2],
    "plant:placard": ["C1"],
    "plant:approve-procedure": ["C1", 2],
    "plant:node": ["C1-QB1"],
    "plant:edit-node": ["C1-QB1"],
    "plant:remove-node": ["C1-QB1"],
    "plant:reissue-tag": ["C1-QB1"],
    "plant:add-node": ["isolator"],
    "plant:choose-physics": ["C1-CDC"],
    "plant:physics": ["C1-CDC", "capacitor"],
    "plant:remove-physics": ["C1-CDC"],
}
MORE = {"plant:remove-link": "?from=C1-QB1&to=C1-RAIL", "plant:tag-sheet": "?machine=C1"}
ABOUT_ONE = sorted({*ARGS, *MORE} - {"plant:add-node"})
METHODS = ("get", "post")


def path(name: str) -> str:
    return reverse(name, args=ARGS.get(name, [])) + MORE.get(name, "")


def test_every_route_is_in_the_table():
    assert {f"plant:{route.name}" for route in urls.urlpatterns} == set(WHO_MAY)


def test_every_view_carries_the_mark_that_the_table_says():
    for route in urls.urlpatterns:
        assert route.callback.who_may == Door(roles=WHO_MAY[f"plant:{route.name}"]), route.name


@pytest.mark.parametrize("name", WHO_MAY)
def test_nobody_is_sent_to_the_sign_in_page(name, db):
    for method in METHODS:
        answer = getattr(Client(), method)(path(name))
        assert answer.status_code == 302
        assert answer.url.startswith("/sign-in/?next=")


@pytest.mark.parametrize("name", WHO_MAY)
def test_a_role_opens_what_the_table_says(name, draft, tagged, signed_in):
    for role in Role:
        client = signed_in(PersonFactory(site=tagged, site__role=role))
        for method in METHODS:
            answer = getattr(client, method)(path(name))
            assert (answer.status_code == 403) == (role not in WHO_MAY[name]), (role, method)
            assert answer.status_code < 500


def test_the_right_role_at_another_site_finds_nothing(draft, tagged, elsewhere):
    for name in ABOUT_ONE:
        for method in METHODS:
            answer = getattr(elsewhere, method)(path(name))
            assert answer.status_code in (404, 405), (name, method)
        assert 404 in {getattr(elsewhere, method)(path(name)).status_code for method in METHODS}, name


def test_what_changes_something_asks_for_the_token(draft, tagged, torvald):
    client = Client(enforce_csrf_checks=True)
    client.force_login(torvald)
    assert client.post(path("plant:approve-procedure")).status_code == 403
    assert client.post(path("plant:remove-node")).status_code == 403
