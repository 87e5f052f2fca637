"""The people of the demo plant by name, as fixtures; loaded from the file that the demo loads."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.kept import STILL_NEW_S, kept

FILE = Path(__file__).parent.parent / "fixtures" / "quillfen-people.json"
DOCUMENT = json.loads(FILE.read_text(encoding="utf-8"))
PASSWORD = {row["sign_in"]: row["password"] for row in DOCUMENT["people"]}
PIN = {row["sign_in"]: row["pin"] for row in DOCUMENT["people"]}


def with_people(at):
    """The demo plant's site since the new year, its people since `at`; its machines come before or after."""
    from permits.people import machines
    from permits.people.actions import SETUP, add_site, load_people

    began = datetime(2026, 1, 2, tzinfo=UTC)
    site = add_site(
        code="QUILLFEN", name="Quillfen Panel Works", timezone="Europe/London", by=SETUP, at=began
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(machines, "known_machines", None)
        load_people(site, DOCUMENT, SETUP, at)
    return site


@pytest.fixture
def quillfen(db):
    """The demo plant's site, with its people as of now; its machines can be imported before or after."""
    from django.utils.timezone import now

    return kept("the people of the demo plant", lambda: with_people(now()), good_for=STILL_NEW_S)


@pytest.fixture
def fernbrook(db):
    """Another site, with nobody of the demo plant."""
    from tests.factories_people import SiteFactory

    return SiteFactory(code="FERNBROOK", name="Fernbrook Joinery", timezone="UTC")


def _person(sign_in: str, who: str):
    @pytest.fixture(name=sign_in)
    def person(quillfen):
        from permits.people.models import Person

        return Person.objects.get(sign_in=sign_in)

    person.__doc__ = who
    return person


ilse = _person("ilse", "administrator")
maud = _person("maud", "safety officer")
torvald = _person("torvald", "second safety officer")
szczesny = _person("szczesny", "issuer, day shift")
tamar = _person("tamar", "issuer, late shift")
odo = _person("odo", "technician, qualified for every machine")
eleni = _person("eleni", "technician, qualified for C1 and K4")
ruben = _person("ruben", "technician, authorised for C1 and P1, expired for D1, not qualified")
wim = _person("wim", "helper, authorised for C1, not qualified")
pia = _person("pia", "operator, affected")
darya = _person("darya", "auditor")
