"""Asking for a permit: machine, zones, the plan before it is asked for, and the request itself."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from permits.people.rules.roles import Role
from permits.plant.actions import approve_procedure, draft_procedure
from permits.plant.queries import machine_of
from permits.work.models import Permit
from tests.factories_plant import WRITTEN
from tests.work.reading_pages import filled, page_of, send, text_of

CELL = "/permits/new/C1/"
SHOWN = f"{CELL}?show=plan&zones=C1-INFEED&zones=C1-CHAMBER"
GOOD = {"kind_of_work": "Calibration", "reason": "Boards run 2 mm long", "starts_in": "0", "hours": "8"}
BAD = [
    ("reason", "", "Nothing is written; a few words would be right."),
    ("reason", "x" * 501, "501 characters are too many; 500 at most would be right."),
    ("kind_of_work", "Sabotage", "“Sabotage” is not in the list now; choose from the list."),
    ("hours", "", "Nothing is entered; a whole number from 1 to 72 would be right."),
    ("hours", "long", "Not a whole number; a whole number from 1 to 72 would be right."),
    ("hours", "73", "73 is too much; a whole number from 1 to 72 would be right."),
    ("starts_in", "-5", "-5 is too little; a whole number from 0 to 1440 would be right."),
]


@pytest.fixture
def odo(works, phone):
    return phone("odo")


def permits(site) -> list[str]:
    return list(Permit.objects.filter(site=site).order_by("number").values_list("reference", flat=True))


def test_every_machine_of_the_site_is_offered(odo):
    page = text_of(odo.get("/permits/new/"))
    assert all(name in page for name in ("Crosscut cell", "Drilling station", "Panel press", "Stacker"))


def test_a_machine_of_no_site_or_of_another_is_not_found(odo, elsewhere):
    assert odo.get("/permits/new/X9/").status_code == 404
    assert elsewhere(Role.TECHNICIAN).get(CELL).status_code == 404
    assert elsewhere(Role.TECHNICIAN).post(CELL, GOOD).status_code == 404


def test_first_the_zones_are_asked_for_with_the_machines_hazards(odo):
    page = page_of(odo.get(CELL))
    assert page.offers["zones"] == ["C1-INFEED", "C1-CHAMBER", "C1-OUTFEED"]
    assert "C1-PLC" in page.offers["keep_live"]
    assert "Saw blade that coasts for more than two minutes." in page.text
    assert "csrfmiddlewaretoken" not in page.posts  # it is sent by GET, and addresses are read by others


def test_the_plan_is_shown_as_a_list_and_as_a_picture_before_anything_is_asked_for(odo, works):
    before = permits(works)
    answer = odo.get(SHOWN)
    page = page_of(answer)
    where = "Board 3, by column A4, line 3 aisle, panel 2"
    assert f"Lock Cell main disconnector =L3.C1+H3-QB1, {where}" in page.text
    assert "Release Drive DC bus" in page.text
    assert "<svg" in answer.content.decode()
    assert "Crosscut cell: written procedure, revision 1" in page.text
    assert page.posts["zones"] == ["C1-INFEED", "C1-CHAMBER"]
    assert permits(works) == before


def test_the_plan_names_the_permits_that_want_the_same_points(odo):
    page = text_of(odo.get(f"{CELL}?show=plan&zones=C1-OUTFEED"))
    assert "P-1 holds =L3.C1+H4-QB4 Outfeed conveyor disconnector as well" in page
    assert "You agree with Ελένη Δρυμώνα first, who is named on P-1's page." in page


def test_a_change_of_mind_keeps_the_zones_that_were_ticked(odo):
    page = page_of(odo.get(f"{CELL}?zones=C1-CHAMBER&keep_live=C1-PLC"))
    assert page.posts["zones"] == ["C1-CHAMBER"]
    assert page.posts["keep_live"] == ["C1-PLC"]


def test_without_a_zone_there_is_no_plan(odo):
    answer = odo.get(f"{CELL}?show=plan")
    assert answer.status_code == 422
    assert "No zone is named; tick every zone that a body part will be in." in text_of(answer)


def test_a_zone_of_another_machine_is_said_and_the_others_stay_ticked(odo):
    answer = odo.get(f"{CELL}?show=plan&zones=C1-INFEED&zones=P1-BED")
    assert answer.status_code == 422
    page = page_of(answer)
    assert "P1-BED is not a zone of this machine; choose from the list." in page.text
    assert page.posts["zones"] == ["C1-INFEED"]


def test_what_must_stay_live_and_cannot_is_refused_with_the_path(odo):
    answer = odo.get(f"{CELL}?show=plan&zones=C1-CHAMBER&keep_live=C1-M1")
    assert answer.status_code == 409
    page = page_of(answer)
    assert "Saw motor cannot stay live while Saw chamber is isolated." in page.text
    assert "You leave one of the two out of this permit, on this page." in page.text
    assert page.posts["zones"] == ["C1-CHAMBER"]
    assert page.posts["keep_live"] == ["C1-M1"]


def test_asked_for_it_is_the_plan_that_was_shown(odo, works):
    answer = send(odo, SHOWN, **GOOD)
    assert answer.status_code == 302
    row = Permit.objects.get(site=works, reference=answer.url.split("/")[2])
    assert row.zones == ["C1-INFEED", "C1-CHAMBER"]
    assert row.ends_at - row.starts_at == timedelta(hours=8)
    page = text_of(odo.get(answer.url))
    assert "Asked for. An issuer signs it out." in page
    assert "Who can: Szczęsny Żurawicki, თამარ ველისციხელი." in page


def test_asked_for_twice_with_one_key_there_is_one_permit_and_one_page(odo, works):
    typed = filled(odo, SHOWN, **GOOD)
    first = odo.post(CELL, typed)
    after = permits(works)
    second = odo.post(CELL, typed)
    assert first.url == second.url
    assert permits(works) == after


@pytest.mark.parametrize(("field", "typed", "said"), BAD)
def test_bad_input_keeps_the_plan_and_what_was_typed(odo, works, field, typed, said):
    before = permits(works)
    answer = odo.post(CELL, filled(odo, SHOWN, **GOOD) | {field: typed})
    assert answer.status_code == 422
    page = page_of(answer)
    assert said in page.text
    assert "Lock Cell main disconnector" in page.text
    assert page.posts["zones"] == ["C1-INFEED", "C1-CHAMBER"]
    others = {name: [value] for name, value in (GOOD | {field: typed}).items() if name != "kind_of_work"}
    assert {name: page.posts[name] for name in others} == others
    assert permits(works) == before


def test_a_request_whose_zones_did_not_arrive_asks_for_them_again(odo, works):
    answer = odo.post(CELL, filled(odo, SHOWN, **GOOD) | {"zones": ["C1-ROOF"]})
    assert answer.status_code == 422
    page = page_of(answer)
    assert page.offers["zones"] == ["C1-INFEED", "C1-CHAMBER", "C1-OUTFEED"]
    assert page.posts["reason"] == [GOOD["reason"]]


def test_longer_than_the_site_allows_is_refused(odo, works):
    before = permits(works)
    answer = send(odo, SHOWN, **GOOD | {"hours": "13"})
    assert answer.status_code == 409
    page = page_of(answer)
    assert "A permit runs at most 12 hours here (site policy)." in page.text
    assert page.posts["hours"] == ["13"]
    assert permits(works) == before


def test_a_plan_that_is_only_shown_writes_no_entry(odo, job):
    before = len(job.entries())
    for url in (CELL, SHOWN, f"{CELL}?show=plan"):
        odo.get(url)
        odo.head(url)
    assert len(job.entries()) == before


# ── what the procedure keeps live ───────────────────────────────────────────────────────────────────────


@pytest.fixture
def keeps_the_controller(works, person):
    """The crosscut cell's approved procedure keeps the controller live: revision 2."""
    cell = machine_of(works, "C1")
    zones = ["C1-INFEED", "C1-CHAMBER", "C1-OUTFEED"]
    drafted = draft_procedure(
        machine=cell, zones=zones, texts=WRITTEN, keep_live=["C1-PLC"], by=person("maud"), at=now()
    )
    approve_procedure(procedure=drafted, by=person("torvald"), at=now())


WISH = "Revision 2 of the machine's approved procedure keeps live: Cell controller."


def test_what_the_procedure_keeps_live_is_ticked_and_it_is_said_where_that_comes_from(
    odo, works, keeps_the_controller
):
    page = page_of(odo.get(CELL))
    assert page.posts["keep_live"] == ["C1-PLC"]
    assert f"{WISH} Untick what this work does not need." in page.text
    shown = odo.get(f"{CELL}?show=plan&zones=C1-INFEED&keep_live=C1-PLC")
    assert "Stays live: Cell controller" in text_of(shown)
    made = odo.post(CELL, page_of(shown).posts | GOOD)
    assert Permit.objects.get(site=works, reference=made.url.split("/")[2]).keep_live == ["C1-PLC"]


def test_what_someone_cleared_stays_cleared_when_they_change_the_zones(odo, keeps_the_controller):
    assert "keep_live" not in page_of(odo.get(f"{CELL}?zones=C1-INFEED")).posts
    assert "Stays live" not in text_of(odo.get(f"{CELL}?show=plan&zones=C1-INFEED"))


def test_without_a_wish_of_the_procedure_nothing_is_ticked(odo):
    page = page_of(odo.get(CELL))
    assert "keep_live" not in page.posts
    assert "approved procedure keeps live" not in page.text
