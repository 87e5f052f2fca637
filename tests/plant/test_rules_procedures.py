"""Whether a plan written earlier still holds: its zones cut off, what has to stay live supplied."""

import json

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.energy import Kind, Node
from permits.plant.rules.plan import NoPlan, plan
from permits.plant.rules.procedures import Flaw, as_stored, flaws, in_words, kept_dead, stored_flaw
from tests.plant import exhaustive
from tests.plant.random_plants import chain, demands, others_of, plants, staged_plants, subsets, zones_of

ROW = chain(
    Node("FEED", Kind.SUPPLY, "Feeder"),
    Node("Q1", Kind.ISOLATOR, "Main switch"),
    Node("PLC", Kind.CARRIER, "Controller"),
    Node("Q2", Kind.ISOLATOR, "Drive switch"),
    Node("BED", Kind.ZONE, "Bed"),
)


def test_a_plan_that_leaves_the_node_live_holds():
    assert flaws(ROW, ["BED"], ["Q2"], [], ["PLC"]) == ()


def test_a_node_that_has_to_stay_live_and_does_not_is_a_flaw_with_the_way_that_is_cut():
    (flaw,) = flaws(ROW, ["BED"], ["Q1"], [], ["PLC"])
    assert flaw == Flaw("PLC", ("FEED", "Q1", "PLC"), kept_dead=True)
    assert in_words(flaw, ROW) == (
        "Controller has to stay live, and the points locked cut it off from every supply, such as by "
        "Feeder → Main switch → Controller."
    )


def test_a_node_that_nothing_supplies_or_that_is_gone_is_a_flaw_without_a_path():
    alone = chain(Node("CAP", Kind.STORE, "Bus"), Node("LAMP", Kind.CARRIER, "Lamp"))
    found = kept_dead(alone, [], ["LAMP", "GONE"])  # a store keeps nothing live
    assert found == (Flaw("LAMP", kept_dead=True), Flaw("GONE", kept_dead=True))
    assert [in_words(flaw, alone) for flaw in found] == [
        "Lamp has to stay live, and no supply leads to it.",
        "GONE has to stay live and is no longer in the plant.",
    ]


def test_flaws_are_read_back_as_they_were_kept():
    for flaw in (
        Flaw("BED", ("FEED", "BED")),
        Flaw("Q1"),
        Flaw("PLC", ("FEED", "Q1", "PLC"), kept_dead=True),
    ):
        assert stored_flaw(json.loads(json.dumps(as_stored(flaw)))) == flaw
    assert as_stored(Flaw("Q1")) == {"id": "Q1", "path": []}


@given(demands(st.one_of(plants(), staged_plants())))
def test_a_plan_made_to_keep_nodes_live_has_no_flaw(asked):
    graph, keep = asked
    zones = zones_of(graph)
    found = plan(graph, zones, keep)
    if not isinstance(found, NoPlan):
        assert flaws(graph, zones, found.lock, found.release, keep) == ()


@given(st.one_of(plants(most_nodes=12), staged_plants()), st.data())
def test_what_is_kept_dead_is_what_no_supply_reaches(graph, data):
    """Against networkx's descendants of the supplies, over the graph without the locked isolators."""
    lock = data.draw(subsets([id for id in others_of(graph) if graph[id].kind is Kind.ISOLATOR]))
    keep = sorted(data.draw(subsets(others_of(graph))))
    whole = nx.DiGraph()
    whole.add_nodes_from(graph.nodes)
    whole.add_edges_from(exhaustive.arcs(graph))
    open_graph = whole.subgraph(set(graph.nodes) - lock)
    supplies = exhaustive.kinds(graph, Kind.SUPPLY)
    live = supplies.union(*(nx.descendants(open_graph, id) for id in supplies))
    found = kept_dead(graph, lock, keep)
    assert [flaw.id for flaw in found] == [id for id in keep if id not in live]
    for flaw in found:
        leads = any(nx.has_path(whole, id, flaw.id) for id in supplies)
        assert bool(flaw.path) == leads
        if flaw.path:
            assert nx.is_path(whole, flaw.path)
            assert lock.intersection(flaw.path)
