"""A contractor's employer and host: what the officer gives and ends, what pages show and the ledger keeps."""

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.utils.timezone import now

from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.people import actions
from permits.people.models import Hosting, Membership
from permits.people.rules.declined import Declined
from permits.people.rules.roles import Role
from tests.factories_people import HostingFactory, MembershipFactory, PersonFactory

FITTERS = "Harrowmere Fitters"
TOLD = "Our procedures of the saw handed over; theirs read."


def days(count) -> str:
    return (now() + timedelta(days=count)).date().isoformat()


def kinds(person) -> list[str]:
    return list(Entry.objects.filter(about=person.about).order_by("number").values_list("kind", flat=True))


def last(site, kind) -> dict:
    return json.loads(Entry.objects.filter(head=site.head, kind=kind).latest("number").body)["data"]


@pytest.fixture
def as_maud(maud, signed_in) -> Client:
    return signed_in(maud)


@pytest.fixture
def nils(quillfen):
    """A technician from another company, whom nobody hosts yet."""
    return PersonFactory(name="Nils Overbeck", employer=FITTERS, site=quillfen, site__role=Role.TECHNICIAN)


@pytest.fixture
def typed(odo) -> dict:
    return {
        "employer": FITTERS,
        "host": odo.ref,
        "starts_on": days(0),
        "expires_on": days(20),
        "informed": TOLD,
    }


def test_a_contractor_is_given_a_host(as_maud, quillfen, nils, odo, typed):
    assert "A contractor works under no permit" in as_maud.get(f"/people/{nils.ref}/").content.decode()
    assert as_maud.post(f"/people/{nils.ref}/host/", typed).url == f"/people/{nils.ref}/"
    given = Hosting.objects.live().get(person=nils)
    assert (given.site, given.host, given.informed) == (quillfen, odo, TOLD)
    assert last(quillfen, "CONTRACTOR_HOSTED") == {
        "host": odo.ref, "employer": FITTERS, "starts_on": days(0), "expires_on": days(20), "informed": TOLD,
    }  # fmt: skip
    page = as_maud.get(f"/people/{nils.ref}/").content.decode()
    assert "Contractor of Harrowmere Fitters" in page
    assert "Hosted by Odo Kestrelman" in page
    assert TOLD in page
    assert verify(quillfen.head).ok


def test_someone_added_as_an_own_person_becomes_a_contractor_with_the_host(as_maud, quillfen, typed):
    who = PersonFactory(site=quillfen)
    as_maud.post(f"/people/{who.ref}/host/", typed)
    who.refresh_from_db()
    assert who.employer == FITTERS
    assert kinds(who) == ["EMPLOYER_CHANGED", "CONTRACTOR_HOSTED"]


def test_pressed_twice_it_counts_once(as_maud, nils, typed):
    as_maud.post(f"/people/{nils.ref}/host/", typed)
    again = as_maud.post(f"/people/{nils.ref}/host/", typed)
    assert again.status_code == 422
    assert "Odo Kestrelman hosts Nils Overbeck until" in again.content.decode()
    assert kinds(nils) == ["CONTRACTOR_HOSTED"]
    assert Hosting.objects.filter(person=nils).count() == 1


def test_other_days_end_the_hosting_that_stands(as_maud, quillfen, nils, odo, typed):
    as_maud.post(f"/people/{nils.ref}/host/", typed)
    as_maud.post(f"/people/{nils.ref}/host/", typed | {"expires_on": days(90)})
    assert Hosting.objects.live().get(person=nils).expires_on.isoformat() == days(90)
    assert kinds(nils) == ["CONTRACTOR_HOSTED", "HOSTING_ENDED", "CONTRACTOR_HOSTED"]
    assert last(quillfen, "HOSTING_ENDED") == {
        "host": odo.ref, "why": "another host or other days took its place",
    }  # fmt: skip


def test_other_days_leave_no_gap(as_maud, nils, typed):
    as_maud.post(f"/people/{nils.ref}/host/", typed)
    answer = as_maud.post(f"/people/{nils.ref}/host/", typed | {"starts_on": days(5)})
    assert "A first day of today or earlier would be right." in answer.content.decode()
    assert kinds(nils) == ["CONTRACTOR_HOSTED"]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"employer": " "}, "The employer is missing; the company that sends the contractor would be right."),
        ({"host": ""}, "No host is chosen; one of the site’s own people would be right."),
        ({"host": "K7Q2M9XB"}, "This is none of the site’s own people; one of the list would be right."),
        ({"starts_on": ""}, "The first day is missing"),
        ({"expires_on": "soon"}, "This is no date; such as 2026-03-31 would be right."),
        ({"expires_on": "2020-01-01"}, "1 January 2020 is past; a last day that is today or later"),
        ({"starts_on": days(9), "expires_on": days(8)}, "a last day on or after the first would be right."),
        ({"informed": " "}, "What the two employers told each other is missing"),
    ],
)
def test_what_cannot_be_given_says_why_and_keeps_what_was_typed(as_maud, nils, typed, changes, says):
    answer = as_maud.post(f"/people/{nils.ref}/host/", typed | changes)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert ("informed" in changes) or TOLD in page
    assert not kinds(nils)


def test_contractors_and_the_person_themselves_are_not_offered_as_host(as_maud, quillfen, nils, wim, odo):
    page = as_maud.get(f"/people/{nils.ref}/host/").content.decode()
    assert f'value="{odo.ref}"' in page
    assert f'value="{wim.ref}"' not in page
    assert f'value="{nils.ref}"' not in page
    assert FITTERS in page


@pytest.mark.parametrize("who", ["the person", "a contractor", "of another site", "disabled", "who left"])
def test_the_action_refuses_a_host_who_cannot_be(quillfen, fernbrook, nils, wim, maud, who):
    host = {
        "the person": lambda: nils,
        "a contractor": lambda: wim,
        "of another site": lambda: PersonFactory(site=fernbrook),
        "disabled": lambda: PersonFactory(site=quillfen, disabled=True),
        "who left": lambda: PersonFactory(site=quillfen, site__ended=True),
    }[who]()
    with pytest.raises(Declined) as caught:
        actions.host_contractor(
            site=quillfen, person=nils, employer=FITTERS, host=host.ref, starts_on=now().date(),
            expires_on=now().date(), informed=TOLD, by=maud.author, at=now(),
        )  # fmt: skip
    assert caught.value.field == "host"
    assert "would be right" in caught.value.message
    assert not kinds(nils)


def test_nobody_gives_themselves_a_host(as_maud, maud, typed):
    for page, data in (("host/", typed), ("employer/", {"employer": FITTERS}), ("host/end/", {"why": "x"})):
        answer = as_maud.post(f"/people/{maud.ref}/{page}", data)
        assert "Nobody says this about themselves; another safety officer can." in answer.content.decode()


def test_a_hosting_is_ended_with_a_reason_once(as_maud, quillfen, nils, odo, typed):
    as_maud.post(f"/people/{nils.ref}/host/", typed)
    page = f"/people/{nils.ref}/host/end/"
    assert "The reason is missing" in as_maud.post(page, {"why": ""}).content.decode()
    as_maud.post(page, {"why": "the work is done"})
    assert last(quillfen, "HOSTING_ENDED") == {"host": odo.ref, "why": "the work is done"}
    assert not Hosting.objects.live().filter(person=nils).exists()
    again = as_maud.post(page, {"why": "again"})
    assert "Nobody hosts Nils Overbeck at Quillfen Panel Works" in again.content.decode()


# ---- the employer


def test_an_employer_is_named_and_taken_back(as_maud, quillfen, ruben):
    page = f"/people/{ruben.ref}/employer/"
    as_maud.post(page, {"employer": " Harrowmere Fitters "})
    assert last(quillfen, "EMPLOYER_CHANGED") == {"employer": FITTERS}
    assert (
        "works for Harrowmere Fitters already" in as_maud.post(page, {"employer": FITTERS}).content.decode()
    )
    as_maud.post(page, {"employer": ""})
    ruben.refresh_from_db()
    assert not ruben.is_contractor
    assert "is one of the site’s own people already" in as_maud.post(page, {"employer": ""}).content.decode()


def test_a_hosted_contractors_employer_stays(as_maud, wim, fernbrook):
    page = f"/people/{wim.ref}/employer/"
    assert "by Maud Ferrisdale; end that first." in as_maud.post(page, {"employer": ""}).content.decode()
    as_maud.post(f"/people/{wim.ref}/host/end/", {"why": "x"})
    HostingFactory(person=wim, site=fernbrook)
    answer = as_maud.post(page, {"employer": "Oakhaven Assurance"}).content.decode()
    assert "at Fernbrook Joinery; have its safety officer end that first." in answer


def test_who_hosts_does_not_become_a_contractor(maud, torvald, signed_in, wim):
    answer = signed_in(torvald).post(f"/people/{maud.ref}/employer/", {"employer": FITTERS})
    assert "Maud Ferrisdale hosts Wim Ottergaard, and a contractor cannot host" in answer.content.decode()
    maud.refresh_from_db()
    assert not maud.is_contractor


# ---- the list


def test_the_list_shows_employer_host_and_last_day_and_what_is_over_first(as_maud, quillfen, nils, wim):
    nils.name = "Zz Overbeck"
    nils.save()
    HostingFactory(person=nils, site=quillfen, host=PersonFactory(site=quillfen), expired=True)
    page = as_maud.get("/people/").content.decode()
    assert "Contractor of Harrowmere Fitters, hosted by Maud Ferrisdale, until" in page
    assert "expired after 31 December 2020" in page
    assert page.index("Zz Overbeck") < page.index("Wim Ottergaard")


def test_a_host_who_left_is_none(as_maud, quillfen, maud, wim, ilse, signed_in):
    MembershipFactory(person=PersonFactory(), site=quillfen, role=Role.OFFICER)
    Membership.objects.filter(person=maud, site=quillfen).update(ended_at=now())
    for path in ("/people/", f"/people/{wim.ref}/"):
        page = signed_in(ilse).get(path).content.decode()
        assert "who is no longer one of the site’s own people" in page


def test_only_a_contractor_who_may_work_under_permits_is_marked_for_want_of_a_host(as_maud, nils, darya):
    page = as_maud.get("/people/").content.decode()
    assert page.index("Nils Overbeck") < page.index("Odo Kestrelman") < page.index("Дарья Снегова")
