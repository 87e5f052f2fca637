"""Trying a plan, and the report on what the plant's description says."""

from django.urls import reverse
from django.utils.timezone import now

from permits.plant.actions import save_link, save_machine, save_node
from tests.factories_plant import CLERK

AT_CELL = reverse("plant:plan", args=["C1"])
AT_DRILLS = reverse("plant:plan", args=["D1"])
DONE = {"by": CLERK}


def text_of(answer) -> str:
    return answer.content.decode()


def test_opened_it_shows_the_plan_for_every_zone_of_the_machine(as_maud):
    answer = as_maud.get(AT_CELL)
    page = text_of(answer)
    assert [step.name for step in answer.context["tried"].steps][:2] == [
        "Cell main disconnector", "Cell standby feed disconnector",
    ]  # fmt: skip
    assert "8 points, effort 10" in page
    assert "to be locked" in page
    assert '<svg class="ep ep-' in page


def test_one_zone_has_a_plan_of_its_own(as_maud):
    answer = as_maud.get(AT_CELL + "?zone=C1-OUTFEED")
    assert {step.name for step in answer.context["tried"].steps} >= {"Outfeed conveyor disconnector"}
    assert answer.context["tried"].effort < 10


def test_what_else_a_plan_stops_is_said(as_maud, works):
    for id in ("C1-QB1", "C1-QB2", "C1-QB3", "C1-QM1"):
        works_node = {"id": id, "kind": "carrier", "machine": "C1"}
        save_node(site=works, node=works_node, at=now(), **DONE)
    page = text_of(as_maud.get(AT_CELL))
    assert "It also takes the energy from" in page
    assert "a part of P1" in page or "Press bed (P1)" in page


def test_a_plan_that_keeps_something_live(as_maud):
    answer = as_maud.get(AT_CELL + "?zone=C1-OUTFEED&keep=C1-PLC&asked=1")
    assert answer.context["tried"].found
    assert " open><summary>Something must stay live" in text_of(answer)


def test_what_cannot_stay_live_is_named_with_the_path(as_maud):
    page = text_of(as_maud.get(AT_DRILLS + "?zone=D1-CABINET&keep=D1-SOCKET"))
    assert "No plan" in page
    assert (
        "Cabinet lamp and socket cannot stay live while Inside the drilling station&#x27;s cabinet is" in page
    )
    assert "<li>Lighting and socket breaker</li>" in page
    assert 'class="ep-path"' in page


def test_where_nothing_isolates_the_path_is_shown(as_maud, works):
    save_link(site=works, link={"from": "B3-BAR", "to": "D1-CYL"}, at=now(), **DONE)
    save_node(site=works, node={"id": "B3-QB1", "kind": "carrier"}, at=now(), **DONE)
    save_link(site=works, link={"from": "B3-FEED", "to": "B3-QB1"}, at=now(), **DONE)
    save_link(site=works, link={"from": "B3-QB1", "to": "B3-BAR"}, at=now(), **DONE)
    page = text_of(as_maud.get(AT_DRILLS))
    assert "Nothing isolates these zones." in page
    assert "<li>400 V feeder to board 3</li>" in page


def test_no_zone_and_an_unknown_one_are_said(as_maud):
    none, unknown = as_maud.get(AT_CELL + "?asked=1"), as_maud.get(AT_CELL + "?zone=D1-BED")
    assert (none.status_code, unknown.status_code) == (422, 422)
    assert "No zone is named; tick every zone that a body part will be in." in text_of(none)
    assert "D1-BED is no zone of this machine; one of the list would be right." in text_of(unknown)


def test_a_machine_without_zones_has_nothing_to_plan(as_maud, works):
    save_machine(site=works, machine={"id": "M1", "name": "Mill"}, at=now(), **DONE)
    assert "This machine has no zone yet" in text_of(as_maud.get(reverse("plant:plan", args=["M1"])))


def test_the_report_names_what_crosses_and_what_was_not_found(as_odo):
    page = text_of(as_odo.get("/plant/check/"))
    assert "Links that cross machines: 1" in page
    assert "Outfeed conveyor motor" in page
    assert "<li>zones that nothing can isolate</li>" in page


def test_the_report_shows_the_path_of_a_zone_that_nothing_isolates(as_odo, works):
    save_node(site=works, node={"id": "SUN", "kind": "supply"}, at=now(), **DONE)
    save_link(site=works, link={"from": "SUN", "to": "K4-STACK"}, at=now(), **DONE)
    page = text_of(as_odo.get("/plant/check/"))
    assert "Zones that nothing can isolate: 1" in page
    assert "Supplies with no lockable point after them: 1" in page
    assert "<li>SUN</li>" in page


def test_the_report_costs_a_fixed_number_of_queries(as_odo, works, django_assert_num_queries):
    as_odo.get("/plant/check/")
    with django_assert_num_queries(7):  # who is asking 3, every page 2, the plant, the machines' names
        as_odo.get("/plant/check/")
