"""Grades, demands, points out of service and tag-only points: what counts as an isolator, and why not."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from permits.plant.rules.demands import Measure, Shortfall, against, as_demanded, measures, shortfall
from permits.plant.rules.energy import Grade, Graph, Kind, Link, Medium, Node, TagOnly
from permits.plant.rules.plan import NoPlan, Plan, plan
from permits.plant.rules.plantfile import PlantFileErrors, as_dict, check
from tests.factories_plant import small_plant
from tests.plant.exhaustive import every_subset, isolated
from tests.plant.random_plants import chain, plants, zones_of

AIR = Medium.PNEUMATIC
PROVED = {AIR: Grade.PROVED}
FEED, ZONE = Node("FEED", Kind.SUPPLY), Node("Z", Kind.ZONE)


def isolator(id="Q", **more):
    return Node(id, Kind.ISOLATOR, **({"medium": AIR} | more))


def row(*points):
    return chain(FEED, *points, ZONE)


# ---- what counts


@pytest.mark.parametrize(
    ("demanded", "stated", "counts"),
    [
        (Grade.POSITIVE, Grade.POSITIVE, True),
        (Grade.POSITIVE, Grade.PROVED, False),
        (Grade.POSITIVE, Grade.NON_PROVED, False),
        (Grade.POSITIVE, None, False),
        (Grade.PROVED, Grade.POSITIVE, True),
        (Grade.PROVED, Grade.PROVED, True),
        (Grade.PROVED, Grade.NON_PROVED, False),
        (Grade.PROVED, None, False),
        (Grade.NON_PROVED, Grade.NON_PROVED, True),
        (Grade.NON_PROVED, None, False),
    ],
)
def test_a_grade_counts_from_the_one_demanded_upward(demanded, stated, counts):
    graph = row(isolator(grade=stated))
    assert as_demanded(graph, {AIR: demanded})["Q"].lockable is counts
    assert isinstance(plan(as_demanded(graph, {AIR: demanded}), ["Z"]), Plan) is counts


def test_without_a_demand_every_grade_counts_and_none():
    for grade in (None, *Grade):
        graph = row(isolator(grade=grade))
        assert as_demanded(graph, {}) is graph
        assert as_demanded(graph, {Medium.ELECTRICAL: Grade.POSITIVE}) is graph


def test_a_demand_is_about_its_medium_only():
    graph = row(isolator(medium=None), isolator("E", medium=Medium.ELECTRICAL))
    assert as_demanded(graph, PROVED) is graph


def test_out_of_service_never_counts():
    graph = row(isolator(grade=Grade.POSITIVE, out_of_service=True))
    assert not as_demanded(graph, {})["Q"].lockable
    assert plan(as_demanded(graph, {}), ["Z"]) == NoPlan(("FEED", "Q", "Z"))


def test_stores_and_carriers_fall_under_no_demand():
    graph = row(Node("S", Kind.STORE, medium=AIR), Node("C", Kind.CARRIER, medium=AIR))
    assert as_demanded(graph, PROVED) is graph


def test_a_point_that_falls_short_sends_the_plan_to_the_next_one():
    graph = row(isolator("A", effort=5, grade=Grade.POSITIVE), isolator("B", grade=Grade.NON_PROVED))
    assert plan(graph, ["Z"]).lock == ("B",)
    assert plan(as_demanded(graph, PROVED), ["Z"]).lock == ("A",)


def test_a_tag_stands_for_a_lock_only_where_the_site_lets_it():
    tagged = isolator(lockable=False, tag_only=TagOnly("Handle taken off."))
    graph = row(tagged)
    assert isinstance(plan(as_demanded(graph, {}), ["Z"]), NoPlan)
    let = as_demanded(graph, {}, tag_out=True)
    assert plan(let, ["Z"]).lock == ("Q",)
    assert measures(let, ["Q"]) == (Measure("Q", "Handle taken off."),)
    for against_it in (replace(tagged, out_of_service=True), tagged):
        demands = {} if against_it.out_of_service else PROVED
        assert isinstance(plan(as_demanded(row(against_it), demands, tag_out=True), ["Z"]), NoPlan)


def test_a_point_that_takes_neither_stays_as_it_is():
    graph = row(isolator(lockable=False))
    assert as_demanded(graph, {}, tag_out=True) is graph
    assert measures(graph, ["Q", "GONE"]) == ()


@settings(deadline=None, max_examples=150)
@given(graph=plants(most_nodes=7), data=st.data())
def test_the_plan_as_demanded_is_the_cheapest_of_the_points_that_count(graph, data):
    """By trying every set, with the grades compared as a list in order, and not as the product does it."""
    order = ["non-proved", "proved", "positive"]
    nodes = []
    for node in graph.nodes.values():
        if node.kind is Kind.ISOLATOR:
            node = replace(
                node,
                medium=data.draw(st.sampled_from([None, AIR, Medium.ELECTRICAL])),
                grade=data.draw(st.sampled_from([None, *Grade])),
                out_of_service=data.draw(st.integers(0, 5)) == 0,
            )
        nodes.append(node)
    graph = Graph.of(nodes, graph.links)
    demands = data.draw(st.dictionaries(st.sampled_from([AIR, Medium.ELECTRICAL]), st.sampled_from(Grade)))

    def counts(node):
        if node.kind is not Kind.ISOLATOR or not node.lockable or node.out_of_service:
            return False
        if node.medium not in demands:
            return True
        return node.grade is not None and order.index(node.grade) >= order.index(demands[node.medium])

    usable = {node.id for node in nodes if counts(node)}
    stores = {node.id for node in nodes if node.kind is Kind.STORE and node.releasable}
    efforts = [
        sum(graph[id].effort for id in points)
        for points in every_subset(usable | stores)
        if isolated(graph, zones_of(graph), points & usable, points & stores)
    ]
    found = plan(as_demanded(graph, demands), zones_of(graph))
    if isinstance(found, NoPlan):
        assert not efforts
        named = {one.point for one in shortfall(graph, demands, found.path)}
        on_the_way = {id for id in found.path if graph[id].kind is Kind.ISOLATOR}
        # One that no lock fits may be out of service or of too low a grade as well, and is named then too.
        assert {id for id in on_the_way if graph[id].lockable} <= named <= on_the_way
        assert not any(counts(graph[id]) for id in named)
    else:
        assert found.effort == min(efforts)
        assert set(found.lock) <= usable


# ---- in words


def test_the_refusal_names_which_demand_failed_where():
    graph = row(
        isolator("A", grade=Grade.NON_PROVED),
        isolator("B"),
        isolator("C", medium=None, out_of_service=True),
        isolator("D", medium=None, lockable=False, tag_only=TagOnly("Watched.")),
        isolator("E", medium=None, lockable=False),
    )
    refused = plan(as_demanded(graph, PROVED), ["Z"])
    assert isinstance(refused, NoPlan)
    expected = (
        Shortfall("A", "is non-proved: pneumatic isolation here must be proved or positive"),
        Shortfall("B", "states no grade: pneumatic isolation here must be proved or positive"),
        Shortfall("C", "is out of service"),
        Shortfall("D", "takes a tag but no lock"),
    )
    assert shortfall(graph, PROVED, refused.path) == expected
    assert shortfall(as_demanded(graph, PROVED), PROVED, refused.path) == expected
    assert shortfall(graph, PROVED, ["GONE"]) == ()


def test_all_that_is_against_a_point_is_said():
    both = isolator(grade=Grade.PROVED, out_of_service=True)
    assert against(both, {AIR: Grade.POSITIVE}) == (
        "is out of service; is proved: pneumatic isolation here must be positive"
    )
    assert against(isolator(), {AIR: Grade.NON_PROVED}) == (
        "states no grade: pneumatic isolation here must be non-proved or proved or positive"
    )


# ---- in the plant file


def of_file(valve, **top):
    nodes = [{"id": "AIR", "kind": "supply"}, {"id": "V", "kind": "isolator"} | valve]
    return check({"plant": "P", "nodes": nodes, "links": [{"from": "AIR", "to": "V"}], **top})


def errors_of(valve, **top):
    with pytest.raises(PlantFileErrors) as refused:
        of_file(valve, **top)
    return [(error.row, error.field, error.wrong, error.right) for error in refused.value.errors]


def test_a_file_says_grades_and_demands_and_is_written_back():
    full = {"grade": "proved", "out_of_service": True, "lockable": False, "tag_only": {"measure": "Watched."}}
    found = of_file(full, demands={"pneumatic": "positive", "electrical": "proved"})
    valve = found.graph["V"]
    assert (valve.grade, valve.out_of_service, valve.tag_only) == (Grade.PROVED, True, TagOnly("Watched."))
    assert found.demands == {AIR: Grade.POSITIVE, Medium.ELECTRICAL: Grade.PROVED}
    assert as_dict(found)["nodes"][1] == {"id": "V", "kind": "isolator"} | full
    assert list(as_dict(found)["demands"]) == ["electrical", "pneumatic"]
    assert check(as_dict(found)) == found


def test_a_file_without_them_is_read_and_written_as_before():
    plain = check(small_plant())
    assert plain.demands == {}
    assert "demands" not in as_dict(plain)
    assert not {"grade", "out_of_service", "tag_only"} & {
        key for row in as_dict(plain)["nodes"] for key in row
    }
    assert as_demanded(plain.graph, plain.demands) is plain.graph


GRADES = "one of positive, proved, non-proved"


@pytest.mark.parametrize(
    ("valve", "error"),
    [
        ({"grade": "proven"}, ("grade", "is 'proven'", f"'proved', if that was meant, or {GRADES}")),
        ({"grade": 2}, ("grade", "is 2", GRADES)),
        ({"kind": "store", "grade": "proved"},
         ("grade", "stands on a node of kind store", "a grade on an isolator only")),
        ({"kind": "store", "out_of_service": True},
         ("out_of_service", "is true on a node of kind store",
          "to leave it out: it is said of isolators only")),
        ({"out_of_service": "yes"}, ("out_of_service", "is 'yes'", "true or false, without quotes")),
        ({"tag_only": True}, ("tag_only", "is true", "an object with the measure, or to leave it out")),
        ({"tag_only": {"measure": "Watched."}},
         ("tag_only", "stands on a point that can be locked",
          "lockable false beside it, or to leave it out: what can be locked is")),
        ({"lockable": False, "tag_only": {}},
         ("tag_only.measure", "is missing", "what is done besides the tag, such as 'handle taken off'")),
        ({"kind": "carrier", "lockable": False, "tag_only": {"measure": "x"}},
         ("tag_only", "stands on a node of kind carrier", "it on an isolator only")),
    ],
)  # fmt: skip
def test_what_a_file_says_wrongly_of_an_isolator(valve, error):
    assert errors_of(valve) == [("nodes[1] (id 'V')", *error)]


MEDIA = ", ".join(medium.value for medium in Medium)


@pytest.mark.parametrize(
    ("demands", "error"),
    [
        ([], ("demands", "is a list", 'an object of media and grades, such as {"pneumatic": "proved"}')),
        ({"air": "proved"}, ("demands.air", "is no medium", f"one of {MEDIA}")),
        ({"pnuematic": "proved"},
         ("demands.pnuematic", "is no medium", f"'pneumatic', if that was meant, or one of {MEDIA}")),
        ({"pneumatic": None}, ("demands.pneumatic", "is null", GRADES)),
    ],
)  # fmt: skip
def test_what_a_file_demands_wrongly(demands, error):
    assert errors_of({}, demands=demands) == [("the file", *error)]


def test_links_are_as_they_were():
    graph = Graph.of([FEED, isolator(), ZONE], [Link("FEED", "Q"), Link("Q", "Z")])
    assert as_demanded(graph, PROVED).links == graph.links
