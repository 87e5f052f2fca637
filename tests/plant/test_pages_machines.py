"""The list of machines, a machine's page with its picture, what is shared; adding, editing, removing one."""

import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.plant import queries
from permits.plant.actions import import_plant, remove_link, save_link
from permits.plant.models import Machine
from permits.plant.rules.plantfile import check
from permits.plant.store import to_plant_file
from permits.plant.views import answering
from permits.records.demo import approve_procedures
from tests.factories_plant import CLERK, neighbours_at_work

ADD = "/plant/machines/add/"
MILL = {
    "id": "M/1 %",
    "name": "Mill",
    "designation": "=L3.M1",
    "place": "Hall 2",
    "hazards": "Turns.\r\nFalls.",
}
AT_CELL = reverse("plant:machine", args=["C1"])


def text_of(answer) -> str:
    return answer.content.decode()


# ---- the list


def test_the_list_shows_every_machine_with_its_procedure(as_odo, draft):
    page = text_of(as_odo.get("/machines/"))
    assert all(
        words in page for words in ("Crosscut cell", "Line 3, north", "Saw blade that coasts", "=L4.K4")
    )
    assert "revision 1" in page
    assert "Draft 2 waits for approval" in page
    assert page.count("none approved") == 3
    assert "Add a machine" not in page


def test_the_officer_is_offered_what_can_be_done(as_maud):
    page = text_of(as_maud.get("/machines/"))
    assert all(words in page for words in ("Add a machine", "Plant file", "Check the plant", "Tags"))


def test_a_procedure_that_no_longer_holds_is_seen_in_the_list(as_odo, works, written):
    save_link(site=works, link={"from": "B3-BAR", "to": "C1-CLAMP"}, by=CLERK, at=now())
    assert "no longer holds" in text_of(as_odo.get("/machines/"))


def test_a_site_without_a_plant_says_what_comes_first(elsewhere):
    assert "Upload a plant file" in text_of(elsewhere.get("/machines/"))


def test_the_list_costs_the_same_with_many(as_maud, works, draft, django_assert_num_queries):
    plant = to_plant_file(works)
    plant["machines"] += [{"id": f"M{number}", "name": f"Mill {number}"} for number in range(50)]
    import_plant(site=works, plant_file=check(plant), by=CLERK, at=now())
    as_maud.get("/machines/")
    # Who is asking 3, every page 2, machines, revisions, twice the plant, what is in service 13.
    with django_assert_num_queries(22):
        as_maud.get("/machines/")


# ---- one machine


def test_a_machine_has_its_picture_points_zones_and_what_crosses(as_odo, tagged, written):
    page = text_of(as_odo.get(AT_CELL))
    assert '<svg class="ep ep-' in page
    assert "to be locked" in page
    assert "Outfeed conveyor motor → Transfer from the crosscut outfeed" in page
    assert "Controls distribution, line 3 → Cell controls tie switch" in page
    tag = next(point.tag for point in queries.points(tagged) if point.node.code == "C1-QB1")
    assert f"{tag.short_code[:3]}-{tag.short_code[3:6]}-{tag.short_code[6:]}" in page
    assert "Cannot be locked" in page  # the outfeed motor breaker
    assert "Edit" not in page


def test_locks_of_an_open_permit_are_seen_on_it(as_odo, works, written, eleni, maud, torvald):
    approve_procedures(works, now())
    before = text_of(as_odo.get(AT_CELL))
    neighbours_at_work(works)
    page = text_of(as_odo.get(AT_CELL))
    assert "locked, proven" in page
    assert "locked, proven" not in before
    assert "E-32" in page
    assert eleni.name in page


def test_a_machine_costs_the_same_however_many_points_and_permits(
    as_odo, tagged, draft, maud, torvald, eleni, django_assert_num_queries
):
    as_odo.get(AT_CELL)
    with django_assert_num_queries(24):  # who is asking 3, every page 2, five of ours, what hangs now
        as_odo.get(AT_CELL)
    with django_assert_num_queries(24):
        as_odo.get(reverse("plant:machine", args=["K4"]))
    approve_procedures(tagged, now())
    neighbours_at_work(tagged)
    with django_assert_num_queries(37):  # and one for each of a permit's thirteen tables, for all at once
        as_odo.get(AT_CELL)


def test_a_machine_without_zones_says_so(as_maud, works, keyed):
    as_maud.post(ADD, keyed(**MILL))
    page = text_of(as_maud.get(reverse("plant:machine", args=[MILL["id"]])))
    assert "No zone yet" in page
    assert "No isolator and no store yet." in page


def test_what_belongs_to_no_machine_has_a_page(as_odo):
    page = text_of(as_odo.get("/plant/shared/"))
    assert "Board 3 incomer" in page
    assert "Compressed air main" in page
    assert "Cell main disconnector" not in page


# ---- adding, editing, removing


def test_a_machine_is_added_once(as_maud, works, keyed, entries):
    data = keyed(**MILL)
    answer = as_maud.post(ADD, data)
    again = as_maud.post(ADD, data)
    machine = queries.machine_of(works, "M/1 %")
    assert answer.url == again.url == reverse("plant:machine", args=["M/1 %"])
    assert machine.hazards == "Turns.\nFalls."
    assert as_maud.get(answer.url).status_code == 200
    assert len(entries("PLANT_CHANGED")) == 2  # the import, and this


def test_another_machine_under_a_used_key_is_not_taken_for_added(as_maud, works, keyed, entries):
    """Gone back to, corrected and sent: the correction is neither lost nor answered as done."""
    data = keyed(**MILL)
    as_maud.post(ADD, data)
    answer = as_maud.post(ADD, data | {"id": "M2", "name": "Moulder"})
    assert answer.status_code == 409
    assert "This page was sent already at " in text_of(answer)
    assert "what you changed since is not." in text_of(answer)
    assert len(entries("PLANT_CHANGED")) == 2
    form = answer.context["form"]
    assert (form["id"].value(), form["name"].value()) == ("M2", "Moulder")
    again = {name: form[name].value() or "" for name in form.fields}
    assert again["key"] != data["key"]
    assert as_maud.post(ADD, again).url == reverse("plant:machine", args=["M2"])


def test_two_machines_under_one_key_at_once_are_told_apart_by_the_pen(
    as_maud, works, keyed, entries, monkeypatch
):
    """The second was looked at before the first was added."""
    data = keyed(**MILL)
    as_maud.post(ADD, data)
    monkeypatch.setattr(answering, "was_done", lambda request: False)
    answer = as_maud.post(ADD, data | {"id": "M2", "name": "Moulder"})
    assert answer.status_code == 409
    assert "This page was sent already at " in text_of(answer)
    assert len(entries("PLANT_CHANGED")) == 2


def test_removing_under_the_key_of_another_page_removes_nothing(as_maud, works, keyed, entries):
    data = keyed(**MILL)
    as_maud.post(ADD, data)
    answer = as_maud.post(reverse("plant:remove-machine", args=["M/1 %"]), {"key": data["key"]})
    assert answer.status_code == 409
    assert "M/1 %" in dict(queries.machine_codes(works))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"id": ""}, "Code is missing; such as C1 would be right."),
        (
            {"id": "C1"},
            "C1 is already the code of the machine Crosscut cell; a code of its own would be right.",
        ),
        ({"id": "x" * 65}, "This has 65 characters; 64 at most would be right."),
        ({"name": ""}, "Name is missing; such as Crosscut cell would be right."),
        (
            {"hazards": "\x07"},
            "characters in it that cannot be printed. Right would be the text without them.",
        ),
        ({"key": "x"}, "This page&#x27;s number is damaged; open it again"),
        ({"key": ""}, "This page came without its number; open it again"),
    ],
)
def test_what_cannot_be_added_says_why_and_keeps_what_was_typed(as_maud, keyed, changes, says):
    answer = as_maud.post(ADD, keyed(**MILL) | changes)
    page = text_of(answer)
    assert answer.status_code == 422
    assert says in page
    assert 'value="Hall 2"' in page
    assert not Machine.objects.filter(place="Hall 2").exists()


def test_a_machine_is_edited_and_keeps_its_code(as_maud, works, keyed):
    page = as_maud.get(reverse("plant:edit-machine", args=["C1"]))
    seen = page.context["form"]["seen"].value()
    data = keyed(id="C9", name="Crosscut cell, rebuilt", seen=seen)
    answer = as_maud.post(reverse("plant:edit-machine", args=["C1"]), data)
    assert answer.url == AT_CELL
    assert queries.machine_of(works, "C1").name == "Crosscut cell, rebuilt"
    assert queries.machine_of(works, "C1").hazards == ""


def test_what_someone_else_changed_is_not_overwritten(as_maud, as_torvald, works, keyed):
    edit = reverse("plant:edit-machine", args=["C1"])
    seen = as_maud.get(edit).context["form"]["seen"].value()
    as_torvald.post(edit, keyed(name="By Torvald", seen=seen))
    answer = as_maud.post(edit, keyed(name="By Maud", seen=seen))
    assert answer.status_code == 422
    assert "Someone else changed this since the page was opened." in text_of(answer)
    assert 'value="By Maud"' in text_of(answer)
    assert queries.machine_of(works, "C1").name == "By Torvald"


def test_a_machine_with_nodes_is_not_removed(as_maud, works, keyed):
    remove = reverse("plant:remove-machine", args=["C1"])
    assert "have to go first" in text_of(as_maud.get(remove))
    answer = as_maud.post(remove, keyed())
    assert answer.status_code == 422
    assert "no machine has the id" in text_of(answer)
    assert queries.machine_of(works, "C1")


def test_an_empty_machine_is_removed_once(as_maud, works, keyed, entries):
    as_maud.post(ADD, keyed(id="M1", name="Mill"))
    data = keyed()
    remove = reverse("plant:remove-machine", args=["M1"])
    assert as_maud.post(remove, data).url == as_maud.post(remove, data).url == "/machines/"
    assert as_maud.post(remove, keyed()).status_code == 404
    assert len(entries("PLANT_CHANGED")) == 3


def test_a_change_that_breaks_a_procedure_says_so(as_maud, works, written, keyed):
    answer = as_maud.post("/plant/links/add/", keyed(source="B3-BAR", target="C1-CLAMP"), follow=True)
    assert "Crosscut cell, revision 1, no longer holds: no permit can be issued from it." in text_of(answer)
    remove_link(site=works, source="B3-BAR", target="C1-CLAMP", by=CLERK, at=now())
