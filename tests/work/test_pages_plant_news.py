"""The plant or a procedure changed while a page that shows the plan lay open: it is looked at anew."""

import pytest

from permits.ledger.models import Entry
from permits.people.models import Person
from permits.plant import actions as plant_actions
from permits.plant.models import Machine
from permits.plant.rules.noderows import write_node
from permits.plant.store import plant_file_of
from permits.work.models import Permit
from tests.factories_plant import WRITTEN
from tests.work.every_form import FORMS
from tests.work.reading_pages import filled, page_of, text_of

pytestmark = pytest.mark.django_db


def opened(job, phone, name):
    form = FORMS[name]
    job.to(form.stage)
    client, url = phone(form.who), f"{job.url}{name}/"
    return client, url, filled(client, url, **form.typed(job))


def last_at(job):
    return Entry.objects.filter(head=job.site.head_id).latest("number").at


def another_voltage(job, code="C1-QB1"):
    node = write_node(plant_file_of(job.site).graph[code])
    node["label"] += ", 690 V"
    by = Person.objects.get(sign_in="maud").author
    plant_actions.save_node(site=job.site, node=node, by=by, at=last_at(job))


def second_revision(job):
    maud, torvald = (Person.objects.get(sign_in=name) for name in ("maud", "torvald"))
    machine = Machine.objects.get(site=job.site, code="C1")
    before = machine.procedures.get(state="approved")
    drafted = plant_actions.draft_procedure(
        machine=machine, zones=tuple(before.zones), texts=WRITTEN, by=maud, at=last_at(job)
    )
    plant_actions.approve_procedure(procedure=drafted, by=torvald, at=last_at(job))
    return drafted


def refused(answer, says):
    assert answer.status_code == 409, text_of(answer)
    page = page_of(answer)
    assert answer.context["refusal"].codes == {"page-stale"}
    assert says in page.text
    assert "Since this page was shown" in page.text
    return page


def test_a_procedure_approved_meanwhile_is_seen_before_the_permit_is_issued_under_it(job, phone):
    client, url, typed = opened(job, phone, "issue")
    drafted = second_revision(job)
    says = f"Revision {drafted.revision} of the procedure of C1 was approved by Torvald"
    page = refused(client.post(url, typed), says)
    assert Permit.objects.get(reference=job.id).procedures == []
    again = client.post(url, typed | {"seen": page.posts["seen"], "key": page.posts["key"]})
    assert again.status_code == 302, text_of(again)
    assert ["C1", drafted.revision] in Permit.objects.get(reference=job.id).procedures


@pytest.mark.parametrize("name", ["issue", "accept", "sanction"])
def test_a_point_changed_meanwhile_is_seen_before_the_plan_is_signed(job, phone, name):
    client, url, typed = opened(job, phone, name)
    another_voltage(job)
    page = refused(client.post(url, typed), "The plant was changed (")
    assert "690 V" in page.text
    again = client.post(url, typed | {"seen": page.posts["seen"], "key": page.posts["key"]})
    assert again.status_code == 302, text_of(again)


def test_a_change_that_the_plan_does_not_show_stops_nobody(job, phone):
    client, url, typed = opened(job, phone, "accept")
    another_voltage(job, "D1-SPIN")
    assert client.post(url, typed).status_code == 302
