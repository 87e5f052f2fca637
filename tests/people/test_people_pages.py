"""The people of a site: the list, a person, adding, roles, authorisations, accounts."""

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.utils.timezone import now

from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.people import machines
from permits.people.models import Authorisation, Membership, Person
from permits.people.rules.roles import Role
from tests.cast import PASSWORD
from tests.factories_people import AuthorisationFactory, MembershipFactory, PersonFactory

NEW = {"name": "Νίκη Ω", "sign_in": "niki", "role": "technician", "email": "", "employer": ""}


@pytest.fixture
def as_ilse(ilse, signed_in) -> Client:
    return signed_in(ilse)


@pytest.fixture
def as_maud(maud, signed_in) -> Client:
    return signed_in(maud)


@pytest.fixture(autouse=True)
def known(monkeypatch):
    there = [("C1", "Crosscut cell"), ("K4", "Stacker"), ("P1", "Panel press")]
    monkeypatch.setattr(machines, "known_machines", lambda site: there)


def last(site, kind) -> dict:
    return json.loads(Entry.objects.filter(head=site.head, kind=kind).latest("number").body)


def days(count) -> str:
    return (now() + timedelta(days=count)).date().isoformat()


# ---- the list and the page


def test_the_list_shows_expired_first_then_expiring(as_maud):
    page = as_maud.get("/people/").content.decode()
    order = [page.index(name) for name in ("Ruben Aldercott", "Odo Kestrelman", "Ελένη Δρυμώνα")]
    assert order == sorted(order)
    assert "თამარ ველისციხელი" in page
    assert "Szczęsny Żurawicki" in page
    assert "Add a person" not in page


def test_somebody_who_left_is_last_and_somebody_elsewhere_is_not_there(as_ilse, quillfen, fernbrook):
    PersonFactory(name="Aa Left", site=quillfen, site__ended=True)
    PersonFactory(name="Aa Elsewhere", site=fernbrook)
    page = as_ilse.get("/people/").content.decode()
    assert page.index("Aa Left") > page.index("თამარ ველისციხელი")
    assert "no role now" in page
    assert "Aa Elsewhere" not in page


def test_the_list_costs_the_same_with_fifty(as_maud, quillfen, django_assert_num_queries):
    for _ in range(50):
        AuthorisationFactory(person=PersonFactory(site=quillfen), site=quillfen)
    with django_assert_num_queries(8):  # who is asking 3, every page 2, roles, authorisations, hosts
        as_maud.get("/people/")


def test_a_replaced_authorisation_is_not_shown_as_expired(as_maud, quillfen):
    person = PersonFactory(site=quillfen)
    AuthorisationFactory(person=person, site=quillfen, expired=True)
    AuthorisationFactory(person=person, site=quillfen)
    assert "expired after" not in as_maud.get(f"/people/{person.ref}/").content.decode()


def test_a_persons_page_offers_what_the_role_may_do(as_ilse, as_maud, darya, signed_in, odo):
    administrator, officer, auditor = (
        client.get(f"/people/{odo.ref}/").content.decode() for client in (as_ilse, as_maud, signed_in(darya))
    )
    assert "Give a role" in administrator
    assert "Authorise for a machine" not in administrator
    assert "Authorise for a machine" in officer
    assert "Give a role" not in officer
    assert not any(word in auditor for word in ("Give a role", "Authorise for", "Reset the PIN", "Withdraw"))


def test_a_reference_may_be_typed_in_small_letters(as_maud, odo):
    assert as_maud.get(f"/people/{odo.ref.lower()}/").status_code == 200


def test_an_unknown_reference_is_not_found(as_maud):
    assert as_maud.get("/people/00000000/").status_code == 404


def test_a_name_cannot_smuggle_markup(as_maud, quillfen):
    PersonFactory(name="<script>x</script>", site=quillfen)
    assert "<script>x" not in as_maud.get("/people/").content.decode()


# ---- adding


def test_a_person_is_added_with_a_first_password_shown_once(as_ilse, quillfen):
    answer = as_ilse.post("/people/add/", NEW)
    first = answer.context["first_password"]
    assert first in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
    person = Person.objects.get(sign_in="niki")
    assert person.check_password(first)
    assert person.password_is_first
    assert [one.kind for one in person.memberships.all()] == [Role.TECHNICIAN]
    newcomer = Client()
    newcomer.post("/sign-in/", {"sign_in": "niki", "password": first})
    assert newcomer.get("/me/").url == "/me/password/"


def test_the_ledger_has_the_reference_and_the_digest_and_never_the_name(as_ilse, quillfen, ilse):
    as_ilse.post("/people/add/", NEW)
    person = Person.objects.get(sign_in="niki")
    entry = last(quillfen, "PERSON_ADDED")
    assert entry["about"] == person.about == f"person:{person.ref}"
    assert entry["data"] == {"digest": person.name_digest}
    assert (entry["by"], entry["by_digest"]) == (ilse.about, ilse.name_digest)
    assert last(quillfen, "ROLE_GRANTED")["data"] == {"role": "technician"}
    bodies = "".join(Entry.objects.values_list("body", flat=True))
    assert not any(word in bodies for word in ("Νίκη", "niki", "Kestrelman", "quillfen.example"))
    assert verify(quillfen.head).ok


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"name": ""}, "The name is missing; the one by which colleagues know the person would be right."),
        ({"name": "  "}, "The name is missing"),
        ({"sign_in": "odo"}, "The sign-in name &#x27;odo&#x27; is taken; another one would be right."),
        ({"sign_in": "Odo"}, "is taken"),
        ({"sign_in": "n i"}, "A sign-in name is letters a to z, digits, dots and hyphens"),
        ({"email": "niki"}, "This is no e-mail address; such as m.tarn@plant.example would be right."),
        ({"role": "boss"}, "There is no such role; one of the list would be right."),
        ({"role": ""}, "No role is chosen; one of the list would be right."),
    ],
)
def test_what_cannot_be_added_says_why_and_keeps_what_was_typed(as_ilse, changes, says):
    answer = as_ilse.post("/people/add/", NEW | {"employer": "Harrowmere Fitters"} | changes)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert 'value="Harrowmere Fitters"' in page
    assert not Person.objects.filter(employer="Harrowmere Fitters", name="Νίκη Ω").exists()


def test_someone_known_at_another_site_keeps_the_account(as_ilse, fernbrook, quillfen):
    person = PersonFactory(sign_in="nils", site=fernbrook)
    answer = as_ilse.post("/people/join/", {"ref": person.ref.lower(), "sign_in": "Nils", "role": "auditor"})
    assert answer.url == f"/people/{person.ref}/"
    assert Membership.objects.live().filter(person=person, site=quillfen, role=Role.AUDITOR).exists()


@pytest.mark.parametrize(
    ("ref", "says"),
    [
        ("K7Q2M9XB", "Nobody has the reference K7Q2M9XB and this sign-in name"),
        ("K7", "A reference is eight letters"),
    ],
)
def test_someone_unknown_cannot_be_joined(as_ilse, ref, says):
    answer = as_ilse.post("/people/join/", {"ref": ref, "sign_in": "odo", "role": "auditor"})
    assert answer.status_code == 422
    assert says in answer.content.decode()


# ---- roles


def test_a_role_is_given_and_ended(as_ilse, quillfen, odo):
    as_ilse.post(f"/people/{odo.ref}/roles/give/", {"role": "issuer"})
    assert Membership.objects.live().filter(person=odo, role=Role.ISSUER).exists()
    as_ilse.post(f"/people/{odo.ref}/roles/end/", {"role": "issuer"})
    assert not Membership.objects.live().filter(person=odo, role=Role.ISSUER).exists()
    assert last(quillfen, "ROLE_ENDED")["data"] == {"role": "issuer"}


def test_a_role_that_is_held_cannot_be_given_again(as_ilse, odo):
    answer = as_ilse.post(f"/people/{odo.ref}/roles/give/", {"role": "technician"})
    assert answer.status_code == 422
    assert "Odo Kestrelman has this role already" in answer.content.decode()


def test_a_role_that_is_not_held_cannot_be_ended(as_ilse, odo):
    answer = as_ilse.post(f"/people/{odo.ref}/roles/end/", {"role": "auditor"})
    assert "Odo Kestrelman does not have this role" in answer.content.decode()


def test_the_last_administrator_stays(as_ilse, ilse, quillfen):
    answer = as_ilse.post(f"/people/{ilse.ref}/roles/end/", {"role": "administrator"})
    assert "Quillfen Panel Works would be left without an administrator" in answer.content.decode()
    MembershipFactory(person=PersonFactory(disabled=True), site=quillfen, role=Role.ADMINISTRATOR)
    assert as_ilse.post(f"/people/{ilse.ref}/roles/end/", {"role": "administrator"}).status_code == 422
    MembershipFactory(person=PersonFactory(), site=quillfen, role=Role.ADMINISTRATOR)
    assert as_ilse.post(f"/people/{ilse.ref}/roles/end/", {"role": "administrator"}).status_code == 302


# ---- authorisations


def test_an_authorisation_is_given(as_maud, quillfen, wim):
    data = {"machine": "P1", "qualified": "on", "starts_on": days(0), "expires_on": days(300)}
    assert as_maud.post(f"/people/{wim.ref}/authorisations/give/", data).url == f"/people/{wim.ref}/"
    given = Authorisation.objects.get(person=wim, machine="P1")
    assert given.qualified
    assert last(quillfen, "AUTHORISED")["data"] == {
        "machine": "P1",
        "qualified": True,
        "starts_on": days(0),
        "expires_on": days(300),
    }


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"machine": "Z9"}, "There is no machine “Z9” at Quillfen Panel Works; known here: C1, K4, P1."),
        ({"machine": ""}, "No machine is chosen; known here: C1, K4, P1."),
        ({"starts_on": "tomorrow"}, "This is no date; such as 2026-03-01 would be right."),
        ({"expires_on": ""}, "The last day is missing"),
        (
            {"expires_on": "2020-01-01"},
            "1 January 2020 is past; a last day that is today or later would be right.",
        ),
        ({"starts_on": days(9), "expires_on": days(8)}, "a last day on or after the first would be right."),
    ],
)
def test_an_authorisation_that_cannot_be_given_says_why(as_maud, wim, changes, says):
    data = {"machine": "P1", "starts_on": days(0), "expires_on": days(300)} | changes
    answer = as_maud.post(f"/people/{wim.ref}/authorisations/give/", data)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Authorisation.objects.filter(person=wim, machine="P1").exists()


def test_what_was_typed_stays(as_maud, wim):
    data = {"machine": "P1", "qualified": "on", "starts_on": days(3), "expires_on": "never"}
    page = as_maud.post(f"/people/{wim.ref}/authorisations/give/", data).content.decode()
    assert days(3) in page
    assert 'value="never"' in page
    assert "checked" in page
    assert 'value="P1" selected' in page


def test_the_same_authorisation_cannot_be_given_twice(as_maud, wim):
    data = {"machine": "P1", "starts_on": days(0), "expires_on": days(300)}
    as_maud.post(f"/people/{wim.ref}/authorisations/give/", data)
    answer = as_maud.post(f"/people/{wim.ref}/authorisations/give/", data)
    assert "withdraw that one first, or give another first day" in answer.content.decode()


def test_nobody_authorises_themselves(as_maud, maud):
    data = {"machine": "K4", "starts_on": days(0), "expires_on": days(300)}
    answer = as_maud.post(f"/people/{maud.ref}/authorisations/give/", data)
    assert "Nobody authorises themselves; another safety officer can." in answer.content.decode()


def test_an_authorisation_is_withdrawn_with_a_reason(as_maud, quillfen, odo):
    held = Authorisation.objects.get(person=odo, machine="C1")
    page = f"/people/{odo.ref}/authorisations/{held.pk}/withdraw/"
    assert "The reason is missing" in as_maud.post(page, {"why": ""}).content.decode()
    as_maud.post(page, {"why": "moved to another line"})
    held.refresh_from_db()
    assert held.withdrawn
    assert last(quillfen, "AUTHORISATION_WITHDRAWN")["data"]["why"] == "moved to another line"
    assert "was withdrawn already" in as_maud.post(page, {"why": "again"}).content.decode()


def test_an_authorisation_of_another_site_or_person_is_not_found(as_maud, odo, wim, fernbrook):
    own = Authorisation.objects.get(person=odo, machine="C1")
    elsewhere = AuthorisationFactory(person=odo, site=fernbrook)
    assert as_maud.get(f"/people/{odo.ref}/authorisations/{elsewhere.pk}/withdraw/").status_code == 404
    assert as_maud.get(f"/people/{wim.ref}/authorisations/{own.pk}/withdraw/").status_code == 404


# ---- accounts


def test_a_pin_is_reset_by_officer_and_administrator(as_maud, as_ilse, odo, eleni):
    as_maud.post(f"/people/{odo.ref}/pin-reset/", {"why": "forgotten"})
    as_ilse.post(f"/people/{eleni.ref}/pin-reset/", {"why": "forgotten"})
    odo.refresh_from_db()
    eleni.refresh_from_db()
    assert (odo.has_pin, eleni.has_pin) == (False, False)


def test_a_forgotten_password_is_replaced_by_a_first_one(as_ilse, odo, signed_in):
    session = signed_in(odo)
    answer = as_ilse.post(f"/people/{odo.ref}/password-reset/")
    assert Person.objects.get(pk=odo.pk).check_password(answer.context["first_password"])
    assert session.get("/me/").status_code == 302
    assert Client().post("/sign-in/", {"sign_in": "odo", "password": PASSWORD["odo"]}).status_code == 422


def test_ones_own_password_is_not_reset(as_ilse, ilse):
    answer = as_ilse.post(f"/people/{ilse.ref}/password-reset/")
    assert answer.status_code == 422
    assert "Your own password is changed on your own page." in answer.content.decode()


def test_a_changed_name_is_an_entry_with_the_new_digest(as_ilse, quillfen, odo):
    before = odo.name_digest
    as_ilse.post(f"/people/{odo.ref}/name/", {"name": "Odo Kestrelman-Vale"})
    odo.refresh_from_db()
    assert odo.name == "Odo Kestrelman-Vale"
    assert last(quillfen, "NAME_CHANGED")["data"] == {"digest": odo.name_digest, "previous": before}
    page = as_ilse.post(f"/people/{odo.ref}/name/", {"name": "Odo Kestrelman-Vale"}).content.decode()
    assert "This is the name already" in page


def test_disabling_and_enabling(as_ilse, ilse, quillfen, odo):
    as_ilse.post(f"/people/{odo.ref}/disable/", {"why": "left the company"})
    assert last(quillfen, "PERSON_DISABLED")["data"] == {"why": "left the company"}
    assert "is disabled already" in as_ilse.post(f"/people/{odo.ref}/disable/", {"why": "x"}).content.decode()
    as_ilse.post(f"/people/{odo.ref}/enable/", {"why": "came back"})
    assert "is not disabled" in as_ilse.post(f"/people/{odo.ref}/enable/", {"why": "x"}).content.decode()
    answer = as_ilse.post(f"/people/{ilse.ref}/disable/", {"why": "x"})
    assert "You cannot disable yourself" in answer.content.decode()


def test_the_last_administrator_of_another_site_is_not_disabled_from_here(as_ilse, quillfen, fernbrook):
    person = PersonFactory(site=quillfen)
    MembershipFactory(person=person, site=fernbrook, role=Role.ADMINISTRATOR)
    page = as_ilse.post(f"/people/{person.ref}/disable/", {"why": "x"}).content.decode()
    assert "Fernbrook Joinery would be left without an administrator" in page
