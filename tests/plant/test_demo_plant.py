"""The demo plant: what design asks of it, and that each of its stories really holds in its graph."""

from collections import Counter
from math import pi, sqrt

import pytest

from permits.plant.rules.energy import Graph, Kind, Medium
from permits.plant.rules.exposure import exposed, live, witness
from permits.plant.rules.plan import NoPlan, Plan, plan
from tests.factories_plant import SAW_ZONES, quillfen

LINE_3_OWN = {"C1-QB1", "C1-QB3", "C1-QM1"}
SAW_STORES = {"C1-CDC", "C1-BLADE", "C1-GANTRY"}


@pytest.fixture(scope="module")
def graph() -> Graph:
    return quillfen().graph


def planned(graph: Graph, *zones: str, keep: tuple[str, ...] = ()) -> Plan:
    found = plan(graph, zones, keep)
    assert isinstance(found, Plan)
    return found


def test_it_is_large_enough_and_marked_as_invented(graph):
    assert len(quillfen().machines) == 4
    assert len(graph.nodes) >= 60
    assert quillfen().note.startswith("Invented")
    kinds = Counter(node.kind for node in graph.nodes.values())
    assert all(kinds[kind] >= 5 for kind in Kind), kinds


def test_it_has_every_energy_of_the_design(graph):
    asked = {"electrical", "pneumatic", "hydraulic", "gravity", "rotating"}
    assert asked <= {node.medium.value for node in graph.nodes.values() if node.medium}
    capacitors = [n for n in graph.nodes.values() if n.kind is Kind.STORE and n.medium is Medium.ELECTRICAL]
    assert {n.id for n in capacitors} == {"C1-CDC", "D1-CDC"}


def test_every_point_can_be_found_and_tested(graph):
    for node in graph.nodes.values():
        if node.is_point:
            assert node.place, node.id
            assert node.designation.startswith("="), node.id
            assert node.medium, node.id
            assert node.magnitude, node.id
            assert node.test, node.id
        if node.kind is Kind.ISOLATOR:
            assert node.device, node.id
        if node.kind is Kind.ISOLATOR and node.medium is Medium.ELECTRICAL:
            assert node.test
            assert len(node.test.combinations) in (3, 6, 10), node.id
        if node.kind is Kind.STORE:
            assert node.release, node.id


def test_designations_are_its_own(graph):
    counted = Counter(node.designation for node in graph.nodes.values() if node.designation)
    assert max(counted.values()) == 1


def test_control_devices_are_carriers(graph):
    kinds = {graph[id].kind for id in ("C1-ES", "C1-STO", "C1-KM1", "C1-YV1", "D1-BC1", "D1-RM1", "P1-RM1")}
    assert kinds == {Kind.CARRIER}


def test_every_zone_can_be_isolated(graph):
    zones = [node.id for node in graph.nodes.values() if node.kind is Kind.ZONE]
    assert len(zones) >= 6
    for zone in zones:
        found = planned(graph, zone)
        assert found.lock, zone
        assert witness(graph, zone, locked=set(found.lock), released=set(found.release)) is None


def test_the_saw_takes_eight_points(graph):
    found = planned(graph, *SAW_ZONES)
    assert found.lock == ("C1-QB1", "C1-QB2", "C1-QB3", "C1-QM1", "OUT-QB1")
    assert set(found.release) == SAW_STORES
    assert found.effort == 10


def test_the_outfeed_is_fed_from_the_neighbours_board(graph):
    path = witness(graph, "C1-OUTFEED", locked=LINE_3_OWN | {"C1-QB2"}, released=SAW_STORES)
    assert path == ("B4-FEED", "B4-QB1", "B4-BAR", "OUT-QB1", "OUT-QA1", "OUT-M1", "C1-OUTFEED")


def test_two_supplies_meet_behind_the_cells_main_disconnector(graph):
    found = exposed(graph, SAW_ZONES, locked=LINE_3_OWN | {"OUT-QB1"}, released=SAW_STORES)
    assert set(found) == set(SAW_ZONES)
    assert all(path[:5] == ("B4-FEED", "B4-QB1", "B4-BAR", "C1-QB2", "C1-RAIL") for path in found.values())


def test_the_ups_feeds_back_to_the_busbar(graph):
    locked = {"C1-QB1", "C1-QB2", "C1-QM1", "OUT-QB1"}
    path = witness(graph, "C1-CHAMBER", locked=locked, released=SAW_STORES)
    assert path is not None
    assert path[:6] == ("UPS", "UPS-QB1", "CTRL-BAR", "C1-QB3", "C1-TA3", "C1-RAIL")


def test_the_controller_can_be_kept_live_for_reading(graph):
    found = planned(graph, *SAW_ZONES, keep=("C1-PLC",))
    assert found == planned(graph, *SAW_ZONES)
    assert "C1-PLC" in live(graph, locked=set(found.lock), released=set(found.release))


def test_the_saw_motor_cannot_be_kept_live_while_someone_is_at_the_blade(graph):
    found = plan(graph, ["C1-CHAMBER"], ["C1-M1"])
    assert isinstance(found, NoPlan)
    assert [(c.keep, c.zone) for c in found.conflicts] == [("C1-M1", "C1-CHAMBER")]


def test_one_boards_incomer_is_not_enough_because_of_the_coupler(graph):
    assert "B3-BAR" in live(graph, locked={"B3-QB1"})
    assert "B3-BAR" not in live(graph, locked={"B3-QB1", "BC-QB1"} | {"C1-QB2", "C1-QB3"})


def test_each_store_alone_is_a_source(graph):
    found = planned(graph, *SAW_ZONES)
    for store in SAW_STORES:
        path = exposed(graph, SAW_ZONES, locked=set(found.lock), released=SAW_STORES - {store})
        assert path, store
        assert all(way[0] == store for way in path.values())


def test_the_lamp_and_socket_stay_live_behind_the_main_disconnector(graph):
    path = witness(graph, "D1-CABINET", locked={"D1-QB1", "D1-QB2"}, released={"D1-CDC"})
    assert path == ("LIGHT-FEED", "LIGHT-QB1", "D1-SOCKET", "D1-CABINET")
    assert planned(graph, "D1-CABINET").lock == ("D1-QB1", "D1-QB2", "LIGHT-QB1")


def test_air_stays_behind_the_non_return_valve(graph):
    assert witness(graph, "D1-BED", locked={"D1-QB1", "D1-QM1"}, released={"D1-CDC", "D1-SPIN"}) == (
        "D1-REC", "D1-YV1", "D1-CYL", "D1-BED",
    )  # fmt: skip


def test_releasing_the_accumulator_beats_climbing_to_the_valve(graph):
    found = planned(graph, "P1-BED")
    assert found.lock == ("P1-QB1",)
    assert found.release == ("P1-ACC", "P1-HOT", "P1-PLATEN")


def test_the_outfeed_conveyor_reaches_the_neighbours_zone_too(graph):
    assert planned(graph, "K4-TRANSFER").lock == ("K4-QB1", "OUT-QB1")


def test_props_and_bleeds_can_be_taken_away_again(graph):
    undoable = {node.id for node in graph.nodes.values() if node.release and node.release.undoable}
    assert undoable == {"AIR-REC", "C1-GANTRY", "D1-REC", "K4-FORK", "P1-ACC", "P1-PLATEN"}


def test_the_bus_waits_as_its_label_says_and_is_dead_at_50_volts(graph):
    bus = graph["C1-CDC"]
    assert bus.release
    assert bus.test
    assert bus.release.wait_s == 300
    assert bus.test.limit == 50
    assert bus.test.combinations == ("L+-L-", "L+-PE", "L--PE")


def test_the_energies_beside_the_stores_follow_from_their_magnitudes(graph):
    # Textbook mechanics and electricity: E = CV²/2 with V = √2·400 V, E = mgh with g = 9.81 m/s², and
    # E = ½·½mr²·ω² for a steel disc 500 mm × 4.4 mm, 7850 kg/m³, at 3000 rpm.
    volts = sqrt(2) * 400
    assert graph["C1-CDC"].magnitude == f"{volts:.0f} V DC, 2.2 mF, {2.2e-3 * volts**2 / 2:.0f} J"
    assert f"{0.9e-3 * volts**2 / 2:.0f} J" in graph["D1-CDC"].magnitude
    assert f"{180 * 9.81 * 0.6 / 1000:.2f} kJ" in graph["C1-GANTRY"].magnitude
    assert f"{900 * 9.81 * 0.4 / 1000:.2f} kJ" in graph["P1-PLATEN"].magnitude
    assert f"{350 * 9.81 * 1.8 / 1000:.2f} kJ" in graph["K4-FORK"].magnitude
    mass = 7850 * pi * 0.25**2 * 0.0044
    omega = 2 * pi * 3000 / 60
    assert f"{mass * 0.25**2 / 2 * omega**2 / 2 / 1000:.1f} kJ" in graph["C1-BLADE"].magnitude
