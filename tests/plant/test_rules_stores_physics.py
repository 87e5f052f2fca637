"""The member `physics` of a store: what is read from it, and that every mistake is named with its remedy."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given

from permits.plant.rules.energy import Node
from permits.plant.rules.plantfile import PlantFileErrors, as_dict, check, parse
from permits.plant.rules.stores.gas import Model
from permits.plant.rules.stores.kinds import KINDS, MEDIUM_OF, Accumulator, Capacitor, Receiver
from permits.plant.rules.stores.physics import stored_physics, write_physics
from tests.factories_plant import text_of
from tests.plant.random_stores import stores

BUS = {"kind": "capacitor", "capacitance_f": "0.0022", "voltage_v": "565.7", "bleeder_ohm": "22000"}
AIR = {"kind": "receiver", "volume_l": 500, "gauge_bar": 7}
OIL = {"kind": "accumulator", "volume_l": 10, "precharge_gauge_bar": 70, "gauge_bar": 120}
BLADE = {"kind": "spinning", "speed_rpm": 3000, "inertia_kg_m2": "0.212"}
BEAM = {"kind": "raised", "mass_kg": 180, "height_m": 0.6}
COIL = {"kind": "spring", "stiffness_n_per_m": 24000, "travel_mm": 100}
PLATEN = {"kind": "hot", "temperature_c": 140, "ambient_c": 20}
ALL = (BUS, AIR, OIL, BLADE, BEAM, COIL, PLATEN)


def plant(physics: object, **more: object) -> str:
    return text_of(
        {
            "plant": "P",
            "nodes": [{"id": "S", "kind": "store", "physics": physics} | more],
            "links": [],
        }
    )


def read(physics: object, **more: object) -> Node:
    return parse(plant(physics, **more)).graph["S"]


def wrong(physics: object, **more: object) -> list[tuple[str, str, str]]:
    with pytest.raises(PlantFileErrors) as caught:
        parse(plant(physics, **more))
    assert all(error.row == "nodes[0] (id 'S')" for error in caught.value.errors)
    return [(error.field, error.wrong, error.right) for error in caught.value.errors]


def the_one_wrong(physics: object, **more: object) -> tuple[str, str, str]:
    found = wrong(physics, **more)
    assert len(found) == 1, found
    return found[0]


def test_every_kind_is_read_and_has_its_medium():
    assert {one["kind"] for one in ALL} == set(KINDS) == set(MEDIUM_OF)
    for one in ALL:
        node = read(one, medium=MEDIUM_OF[one["kind"]])
        assert node.physics is not None
        assert node.physics.kind == one["kind"]
        assert read(one).physics == node.physics


def test_figures_are_kept_exactly():
    assert read(BUS).physics == Capacitor(Decimal("0.0022"), Decimal("565.7"), Decimal(22000))
    assert read(AIR | {"gauge_bar": 7.05, "model": "isentropic"}).physics == Receiver(
        Decimal(500), Decimal("7.05"), model=Model.ISENTROPIC
    )
    assert read(OIL | {"temperature_c": "-5"}).physics == Accumulator(
        Decimal(10), Decimal(70), Decimal(120), temperature_c=Decimal(-5)
    )


def test_a_store_without_it_has_none():
    assert (
        parse('{"plant": "P", "nodes": [{"id": "S", "kind": "store"}], "links": []}').graph["S"].physics
        is None
    )


@given(stores)
def test_what_is_written_reads_back_the_same(physics):
    node = read(physics, medium=MEDIUM_OF[physics["kind"]])
    assert node.physics is not None
    written = write_physics(node.physics)
    assert stored_physics(written) == node.physics
    assert read(written).physics == node.physics
    file = parse(plant(physics))
    assert check(as_dict(file)) == file


def test_defaults_are_left_out():
    assert write_physics(read(BUS | {"voltage_over_percent": 10}).physics) == BUS
    assert write_physics(read(COIL | {"left_mm": 0}).physics) == {
        "kind": "spring",
        "stiffness_n_per_m": "24000",
        "travel_mm": "100",
    }


@pytest.mark.parametrize("value", [None, "capacitor", 5, [BUS], True])
def test_it_is_an_object(value):
    field, _, right = the_one_wrong(value)
    assert field == "physics"
    assert right == "an object with the kind of store"


def test_its_kind_is_a_known_one():
    assert the_one_wrong({})[:2] == ("physics.kind", "is missing")
    field, said, right = the_one_wrong({"kind": "capacitator"})
    assert field == "physics.kind"
    assert said == "is 'capacitator'"
    assert right.startswith("'capacitor', if that was meant, or one of")
    assert the_one_wrong({"kind": 5})[1] == "is 5"


def test_unknown_members_name_the_nearest_known_one():
    field, said, right = the_one_wrong(BUS | {"bleed_ohm": 5})
    assert field == "physics.bleed_ohm"
    assert said == "the plant file knows no such member"
    assert right == "'bleeder_ohm', if that was meant"
    assert the_one_wrong(BUS | {"model": "brode"})[0] == "physics.model"


def test_all_that_is_wrong_is_told_at_once():
    found = wrong({"kind": "receiver", "gauge_bar": "seven", "orifice_mm": 0, "model": "brod", "hole": 1})
    assert {field for field, _, _ in found} == {
        "physics.volume_l", "physics.gauge_bar", "physics.orifice_mm", "physics.model", "physics.hole",
    }  # fmt: skip
    rights = {field: right for field, _, right in found}
    assert rights["physics.volume_l"] == "litres, such as 500"
    assert rights["physics.model"].startswith("'brode', if that was meant")


@pytest.mark.parametrize(
    ("one", "field", "value"),
    [
        (BUS, "capacitance_f", 0),
        (BUS, "capacitance_f", -0.0022),
        (BUS, "capacitance_f", "2.2 mF"),
        (BUS, "capacitance_f", None),
        (BUS, "capacitance_f", 10001),
        (BUS, "capacitance_f", "2200000000000000"),
        (BUS, "voltage_v", True),
        (BUS, "voltage_v", "566V"),
        (BUS, "voltage_v", "5,6"),
        (BUS, "voltage_v", "1e3"),
        (BUS, "bleeder_ohm", 0),
        (BUS, "bleeder_ohm", None),
        (BUS, "voltage_over_percent", -1),
        (AIR, "volume_l", 0),
        (AIR, "gauge_bar", -0.5),
        (AIR, "discharge", 1.01),
        (AIR, "discharge", 0),
        (AIR, "ambient_pa", 1),
        (AIR, "temperature_c", -274),
        (OIL, "warming_s", 0),
        (BLADE, "speed_rpm", 0),
        (BLADE, "friction_n_m", 0),
        (BEAM, "mass_kg", 0),
        (BEAM, "height_m", -1),
        (COIL, "travel_mm", 0),
        (COIL, "left_mm", -1),
        (PLATEN, "contact_s", 9),
        (PLATEN, "contact_s", 28801),
        (PLATEN, "ambient_c", "warm"),
        (PLATEN, "time_constant_s", 0),
    ],
)
def test_impossible_figures_name_their_field_and_what_is_right(one, field, value):
    found, said, right = the_one_wrong(one | {field: value})
    assert found == f"physics.{field}"
    assert said.startswith("is ")
    assert any(word in right for word in ("such as", "percent", "from"))


@pytest.mark.parametrize("one", ALL, ids=lambda one: one["kind"])
def test_every_needed_member_is_asked_for(one):
    for field in one:
        if (one["kind"], field) != ("capacitor", "bleeder_ohm"):
            missing = {name: value for name, value in one.items() if name != field}
            assert the_one_wrong(missing)[:2] == (f"physics.{field}", "is missing")


@pytest.mark.parametrize(
    ("physics", "field", "words"),
    [
        (OIL | {"gauge_bar": 70}, "gauge_bar", "it would hold no oil"),
        (OIL | {"gauge_bar": 60}, "gauge_bar", "not above the precharge of 70"),
        (
            BLADE | {"disc_mass_kg": 5, "disc_diameter_mm": 500},
            "inertia_kg_m2",
            "beside the measures of a disc",
        ),
        ({"kind": "spinning", "speed_rpm": 5, "disc_mass_kg": 5}, "disc_diameter_mm", "missing beside"),
        ({"kind": "spinning", "speed_rpm": 5, "disc_diameter_mm": 5}, "disc_mass_kg", "missing beside"),
        (COIL | {"left_mm": 100}, "left_mm", "not below travel_mm"),
        (PLATEN | {"ambient_c": 140}, "temperature_c", "not above ambient_c"),
        (PLATEN | {"mass_kg": 5}, "specific_heat_j_per_kg_k", "missing beside mass_kg"),
        (BUS | {"bleeder_ohm": 900000000}, "kind", "gives a wait of"),
    ],
)
def test_figures_that_cannot_be_together(physics, field, words):
    found, said, right = the_one_wrong(physics)
    assert found == f"physics.{field}"
    assert words in said
    assert right


def test_it_stands_on_a_store_only():
    field, said, right = the_one_wrong(BUS, kind="isolator")
    assert (field, said) == ("physics", "stands on a node of kind isolator")
    assert right == "physics on a store only"


def test_its_kind_fits_the_medium():
    field, said, right = the_one_wrong(BUS, medium="hydraulic")
    assert field == "physics.kind"
    assert said == "is 'capacitor' on a store of medium 'hydraulic'"
    assert right == "medium 'electrical' for it, or another kind"


def test_members_given_twice_and_numbers_that_are_none_are_told():
    twice = plant(BUS).replace('"kind": "capacitor"', '"kind": "capacitor", "kind": "capacitor"')
    with pytest.raises(PlantFileErrors, match="more than once"):
        parse(twice)
    with pytest.raises(PlantFileErrors, match=r"physics\.voltage_v"):
        parse(plant(BUS).replace('"565.7"', "NaN"))


def test_a_bare_graph_passes_over_members_it_does_not_know():
    assert parse(plant(BUS | {"colour": "red"}), strict=False).graph["S"].physics is not None
