"""The demo plant at its site, for the pages; its procedure and its tags where a test asks for them."""

import json
from uuid import uuid4

import pytest

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant import queries
from permits.plant.actions import draft_procedure, import_plant, issue_tags
from tests import factories_plant
from tests.factories_plant import CLERK, SAW_ZONES, SEVEN, WRITTEN
from tests.kept import kept


@pytest.fixture
def works(quillfen) -> Site:
    """The demo site with the demo plant, and nothing written or issued yet."""

    def with_plant() -> Site:
        import_plant(site=quillfen, plant_file=factories_plant.quillfen(), by=CLERK, at=SEVEN)
        return quillfen

    return kept("the demo plant imported", with_plant)


@pytest.fixture
def cell(works):
    """The crosscut cell."""
    return queries.machine_of(works, "C1")


@pytest.fixture
def written(cell, maud, torvald):
    """Revision 1 of the cell's procedure, written by Maud and approved by Torvald."""
    return factories_plant.approved_procedure(cell, SAW_ZONES, author=maud, approver=torvald)


@pytest.fixture
def draft(written, cell, maud):
    """Revision 2, a draft by Maud that says one thing otherwise."""
    texts = WRITTEN | {"shutdown": "In words: how the machine is stopped at the end of a shift."}
    return draft_procedure(machine=cell, zones=SAW_ZONES, texts=texts, by=maud, at=SEVEN)


@pytest.fixture
def tagged(works):
    """The site with a tag at each of its points."""
    nodes = [point.node for point in queries.points(works)]
    kept("its points tagged", lambda: issue_tags(site=works, nodes=nodes, by=CLERK, at=SEVEN))
    return works


@pytest.fixture
def as_maud(works, maud, signed_in):
    return signed_in(maud)


@pytest.fixture
def as_torvald(works, torvald, signed_in):
    return signed_in(torvald)


@pytest.fixture
def as_odo(works, odo, signed_in):
    return signed_in(odo)


@pytest.fixture
def elsewhere(works, fernbrook, signed_in):
    """A browser of a safety officer of another site."""
    from permits.people.rules.roles import Role
    from tests.factories_people import PersonFactory

    return signed_in(PersonFactory(site=fernbrook, site__role=Role.OFFICER))


@pytest.fixture
def keyed():
    """keyed(name=…): what a form posts, with a key of its own."""
    return lambda **data: {"key": str(uuid4())} | data


@pytest.fixture
def entries(works):
    """entries(kind): the data of the site's entries of a kind, in order."""

    def of_kind(kind: str) -> list[dict]:
        found = Entry.objects.filter(head=works.head, kind=kind).order_by("number")
        return [json.loads(entry.body)["data"] for entry in found]

    return of_kind
