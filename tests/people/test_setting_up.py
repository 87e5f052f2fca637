"""A new site, its first administrator, and the people file."""

from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command

from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.people import actions, machines
from permits.people.models import Authorisation, Hosting, Membership, Person, Site
from permits.people.rules.peoplefile import PeopleFileErrors
from permits.people.rules.roles import Role
from tests.cast import DOCUMENT, PASSWORD, PIN
from tests.factories_people import PersonFactory

AT = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)


@pytest.fixture(autouse=True)
def no_plant(monkeypatch):
    monkeypatch.setattr(machines, "known_machines", None)


def counts():
    return [model.objects.count() for model in (Person, Membership, Authorisation, Hosting, Entry)]


def test_loading_twice_adds_nothing(quillfen):
    before = counts()
    loaded = actions.load_people(quillfen, DOCUMENT, actions.SETUP, AT)
    assert counts() == before
    assert (len(loaded.people), loaded.added) == (len(DOCUMENT["people"]), 0)


def test_loaded_people_can_sign_in_and_sign(quillfen):
    for name in PASSWORD:
        person = actions.sign_in(name=name, password=PASSWORD[name], at=AT)
        actions.check_pin(person, PIN[name], site=quillfen, at=AT)
        assert not person.password_is_first


def test_loading_gives_what_is_missing_and_leaves_what_was_ended(quillfen, ilse, odo):
    actions.end_role(site=quillfen, person=odo, role=Role.TECHNICIAN, by=ilse.author, at=AT)
    Authorisation.objects.filter(person=odo, machine="P1").delete()
    odo.set_password("something-of-their-own")
    odo.save()
    actions.load_people(quillfen, DOCUMENT, actions.SETUP, AT)
    assert not Membership.objects.live().filter(person=odo).exists()
    assert Authorisation.objects.filter(person=odo, machine="P1").exists()
    odo.refresh_from_db()
    assert odo.check_password("something-of-their-own")


def test_a_machine_that_the_plant_does_not_have_is_an_error_and_nothing_is_loaded(fernbrook, monkeypatch):
    monkeypatch.setattr(machines, "known_machines", lambda site: [("C1", "Crosscut cell")])
    with pytest.raises(PeopleFileErrors, match="There is no machine 'P1' at Fernbrook Joinery"):
        actions.load_people(fernbrook, DOCUMENT, actions.SETUP, AT)
    assert counts() == [0, 0, 0, 0, 0]


def test_the_demo_plants_contractor_has_a_host_and_one_that_was_ended_stays_so(quillfen, wim, maud):
    held = Hosting.objects.get(person=wim)
    assert (held.host, held.site) == (maud, quillfen)
    actions.end_hosting(site=quillfen, person=wim, why="work is done", by=maud.author, at=AT)
    before = counts()
    actions.load_people(quillfen, DOCUMENT, actions.SETUP, AT)
    assert counts() == before
    Hosting.objects.all().delete()
    actions.load_people(quillfen, DOCUMENT, actions.SETUP, AT)
    assert Hosting.objects.live().get(person=wim).host == maud


@pytest.mark.parametrize("host", ["nobody", "out"])
def test_a_host_who_is_none_of_the_sites_own_people_is_an_error_and_nothing_is_loaded(quillfen, host):
    PersonFactory(sign_in="out", site=quillfen, employer="Harrowmere Fitters")
    new = {
        "sign_in": "new", "name": "New", "roles": ["technician"], "password": "fifteen-letters",
        "employer": "Harrowmere Fitters", "host": host, "hosted_until": 5, "informed": "told",
    }  # fmt: skip
    before = counts()
    with pytest.raises(
        PeopleFileErrors, match=f"'new'.*: host '{host}' is none of the own people of Quillfen"
    ):
        actions.load_people(quillfen, {"people": [new]}, actions.SETUP, AT)
    assert counts() == before
    actions.load_people(quillfen, {"people": [new | {"host": "maud"}]}, actions.SETUP, AT)
    assert Hosting.objects.get(person__sign_in="new").host.sign_in == "maud"


def test_the_ledger_of_a_new_site_begins_with_the_site_and_verifies(quillfen):
    assert Entry.objects.filter(head=quillfen.head).earliest("number").kind == "SITE_ADDED"
    assert verify(quillfen.head).ok


@pytest.mark.parametrize(
    ("code", "timezone", "says"),
    [
        (
            "quillfen",
            "UTC",
            "'quillfen' is not 1 to 16 capitals and digits; such as QUILLFEN would be right.",
        ),
        ("A" * 17, "UTC", "not 1 to 16 capitals"),
        ("", "UTC", "not 1 to 16 capitals"),
        (
            "A1",
            "Middle/Earth",
            "'Middle/Earth' is no known time zone; such as Europe/London or UTC would be right.",
        ),
        ("QUILLFEN", "UTC", "There is a site QUILLFEN already"),
    ],
)
def test_a_site_that_cannot_be_set_up_says_why(quillfen, code, timezone, says):
    with pytest.raises(actions.Declined, match=says):
        actions.add_site(code=code, name="X", timezone=timezone, by=actions.SETUP, at=AT)


def test_the_days_of_a_site_are_those_of_its_time_zone(fernbrook):
    fernbrook.timezone = "Pacific/Auckland"
    assert fernbrook.day_of(datetime(2026, 11, 25, 12, tzinfo=UTC)).isoformat() == "2026-11-26"


def test_a_site_is_set_up_from_the_command_line(db, capsys):
    options = {"sign_in": "m.tarn", "administrator": "Mo Tarn", "timezone": "Europe/Dublin"}
    call_command("add_site", "TARN", "Tarn Works", **options)
    printed = capsys.readouterr().out
    person = Person.objects.get(sign_in="m.tarn")
    password = printed.split(" with ")[1].split()[0]
    assert person.check_password(password)
    assert person.password_is_first
    assert Site.objects.get(code="TARN").timezone == "Europe/Dublin"
    with pytest.raises(CommandError, match="There is a site TARN already"):
        call_command("add_site", "TARN", "Tarn Works", **options)


def test_a_set_up_that_failed_on_the_person_can_be_repeated(db, capsys):
    options = {"administrator": "Mo Tarn", "timezone": "UTC"}
    with pytest.raises(CommandError, match="sign-in name is letters"):
        call_command("add_site", "TARN", "Tarn Works", sign_in="m tarn", **options)
    call_command("add_site", "TARN", "Tarn Works", sign_in="m.tarn", **options)
    assert Membership.objects.get().kind is Role.ADMINISTRATOR
