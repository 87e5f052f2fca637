"""What a site demands of its isolators: the page, the points' pages, procedures proven again, the command."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils.timezone import now

from permits.plant import reproving
from permits.plant.actions import import_plant, save_demands, save_node
from permits.plant.models import PlantState
from permits.plant.rules.energy import Grade, Medium
from permits.plant.rules.noderows import write_node
from permits.plant.rules.plantfile import as_dict
from permits.plant.store import demands_of, graph_of, plant_file_of, to_plant_file
from permits.records.demo import approve_procedures
from tests.factories_plant import CLERK, neighbours_at_work, quillfen, site_with, small_file

DEMANDS = reverse("plant:demands")


def text_of(answer) -> str:
    return answer.content.decode()


def set_on(site, code, **members) -> None:
    node = write_node(plant_file_of(site).graph[code]) | members
    save_node(site=site, node=node, by=CLERK, at=now())


def demand(site, **demands) -> None:
    save_demands(site=site, demands=demands, by=CLERK, at=now())


# ---- kept and proven again


@pytest.mark.django_db
def test_demands_and_grades_are_kept_and_come_out_as_they_went_in():
    site = site_with(small_file())
    set_on(site, "Q1", medium="electrical", grade="proved")
    set_on(site, "V1", lockable=False, tag_only={"measure": "Handle taken off."}, out_of_service=True)
    demand(site, electrical="proved")
    plant = to_plant_file(site)
    assert plant["demands"] == {"electrical": "proved"}
    rows = {row["id"]: row for row in plant["nodes"]}
    assert rows["Q1"]["grade"] == "proved"
    assert rows["V1"]["tag_only"] == {"measure": "Handle taken off."}
    assert rows["V1"]["out_of_service"] is True
    version = PlantState.objects.get().version
    import_plant(site=site, plant_file=plant_file_of(site), by=CLERK, at=now())
    assert PlantState.objects.get().version == version
    demand(site)
    assert "demands" not in to_plant_file(site)
    assert PlantState.objects.get().version == version + 1


@pytest.mark.django_db
def test_the_sites_graph_is_as_demanded_and_its_file_as_written():
    site = site_with(small_file())
    set_on(site, "Q1", medium="electrical", grade="non-proved")
    assert graph_of(site)["Q1"].lockable
    demand(site, electrical="proved")
    assert not graph_of(site)["Q1"].lockable
    assert plant_file_of(site).graph["Q1"].lockable
    assert demands_of(site) == {Medium.ELECTRICAL: Grade.PROVED}


@pytest.mark.django_db
def test_the_rooms_above_are_told_of_the_graph_as_demanded(monkeypatch):
    site, told = site_with(small_file()), []
    monkeypatch.setattr(reproving, "_on_change", [lambda pen, site, graph: told.append(graph)])
    set_on(site, "Q1", medium="electrical")
    demand(site, electrical="proved")
    assert [graph["Q1"].lockable for graph in told] == [True, False]


def test_an_approved_procedure_no_longer_holds_where_a_grade_falls_short(works, written):
    assert written.holds
    demand(works, electrical="positive")
    written.refresh_from_db()
    assert not written.holds
    demand(works)
    written.refresh_from_db()
    assert written.holds


def test_a_point_out_of_service_breaks_the_procedure_that_locks_it(as_odo, works, written):
    set_on(works, "C1-QB1", out_of_service=True)
    written.refresh_from_db()
    assert {"id": "C1-QB1", "path": []} in written.flaws
    page = text_of(as_odo.get(reverse("plant:procedure", args=["C1", 1])))
    assert "Cell main disconnector can&#x27;t do what the plan needs of it now: out of service." in page


def test_an_open_permit_whose_isolators_no_longer_count_is_stopped(works, maud, torvald, eleni, odo, entries):
    approve_procedures(works, now())
    neighbours_at_work(works)
    demand(works, electrical="positive")
    (lost,) = entries("ISOLATION_LOST")
    assert lost["path"][0] == "400 V feeder to board 4"
    assert lost["path"][-1] == "Transfer from the crosscut outfeed"
    assert len(lost["crew"]) == 1  # who is called out


# ---- on the pages


def test_the_officer_sets_what_is_demanded(as_maud, works, keyed, entries):
    page = text_of(as_maud.get(DEMANDS))
    assert "proved or positive" in page
    answer = as_maud.post(DEMANDS, keyed(pneumatic="proved", electrical=""))
    assert answer.url == DEMANDS
    assert demands_of(works) == {Medium.PNEUMATIC: Grade.PROVED}
    assert entries("PLANT_CHANGED")[-1]["demands"] == {"pneumatic": "proved"}


def test_a_grade_that_is_none_is_said(as_maud, works, keyed):
    answer = as_maud.post(DEMANDS, keyed(pneumatic="proven"))
    assert answer.status_code == 422
    assert "proven is no grade of the list; one of it would be right." in text_of(answer)
    assert demands_of(works) == {}


def test_demands_that_someone_changed_meanwhile_are_not_overwritten(as_maud, works, keyed):
    seen = as_maud.get(DEMANDS).context["form"]["seen"].value()
    demand(works, hydraulic="positive")
    answer = as_maud.post(DEMANDS, keyed(pneumatic="proved", seen=seen))
    assert answer.status_code == 422
    assert demands_of(works) == {Medium.HYDRAULIC: Grade.POSITIVE}


def test_a_points_page_says_why_no_plan_locks_it(as_odo, works):
    set_on(works, "C1-QB1", lockable=False, tag_only={"measure": "Fuses taken out."})
    page = text_of(as_odo.get(reverse("plant:node", args=["C1-QB1"])))
    assert "Cell main disconnector takes a tag but no lock." in page
    assert "a tag-only point is not offered for isolation" in page
    assert "Fuses taken out." in page
    demand(works, electrical="proved")
    page = text_of(as_odo.get(reverse("plant:node", args=["C1-QB2"])))
    assert "states no grade: electrical isolation here must be proved or positive." in page


def test_the_list_of_points_says_it_in_short(as_odo, works):
    set_on(works, "C1-QB1", out_of_service=True)
    demand(works, pneumatic="proved")
    page = text_of(as_odo.get(reverse("plant:machine", args=["C1"])))
    assert "Out of service" in page
    assert "No grade stated" in page


def test_the_refused_plan_names_which_demand_failed_where(as_maud, works):
    demand(works, electrical="positive")
    page = text_of(as_maud.get(reverse("plant:plan", args=["C1"])))
    assert "Nothing isolates these zones." in page
    assert "states no grade: electrical isolation here must be positive." in page


def test_an_isolators_form_takes_grade_service_and_tag(as_maud, works, keyed):
    edit = reverse("plant:edit-node", args=["AIR-QM1"])
    form = as_maud.get(edit).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False)}
    wrong = as_maud.post(edit, keyed() | data | {"lockable": "on", "tag_only_measure": "Watched."})
    assert wrong.status_code == 422
    assert "It can be locked, as ticked above, so a tag is no choice." in text_of(wrong)
    data.pop("lockable", None)
    data |= {"grade": "proved", "out_of_service": "on", "tag_only_measure": "Watched.\r\nAll the time."}
    assert as_maud.post(edit, keyed() | data).status_code == 302
    node = plant_file_of(works).graph["AIR-QM1"]
    assert (node.grade, node.out_of_service, node.lockable) == (Grade.PROVED, True, False)
    assert node.tag_only.measure == "Watched.\nAll the time."


# ---- plan_isolation

PLANT = {
    "plant": "Tiny works",
    "nodes": [
        {"id": "air", "kind": "supply"},
        {"id": "near", "kind": "isolator", "medium": "pneumatic", "grade": "non-proved"},
        {"id": "far", "kind": "isolator", "medium": "pneumatic", "grade": "positive", "effort": 9},
        {"id": "bed", "kind": "zone"},
    ],
    "links": [
        {"from": "air", "to": "far"},
        {"from": "far", "to": "near"},
        {"from": "near", "to": "bed"},
    ],
}


def planned(tmp_path, plant, *more) -> tuple[int, dict]:
    file, out = tmp_path / "plant.json", StringIO()
    file.write_text(json.dumps(plant))
    status = 0
    try:
        call_command("plan_isolation", plant=str(file), zone=["bed"], format="json", stdout=out, **dict(more))
    except SystemExit as exit:
        status = exit.code
    return status, json.loads(out.getvalue())


def with_nodes(**changes) -> dict:
    return PLANT | {"nodes": [node | changes.get(node["id"], {}) for node in PLANT["nodes"]]}


def test_the_command_goes_by_the_files_demands(tmp_path):
    assert planned(tmp_path, PLANT)[1]["lock"] == ["near"]
    status, found = planned(tmp_path, PLANT | {"demands": {"pneumatic": "proved"}})
    assert (status, found["lock"], found["effort"]) == (0, ["far"], 9)
    assert list(found) == ["isolatable", "effort", "lock", "release", "order"]


def test_the_command_names_what_falls_short(tmp_path):
    plant = with_nodes(far={"out_of_service": True}) | {"demands": {"pneumatic": "proved"}}
    status, found = planned(tmp_path, plant)
    assert status == 1
    assert found == {
        "isolatable": False,
        "path": ["air", "far", "near", "bed"],
        "shortfalls": [
            {"point": "far", "why": "is out of service"},
            {"point": "near", "why": "is non-proved: pneumatic isolation here must be proved or positive"},
        ],
    }


def test_the_command_lets_a_tag_stand_for_a_lock_where_told(tmp_path):
    tag = {"lockable": False, "tag_only": {"measure": "Handle taken off."}}
    plant = with_nodes(near=tag, far={"out_of_service": True})
    assert planned(tmp_path, plant)[0] == 1
    status, found = planned(tmp_path, plant, ("tag_out", True))
    assert (status, found["lock"]) == (0, ["near"])
    assert found["measures"] == [{"point": "near", "measure": "Handle taken off."}]


def test_the_demo_plant_is_as_it_was():
    assert quillfen().demands == {}
    assert "demands" not in as_dict(quillfen())
