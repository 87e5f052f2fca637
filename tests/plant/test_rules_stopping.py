"""What else loses its energy when a plan is carried out."""

from hypothesis import given

from permits.plant.rules.energy import Kind
from permits.plant.rules.plantfile import check
from permits.plant.rules.stopping import Stopped, stopped_by
from tests.factories_plant import plants, quillfen, small_plant


def two_mills() -> dict:
    """The small plant, with another machine's zone fed through the same valve."""
    plant = small_plant()
    plant["machines"].append({"id": "M2", "name": "Moulder"})
    plant["nodes"] += [
        {"id": "CYL2", "kind": "carrier", "machine": "M2"},
        {"id": "BED2", "kind": "zone", "machine": "M2"},
    ]
    plant["links"] += [{"from": "V1", "to": "CYL2"}, {"from": "CYL2", "to": "BED2"}]
    return plant


def test_zones_and_machines_that_lose_their_energy_are_named():
    graph = check(two_mills()).graph
    assert stopped_by(graph, ["V1"], [], besides=["M1"]) == Stopped(("BED2",), ("M2",))


def test_what_is_fed_otherwise_does_not_stop():
    plant = two_mills()
    plant["links"].append({"from": "FEED", "to": "CYL2"})
    assert stopped_by(check(plant).graph, ["V1"], [], besides=["M1"]) == Stopped((), ())


def test_the_boards_coupler_keeps_the_other_board_alive():
    graph = quillfen().graph
    assert stopped_by(graph, ["B3-QB1"], []) == Stopped((), ())
    both = stopped_by(graph, ["B3-QB1", "B4-QB1"], [])
    assert "K4" in both.machines
    assert "K4-TRANSFER" in both.zones


def test_nothing_locked_stops_nothing():
    assert stopped_by(quillfen().graph, [], []) == Stopped((), ())


@given(plants())
def test_a_zone_that_stops_is_reached_before_and_not_after(plant):
    from permits.plant.rules.exposure import witness

    graph = check(plant).graph
    lock = [id for id, node in graph.nodes.items() if node.kind is Kind.ISOLATOR]
    release = [id for id, node in graph.nodes.items() if node.kind is Kind.STORE]
    zones = [id for id, node in graph.nodes.items() if node.kind is Kind.ZONE]
    stopped = set(stopped_by(graph, lock, release).zones)
    for zone in zones:
        before = witness(graph, zone) is not None
        after = witness(graph, zone, locked=frozenset(lock), released=frozenset(release)) is not None
        assert (zone in stopped) == (before and not after)
