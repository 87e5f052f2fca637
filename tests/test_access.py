"""The whole URLconf × nobody, every role, and the right role at another site, by GET and POST.

The tables are written by hand, one a room; a route without a row, or a row without a route, fails.
"""

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from permits.people.access import Door
from permits.people.rules.roles import Role
from tests.calibration.who_may import WHO_MAY as CALIBRATION
from tests.factories_people import PersonFactory
from tests.people.who_may import EVERYONE, SIGNED_IN
from tests.people.who_may import WHO_MAY as PEOPLE
from tests.plant.who_may import WHO_MAY as PLANT
from tests.records.who_may import WHO_MAY as RECORDS
from tests.work.who_may import WHO_MAY as WORK

WHO_MAY = {**PEOPLE, **PLANT, **WORK, **CALIBRATION, **RECORDS}
BY_ROLE = {name: roles for name, roles in WHO_MAY.items() if roles not in (EVERYONE, SIGNED_IN)}

# What stands in for each named part of an address; nothing of it exists, so an open door finds a 404.
STANDS_FOR = {"reference": "P-404", "machine": "NONE", "token": "0" * 16, "code": "NONE", "ref": "00000000"}


def routes(patterns=None, space="", named=()):
    """Every route as (name, view, the named parts of its address)."""
    for one in get_resolver().url_patterns if patterns is None else patterns:
        parts = (*named, *one.pattern.regex.groupindex)
        if isinstance(one, URLResolver):
            yield from routes(one.url_patterns, one.namespace or space, parts)
        elif isinstance(one, URLPattern):
            given = tuple(part for part in parts if part not in (one.default_args or {}))
            yield f"{space}:{one.name}", (one.callback, given)


ROUTES = dict(routes())


def path(name):
    _, parts = ROUTES[name]
    return reverse(name, kwargs={part: STANDS_FOR.get(part, "1") for part in parts})


def test_every_route_has_a_name_and_a_row_and_every_row_a_route():
    assert set(ROUTES) == set(WHO_MAY)


@pytest.mark.parametrize("name", WHO_MAY)
def test_the_mark_on_the_view_says_what_the_table_says(name):
    expected = {EVERYONE: Door(person=False, site=False), SIGNED_IN: Door(site=False)}.get(
        WHO_MAY[name]
    ) or Door(roles=WHO_MAY[name])
    assert ROUTES[name][0].who_may == expected


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", WHO_MAY)
def test_nobody_is_sent_to_sign_in(name, method, quillfen):
    answer = getattr(Client(), method)(path(name))
    sent = answer.status_code == 302 and answer.url.startswith("/sign-in/?next=")
    assert sent == (WHO_MAY[name] is not EVERYONE)


@pytest.mark.parametrize("role", Role)
def test_a_role_opens_what_the_table_says_and_nothing_else(role, quillfen, signed_in):
    client = signed_in(PersonFactory(site=quillfen, site__role=role))
    for name, roles in BY_ROLE.items():
        for method in ("get", "post"):
            answer = getattr(client, method)(path(name))
            assert (answer.status_code == 403) == (role not in roles), f"{method} {name} as {role}"
            assert answer.status_code < 500, f"{method} {name} as {role}"
