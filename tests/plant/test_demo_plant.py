"""The demo plant: what design asks of it, and that each of its stories really holds in its graph."""

import re
from collections import Counter
from math import pi, sqrt

import pytest

from permits.plant.rules.energy import Graph, Kind, Medium
from permits.plant.rules.exposure import exposed, live, witness
from permits.plant.rules.plan import NoPlan, Plan, plan
from permits.plant.rules.stores.numbers import numbers_of, wait_needed
from permits.plant.rules.stores.physics import write_physics
from tests.factories_plant import SAW_ZONES, quillfen

LINE_3_OWN = {"C1-QB1", "C1-QB3", "C1-QM1"}
SAW_STORES = {"C1-CDC", "C1-BLADE", "C1-GANTRY"}
STORES = sorted(id for id, node in quillfen().graph.nodes.items() if node.kind is Kind.STORE)


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
    # Textbook mechanics and electricity: E = CV²/2 with V = √2·400 V, E = mgh with g = 9.80665 m/s²,
    # E = ½·½mr²·ω² for a steel disc 500 mm × 4.4 mm, 7850 kg/m³, at 3000 rpm, E = kx²/2.
    volts = sqrt(2) * 400
    assert graph["C1-CDC"].magnitude == f"{volts:.0f} V DC, 2.2 mF, {2.2e-3 * volts**2 / 2:.0f} J"
    assert f"{0.9e-3 * volts**2 / 2:.0f} J" in graph["D1-CDC"].magnitude
    assert f"{180 * 9.80665 * 0.6 / 1000:.2f} kJ" in graph["C1-GANTRY"].magnitude
    assert f"{900 * 9.80665 * 0.4 / 1000:.2f} kJ" in graph["P1-PLATEN"].magnitude
    assert f"{350 * 9.80665 * 1.8 / 1000:.2f} kJ" in graph["K4-FORK"].magnitude
    mass = 7850 * pi * 0.25**2 * 0.0044
    omega = 2 * pi * 3000 / 60
    assert f"{mass * 0.25**2 / 2 * omega**2 / 2 / 1000:.1f} kJ" in graph["C1-BLADE"].magnitude
    assert f"{24_000 * 0.1**2 / 2:.0f} J" in graph["K4-SPRING"].magnitude
    assert "90 J" in graph["D1-SPIN"].magnitude


@pytest.mark.parametrize("store", STORES)
def test_the_figures_of_a_store_are_those_beside_it(graph, store):
    """Every figure on the label that has a unit of the description is one that it describes."""
    node = graph[store]
    found = numbers_of(node)
    assert found, f"{store} has no physics"
    assert found.hazardous
    energies = re.findall(r"([\d.]+) (k?J)\b", node.magnitude)
    for figure, unit in energies:
        digits = len(figure.partition(".")[2])
        assert f"{found.energy_j / {'J': 1, 'kJ': 1000}[unit]:.{digits}f}" == figure
    described = {
        f"{float(value):g}" for value in write_physics(node.physics).values() if value[0].isdigit()
    } | {"566", "2.2", "0.9"}
    others = re.sub(r"[\d.]+ k?J\b", "", node.magnitude)
    assert set(re.findall(r"[\d.]*\d", others)) <= described


def test_the_officers_waits_are_no_shorter_than_physics_asks(graph):
    for store in STORES:
        node = graph[store]
        assert wait_needed(node) == node.release.wait_s, store
    worked_out = {store for store in STORES if numbers_of(graph[store]).wait_s is not None}
    assert worked_out == {"AIR-REC", "C1-BLADE", "C1-CDC", "D1-CDC", "D1-REC", "D1-SPIN", "P1-HOT"}


def test_the_accumulators_gas_stays_and_its_oil_can_come_back(graph):
    found = numbers_of(graph["P1-ACC"])
    assert found.stays_j > 100_000
    assert "70 bar stay in it" in " ".join(found.assumptions)
    assert "leave the drain open" in found.comes_back
