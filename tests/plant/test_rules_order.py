"""The order of a plan's steps: by example, and against the rule followed one store at a time."""

from __future__ import annotations

from hypothesis import example, given
from hypothesis import strategies as st

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.plan import Do, NoPlan, Plan, Step, plan
from tests.plant import exhaustive
from tests.plant.random_plants import chain, layered_plants, plants, zones_of

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind


def steps(answer: Plan | NoPlan) -> list[tuple[str, str | None]]:
    assert isinstance(answer, Plan)
    return [(step.do.value, step.point) for step in answer.order]


def test_stop_then_locks_by_sequence_then_releases_then_a_verification_of_each():
    graph = Graph.of(
        [
            Node("F1", SUPPLY), Node("F2", SUPPLY), Node("Q1", ISOLATOR, sequence=2), Node("Q2", ISOLATOR),
            Node("saw", CARRIER), Node("cap", STORE, sequence=1), Node("blade", STORE), Node("chamber", ZONE),
        ],
        [
            Link("F1", "Q1"), Link("F2", "Q2"), Link("Q1", "saw"), Link("Q2", "saw"), Link("saw", "chamber"),
            Link("cap", "saw"), Link("blade", "chamber"),
        ],
    )  # fmt: skip
    assert steps(plan(graph, ["chamber"])) == [
        ("stop", None),
        ("lock", "Q2"), ("lock", "Q1"), ("release", "blade"), ("release", "cap"),
        ("verify", "Q2"), ("verify", "Q1"), ("verify", "blade"), ("verify", "cap"),
    ]  # fmt: skip


def released(graph: Graph) -> list[str]:
    answer = plan(graph, zones_of(graph))
    assert isinstance(answer, Plan)
    return [step.point for step in answer.order if step.do is Do.RELEASE and step.point]


def test_a_store_is_released_after_the_stores_that_can_recharge_it():
    a_tank_behind_a_receiver = chain(
        Node("receiver", STORE, sequence=9), Node("pipe", CARRIER), Node("tank", STORE), Node("clamp", ZONE)
    )
    assert released(a_tank_behind_a_receiver) == ["receiver", "tank"]


def test_stores_that_recharge_each_other_wait_for_others_and_not_for_each_other():
    graph = Graph.of(
        [Node("a", STORE, sequence=3), Node("b", STORE, sequence=2), Node("c", STORE, sequence=1),
         Node("d", STORE), Node("clamp", ZONE)],
        [Link("a", "b"), Link("b", "c", both=True), Link("c", "d"), Link("d", "clamp")],
    )  # fmt: skip
    assert released(graph) == ["a", "c", "b", "d"]


def test_stores_in_a_ring_are_released_by_sequence_alone():
    ids = "abcde"
    stores = [Node(id, STORE, sequence=sequence) for id, sequence in zip(ids, (3, 1, 4, 2, 0), strict=True)]
    ring = [Link(one, ids[(at + 1) % 5]) for at, one in enumerate(ids)]
    graph = Graph.of([*stores, Node("z", ZONE)], [*ring, Link("c", "z")])
    assert released(graph) == ["e", "b", "d", "a", "c"]


def test_a_locked_isolator_keeps_a_store_from_being_recharged():
    graph = Graph.of(
        [Node("a", STORE, effort=1, sequence=1), Node("Q", ISOLATOR), Node("b", STORE), Node("main", SUPPLY),
         Node("saw", ZONE), Node("press", ZONE)],
        [Link("main", "Q"), Link("a", "Q"), Link("Q", "b"), Link("b", "saw"), Link("a", "press")],
    )  # fmt: skip
    assert released(graph) == ["b", "a"]


def test_an_empty_plan_has_no_steps():
    assert plan(Graph.of([Node("saw", ZONE)], []), ["saw"]) == Plan(0, (), (), ())


@st.composite
def webs_of_stores(draw):
    """Up to seven stores, carriers and isolators fed by each other in any way, each store before the zone."""
    ids = draw(st.permutations("abcdefg"))[: draw(st.integers(2, 7))]
    kind = st.sampled_from([STORE, STORE, STORE, CARRIER, ISOLATOR])
    small = st.integers(0, 2)
    nodes = [Node(id, draw(kind), effort=draw(small) + 1, sequence=draw(small)) for id in ids]
    ends = st.sampled_from(ids)
    links = draw(st.lists(st.builds(Link, ends, ends, st.booleans()), max_size=10))
    last = [Link(node.id, "z") for node in nodes if node.kind is not ISOLATOR]
    feed = [Link("main", node.id) for node in nodes if node.kind is ISOLATOR and draw(st.booleans())]
    return Graph.of([*nodes, Node("main", SUPPLY), Node("z", ZONE)], [*links, *last, *feed])


@given(st.one_of(webs_of_stores(), plants(), layered_plants()))
@example(Graph.of([Node("z", ZONE)], []))
def test_the_order_of_every_plan(graph):
    answer = plan(graph, zones_of(graph))
    if isinstance(answer, NoPlan):
        return
    locks = [Step(Do.LOCK, id) for id in sorted(answer.lock, key=lambda id: (graph[id].sequence, id))]
    releases = exhaustive.order_of_releases(graph, answer.lock, answer.release)
    acts = [*locks, *(Step(Do.RELEASE, id) for id in releases)]
    stop = [Step(Do.STOP, None)] if acts else []
    assert list(answer.order) == [*stop, *acts, *(Step(Do.VERIFY, step.point) for step in acts)]
