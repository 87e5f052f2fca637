"""The next plans on the page, pinning and forbidding points, and drafting a revision from a plan."""

from urllib.parse import parse_qs, urlsplit

import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.plant.actions import Chosen, PlantRefused, draft_procedure, save_node
from permits.plant.models import Procedure
from permits.plant.rules.plan import isolates, plan
from permits.plant.rules.procedures import TEXTS
from permits.plant.store import graph_of
from tests.factories_plant import CLERK, SAW_ZONES, SEVEN, WRITTEN

AT_CELL = reverse("plant:plan", args=["C1"])
WRITE = reverse("plant:write-procedure", args=["C1"])
PARTS = {field: f"How it is done: {field}." for field in TEXTS}


def text_of(answer) -> str:
    return answer.content.decode()


def query_of(address: str) -> dict[str, list[str]]:
    return parse_qs(urlsplit(address).query)


def test_the_next_plans_stand_below_the_first_with_what_they_stop(as_maud):
    answer = as_maud.get(AT_CELL)
    tried = answer.context["tried"]
    efforts = [other.effort for other in tried.others]
    assert len(efforts) == 5
    assert efforts == sorted(efforts)
    assert tried.effort <= efforts[0]
    assert "Other plans, cheapest first" in text_of(answer)
    stopping = [other for other in tried.others if other.stops]
    assert text_of(answer).count("Also takes the energy from: ") == len(stopping) > 0
    told = {step.name for step in tried.steps}
    for other in tried.others:
        assert set(other.points) == told - set(other.instead_of) | set(other.more)


def test_each_other_plan_isolates_and_is_another(as_maud, works):
    graph = graph_of(works)
    first = plan(graph, SAW_ZONES)
    seen = [(first.lock, first.release)]
    for other in as_maud.get(AT_CELL).context["tried"].others:
        asked = query_of(other.draft)
        lock, release = tuple(asked["lock"]), tuple(asked.get("release", ()))
        assert (lock, release) not in seen
        assert not isolates(graph, SAW_ZONES, lock, release)
        seen.append((lock, release))


def test_another_plan_is_looked_at_with_its_points_pinned(as_maud):
    other = as_maud.get(AT_CELL).context["tried"].others[0]
    answer = as_maud.get(other.look_at)
    assert {step.name for step in answer.context["tried"].steps} == set(other.points)
    assert answer.context["tried"].effort == other.effort
    assert "<summary>Points that must be in it, or must not</summary>" in text_of(answer)
    assert 'name="pin" value="C1-QB1" checked>' in text_of(answer)
    assert 'name="forbid" value="C1-QB1">' in text_of(answer)


def test_a_forbidden_point_is_in_no_plan(as_maud):
    asked = AT_CELL + "?asked=1&zone=C1-OUTFEED"
    as_asked = as_maud.get(asked).context["tried"]
    assert "Outfeed conveyor disconnector" in {step.name for step in as_asked.steps}
    code = next(
        node.id
        for node in as_maud.get(asked).context["form"].points
        if node.name == "Outfeed conveyor disconnector"
    )
    tried = as_maud.get(f"{asked}&forbid={code}").context["tried"]
    assert tried.found
    every = [{step.name for step in tried.steps}, *(set(other.points) for other in tried.others)]
    assert not any("Outfeed conveyor disconnector" in points for points in every)


def test_where_what_is_forbidden_leaves_no_plan_the_path_is_shown(as_maud):
    usable = as_maud.get(AT_CELL).context["form"].points
    asked = "&".join(f"forbid={node.id}" for node in usable)
    page = text_of(as_maud.get(f"{AT_CELL}?asked=1&zone=C1-CHAMBER&{asked}"))
    assert "On this path nothing can be locked as it is asked." in page


def test_a_point_ticked_twice_and_one_that_is_none_are_said(as_maud):
    both = as_maud.get(AT_CELL + "?asked=1&zone=C1-CHAMBER&pin=C1-QB1&forbid=C1-QB1")
    assert both.status_code == 422
    assert "Cell main disconnector is ticked twice; in every plan or in none would be right." in text_of(both)
    none = as_maud.get(AT_CELL + "?asked=1&zone=C1-CHAMBER&pin=B3-FEED")
    assert none.status_code == 422
    assert "B3-FEED is no point of the list; one of it would be right." in text_of(none)


# ---- a revision from a plan


def test_a_revision_is_drafted_from_another_plan(as_maud, keyed, works):
    other = as_maud.get(AT_CELL).context["tried"].others[1]
    page = text_of(as_maud.get(other.draft))
    assert "Points chosen" in page
    assert all(name in page for name in other.points)
    answer = as_maud.post(other.draft, keyed(zones=SAW_ZONES, **PARTS))
    assert answer.url == reverse("plant:procedure", args=["C1", 1])
    asked = query_of(other.draft)
    draft = Procedure.objects.get()
    assert (draft.lock, draft.release) == (sorted(asked["lock"]), sorted(asked.get("release", [])))
    assert draft.effort == other.effort
    assert {step["point"] for step in draft.order} - {None} == {*draft.lock, *draft.release}


def test_a_choice_that_does_not_isolate_the_zones_is_refused_with_the_path(as_maud, keyed, works):
    answer = as_maud.post(
        WRITE + "?chosen=1&zone=C1-CHAMBER&lock=C1-QB1", keyed(zones=["C1-CHAMBER"], **PARTS)
    )
    assert answer.status_code == 409
    assert "The points chosen do not isolate" in text_of(answer)
    assert not Procedure.objects.exists()


def test_a_choice_of_what_cannot_be_locked_or_released_is_refused(cell, maud):
    with pytest.raises(PlantRefused) as refused:
        draft_procedure(
            machine=cell, zones=SAW_ZONES, texts=WRITTEN, by=maud, at=SEVEN,
            chosen=Chosen(("B3-FEED", "NONE"), ("C1-QB1",)),
        )  # fmt: skip
    assert refused.value.reasons == (
        "400 V feeder to board 3 is no isolator that can be locked now; one that can would be right.",
        "NONE is no isolator that can be locked now; one that can would be right.",
        "Cell main disconnector is no store that can be released now; one that can would be right.",
    )


def test_what_was_chosen_is_proven_when_the_draft_is_kept(as_maud, keyed, works):
    """The page may have been open while the plant changed."""
    draft = as_maud.get(AT_CELL).context["tried"].draft
    row = {"id": "C1-QB1", "kind": "isolator", "machine": "C1", "out_of_service": True}
    save_node(site=works, node=row, by=CLERK, at=now())
    answer = as_maud.post(draft, keyed(zones=SAW_ZONES, **PARTS))
    assert answer.status_code == 409
    assert "C1-QB1 is no isolator that can be locked now" in text_of(answer)


def test_an_address_may_name_points_that_are_gone(as_maud):
    page = text_of(as_maud.get(WRITE + "?chosen=1&zone=C1-CHAMBER&lock=GONE"))
    assert "GONE, which is not in the plant" in page
