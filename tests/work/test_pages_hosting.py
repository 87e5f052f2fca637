"""A contractor on a permit: whose they are and who hosts them stands there, and without a host they wait."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from permits.people.models import Hosting, Membership, Person
from permits.work import store
from permits.work.rules import commands as c
from tests.cast import PIN
from tests.work.reading_pages import send, text_of

HOSTED = "contractor of Harrowmere Fitters, hosted by Maud Ferrisdale"
UNHOSTED = "contractor of Harrowmere Fitters, without a host now"


@pytest.fixture
def signed_on(job, person):
    """Odo and Wim, who is from outside, are signed on."""
    job.to("signed_on")
    job.do(c.SignOnCrew, "wim", padlock="W-1")
    return job


def test_the_rules_see_employer_and_host(works, person):
    wim, maud = store.people_of(works)[person("wim").ref], person("maud")
    row = Hosting.objects.get(person=person("wim"))
    assert wim.employer == "Harrowmere Fitters"
    assert wim.hosting == row.value
    assert (wim.hosting.host, wim.hosting.host_name) == (maud.ref, "Maud Ferrisdale")
    assert (wim.hosting.starts_on, wim.hosting.expires_on) == (row.starts_on, row.expires_on)
    odo = store.people_of(works)[person("odo").ref]
    assert (odo.employer, odo.hosting) == ("", None)


def test_a_hosting_that_was_ended_is_none(works, person):
    Hosting.objects.filter(person=person("wim")).update(ended_at=now())
    assert store.people_of(works)[person("wim").ref].hosting is None


def test_the_permit_says_whose_contractor_and_whose_guest(signed_on, phone):
    page = text_of(phone("odo").get(signed_on.url))
    assert f"Wim Ottergaard ({HOSTED})" in page  # the named crew
    assert page.count(HOSTED) == 2  # and who is signed on
    assert "Odo Kestrelman (" not in page


def test_a_hosting_that_is_over_is_seen_on_the_permit_and_keeps_nobody_inside(
    signed_on, phone, person, works
):
    yesterday = works.day_of(now()) - timedelta(days=1)
    Hosting.objects.filter(person=person("wim")).update(starts_on=yesterday, expires_on=yesterday)
    page = text_of(phone("odo").get(signed_on.url))
    assert page.count(UNHOSTED) == 2
    over = "Wim Ottergaard is a contractor of Harrowmere Fitters, and Maud Ferrisdale was their host until"
    assert "Inside, and may not be any more" in page
    for seen in (page, text_of(phone("maud").get("/board/"))):
        why = seen[seen.index(over) :].split(" They come out and sign off.")[0]
        assert len(why) < len(over) + 60
    assert send(phone("wim"), f"{signed_on.url}sign-off/").status_code == 302
    answer = send(phone("wim"), f"{signed_on.url}sign-on/", padlock="W-1")
    assert answer.status_code == 409
    page = text_of(answer)
    assert (
        "Wim Ottergaard is a contractor of Harrowmere Fitters, and Maud Ferrisdale was their host until"
        in page
    )
    officers = "Maud Ferrisdale, Torvald Eskmoor"
    assert f"A safety officer gives them a host for today, under “People”: {officers}." in page


def test_a_host_whose_role_ended_is_none(signed_on, phone, person):
    Membership.objects.filter(person=person("maud")).update(ended_at=now())
    assert text_of(phone("odo").get(signed_on.url)).count(UNHOSTED) == 2


def test_the_issuer_sees_who_has_no_host_before_choosing(job, phone, person):
    job.to("asked")
    Hosting.objects.filter(person=person("wim")).update(ended_at=now())
    issuer = phone("szczesny")
    assert f"Wim Ottergaard ({UNHOSTED})" in text_of(issuer.get(f"{job.url}issue/"))
    crew = [Person.objects.get(sign_in="wim").ref]
    answer = send(issuer, f"{job.url}issue/", holder=person("odo").ref, crew=crew, pin=PIN["szczesny"])
    assert answer.status_code == 409
    assert "Wim Ottergaard is a contractor of Harrowmere Fitters, and nobody here is their host." in text_of(
        answer
    )


def test_the_issuer_sees_among_whom_to_choose_whose_contractor_and_whose_guest_each_is(job, phone, person):
    job.to("asked")
    page = text_of(phone("szczesny").get(f"{job.url}issue/"))
    assert page.count(f"Wim Ottergaard ({HOSTED})") == 2  # as holder and as crew
    assert "Odo Kestrelman (qualified to test)" in page
    job.to("issued")
    next_door = job.another("P1-BED")
    page = text_of(phone("szczesny").get(f"/permits/{next_door}/issue/"))
    assert f"Wim Ottergaard ({HOSTED}; not authorised for P1)" in page


def test_a_contractor_stands_as_one_among_the_coordinators_too(job, phone):
    job.to("accepted")
    beside = job.another("C1-INFEED")
    assert text_of(phone("szczesny").get(f"/permits/{beside}/issue/")).count(f"Wim Ottergaard ({HOSTED}") == 3
