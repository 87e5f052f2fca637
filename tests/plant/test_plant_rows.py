"""What the plant's tables refuse by themselves, whoever writes to them: one test for each constraint."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from permits.plant.models import Link, Machine, Node, PlantState, Procedure, Tag
from tests.factories_plant import CLERK, SEVEN, approved_procedure, officer, site_with, small_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return site_with(small_file())


def refused(change) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        change()


def node(site, **values) -> Node:
    return Node.objects.create(**{"site": site, "code": "NEW", "kind": "carrier"} | values)


@pytest.mark.parametrize(
    "values",
    [
        {"code": "Q1"},
        {"code": ""},
        {"kind": "isolater"},
        {"medium": "electric"},
        {"effort": 0},
        {"effort": 2**53},
        {"danger_area": True},
        {"outfeed": True},
        {"test": {"quantity": "voltage", "unit": "V", "limit": "50"}},
        {"kind": "isolator", "release": {"method": "Wait."}},
        {"grade": "proved"},
        {"out_of_service": True},
        {"lockable": False, "tag_only": {"measure": "Watched."}},
        {"kind": "isolator", "grade": "proven"},
        {"kind": "isolator", "tag_only": {"measure": "Watched."}},
        {"kind": "isolator", "physics": {"kind": "raised", "mass_kg": "180", "height_m": "0.6"}},
    ],
)
def test_a_node_that_makes_no_sense(site, values):
    refused(lambda: node(site, **values))


def test_a_node_may_have_the_code_of_one_that_is_gone(site):
    Node.objects.filter(code="CYL").update(removed_at=SEVEN)
    node(site, code="CYL")
    refused(lambda: node(site, code="CYL"))


@pytest.mark.parametrize("values", [{"code": "M1"}, {"code": ""}, {"name": ""}])
def test_a_machine_without_a_code_or_name_of_its_own(site, values):
    refused(lambda: Machine.objects.create(**{"site": site, "code": "M2", "name": "Lathe"} | values))


def test_a_link_to_itself_or_given_twice(site):
    feed, switch = Node.objects.get(code="FEED"), Node.objects.get(code="Q1")
    refused(lambda: Link.objects.create(site=site, source=feed, target=switch))
    refused(lambda: Link.objects.create(site=site, source=feed, target=feed))


def test_a_plant_has_one_version_from_1_up(site):
    refused(lambda: PlantState.objects.update(version=0))
    refused(lambda: PlantState.objects.create(site=site, version=1, digest="", plant="", changed_at=SEVEN))


def test_a_procedure_is_approved_by_another_and_one_at_a_time(site):
    maud, odo = officer("maud"), officer("odo")
    mill = Machine.objects.get()
    approved = approved_procedure(mill, ("BED",), author=maud, approver=odo)
    refused(lambda: Procedure.objects.filter(pk=approved.pk).update(approver=maud))
    refused(lambda: Procedure.objects.filter(pk=approved.pk).update(approver=None))
    refused(lambda: Procedure.objects.filter(pk=approved.pk).update(state="draft"))
    refused(lambda: Procedure.objects.filter(pk=approved.pk).update(state="good"))
    refused(lambda: Procedure.objects.filter(pk=approved.pk).update(revision=0))
    approved.pk = None
    refused(lambda: approved.save(force_insert=True))
    approved.revision = 2
    refused(lambda: approved.save(force_insert=True))


def test_a_point_has_one_live_tag(site):
    def tag(**values) -> Tag:
        standard = {
            "site": site,
            "node": switch,
            "token": "T" * 16,
            "short_code": "AAAAAA1",
            "issued_at": SEVEN,
        }
        return Tag.objects.create(**standard | values)

    switch = Node.objects.get(code="Q1")
    other = Node.objects.get(code="V1")
    first = tag()
    refused(lambda: tag(token="U" * 16, short_code="BBBBBB1", reissue=1))
    refused(lambda: tag(node=other, short_code="BBBBBB1"))
    refused(lambda: tag(node=other, token="U" * 16))
    refused(lambda: tag(node=other, token="", short_code="BBBBBB1"))
    refused(lambda: tag(node=other, token="U" * 16, short_code=""))
    refused(lambda: Tag.objects.filter(pk=first.pk).update(withdrawn_at=SEVEN - timedelta(seconds=1)))
    Tag.objects.filter(pk=first.pk).update(withdrawn_at=SEVEN)
    refused(lambda: tag(token="U" * 16, short_code="BBBBBB1"))
    tag(token="U" * 16, short_code="BBBBBB1", reissue=1)


def test_what_others_refer_to_is_not_deleted(site):
    assert CLERK.ref
    with pytest.raises(ProtectedError):
        Machine.objects.get().delete()
    with pytest.raises(ProtectedError):
        Node.objects.get(code="Q1").delete()
    with pytest.raises(ProtectedError):
        site.delete()
