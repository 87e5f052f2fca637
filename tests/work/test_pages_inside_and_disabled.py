"""Whoever is inside can say that they are out: meanwhile nobody disables them or ends their last role."""

import pytest

from permits.ledger.models import Entry
from permits.people.models import Membership, Person
from permits.people.rules.roles import Role
from permits.work.models import CrewSignOn
from tests.work.reading_pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def administrator(works, phone):
    found = Membership.objects.live().get(site=works, role=Role.ADMINISTRATOR)
    return phone(found.person.sign_in)


def disable(administrator, person):
    return administrator.post(f"/people/{person.ref}/disable/", {"why": "left the company"})


def test_who_is_inside_is_not_disabled(job, administrator, person):
    job.to("signed_on")
    last = job.entries()[-1]
    answer = disable(administrator, person("odo"))
    assert answer.status_code == 422
    said = text_of(answer)
    assert f"{person('odo').name} is signed on under {job.id} at {job.site.name}" in said
    assert "They sign off first; where they cannot be found, an officer" in said
    assert "left the company" in answer.content.decode(), "what was typed is kept"
    assert person("odo").is_active
    assert job.entries()[-1] == last


def test_who_came_out_can_be_disabled_and_locks_do_not_hinder_it(job, administrator, person):
    job.to("signed_off")
    assert not CrewSignOn.objects.filter(person=person("odo").ref, off_at=None).exists()
    assert disable(administrator, person("odo")).status_code == 302
    assert not Person.objects.get(sign_in="odo").is_active


def test_the_last_role_of_who_is_inside_is_not_ended_and_any_other_is(job, administrator, works, person):
    job.to("signed_on")
    odo = person("odo")
    Membership.objects.create(person=odo, site=works, role=Role.AUDITOR, granted_at=job.at)
    roles = Membership.objects.live().filter(person=odo)
    assert {one.role for one in roles} == {Role.TECHNICIAN, Role.AUDITOR}
    end = f"/people/{odo.ref}/roles/end/"
    assert administrator.post(end, {"role": Role.AUDITOR.value}).status_code == 302
    answer = administrator.post(end, {"role": Role.TECHNICIAN.value})
    assert answer.status_code == 422
    assert f"is signed on under {job.id}" in text_of(answer)
    assert [one.role for one in roles.all()] == [Role.TECHNICIAN]
    assert Entry.objects.filter(head=works.head_id, kind="ROLE_ENDED").count() == 1
