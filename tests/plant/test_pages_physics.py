"""A store's physics by form: its kind, its figures, what is impossible, and taking it out again."""

from __future__ import annotations

from dataclasses import fields

import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.plant import queries
from permits.plant.actions import save_node
from permits.plant.pages.stores import FIGURES, KIND_WORDS
from permits.plant.rules.noderows import write_node
from permits.plant.rules.stores.kinds import KINDS, MEDIUM_OF
from permits.plant.store import node_of
from tests.factories_plant import CLERK

NODE = reverse("plant:node", args=["C1-CDC"])
CHOOSE = reverse("plant:choose-physics", args=["C1-CDC"])
REMOVE = reverse("plant:remove-physics", args=["C1-CDC"])
GIVEN = {
    "capacitor": {"capacitance_f": "0.0022", "voltage_v": "565.7", "bleeder_ohm": "22000"},
    "receiver": {"volume_l": "500", "gauge_bar": "7", "orifice_mm": "6", "model": "isentropic"},
    "accumulator": {"volume_l": "10", "precharge_gauge_bar": "70", "gauge_bar": "120", "warming_s": "90"},
    "spinning": {"speed_rpm": "3000", "disc_mass_kg": "6.782", "disc_diameter_mm": "500"},
    "raised": {"mass_kg": "350", "height_m": "1.8"},
    "spring": {"stiffness_n_per_m": "24000", "travel_mm": "100", "left_mm": "5"},
    "hot": {"temperature_c": "140", "ambient_c": "20", "time_constant_s": "3200"},
}


def page_of(answer) -> str:
    return answer.content.decode()


def at(store: str, code: str = "C1-CDC") -> str:
    return reverse("plant:physics", args=[code, store])


def row(site, code="C1-CDC"):
    return write_node(node_of(queries.node_of(site, code)))


@pytest.fixture
def tank(works):
    """A store of which nothing is said but that it is one."""
    save_node(site=works, node={"id": "TANK", "kind": "store"}, by=CLERK, at=now())
    return works


def test_every_figure_of_every_kind_can_be_given():
    for kind, of in KINDS.items():
        asked = {figure.name for figure in FIGURES[kind]} | ({"model"} if kind == "receiver" else set())
        assert asked == {field.name for field in fields(of)}
    assert set(KIND_WORDS) == set(KINDS) == set(GIVEN)


def test_the_page_of_a_store_leads_there_for_the_officer_only(as_maud, as_odo, tank):
    assert CHOOSE in page_of(as_maud.get(NODE))
    assert CHOOSE not in page_of(as_odo.get(NODE))
    bare = reverse("plant:node", args=["TANK"])
    assert "Its physics is not described" in page_of(as_odo.get(bare))
    assert reverse("plant:choose-physics", args=["TANK"]) in page_of(as_maud.get(bare))


def test_only_a_store_has_it(as_maud):
    for name, args in (("choose-physics", ["C1-QB1"]), ("physics", ["C1-QB1", "hot"])):
        assert as_maud.get(reverse(f"plant:{name}", args=args)).status_code == 404
    assert as_maud.get(at("flywheel")).status_code == 404


def test_the_kinds_that_fit_its_energy_are_offered(as_maud, tank):
    page = page_of(as_maud.get(CHOOSE))
    assert at("capacitor") in page
    assert at("receiver") not in page
    assert "A receiver: pneumatic" in page
    bare = page_of(as_maud.get(reverse("plant:choose-physics", args=["TANK"])))
    assert all(at(kind, "TANK") in bare for kind in KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_saved_with_its_figures_once(as_maud, tank, keyed, entries, kind):
    save_node(site=tank, node={"id": "TANK", "kind": "store", "medium": MEDIUM_OF[kind]}, by=CLERK, at=now())
    before = len(entries("PLANT_CHANGED"))
    data = keyed(**GIVEN[kind])
    for _ in range(2):
        assert as_maud.post(at(kind, "TANK"), data).url == reverse("plant:node", args=["TANK"])
    assert row(tank, "TANK")["physics"] == {"kind": kind} | GIVEN[kind]
    assert len(entries("PLANT_CHANGED")) == before + 1
    assert entries("PLANT_CHANGED")[-1]["put"]["nodes"][0]["physics"] == {"kind": kind} | GIVEN[kind]


def test_afterwards_the_page_shows_what_it_comes_to(as_maud, works, keyed):
    as_maud.post(at("capacitor"), keyed(capacitance_f="0.001", voltage_v="600", bleeder_ohm="10000"))
    page = page_of(as_maud.get(NODE))
    assert "180 J" in page  # 1/2 C V^2 = 0.5 x 0.001 F x 600^2 V^2, as in any physics textbook
    assert "What the figures rest on" in page


def test_nothing_else_of_the_store_is_changed(as_maud, works, keyed):
    before = row(works)
    as_maud.post(at("capacitor"), keyed(capacitance_f="0.001", voltage_v="600"))
    after = row(works)
    assert after.pop("physics") == {"kind": "capacitor", "capacitance_f": "0.001", "voltage_v": "600"}
    before.pop("physics")
    assert after == before


def test_the_form_shows_what_is_there_and_what_is_assumed(as_maud):
    form = as_maud.get(at("capacitor")).context["form"]
    assert form["capacitance_f"].value() == "0.0022"
    assert form["voltage_over_percent"].value() == "10"
    assert as_maud.get(at("hot", "P1-HOT")).context["form"]["contact_s"].value() == "28800"


@pytest.mark.parametrize(
    ("kind", "code", "typed", "field", "says"),
    [
        ("capacitor", "C1-CDC", {"voltage_v": ""}, "voltage_v", "Highest voltage is missing; such as 565.7"),
        (
            "capacitor",
            "C1-CDC",
            {"capacitance_f": "2200"},
            "bleeder_ohm",
            None,
        ),
        (
            "capacitor",
            "C1-CDC",
            {"capacitance_f": "2.2 mF"},
            "capacitance_f",
            "This is '2.2 mF'. Right would",
        ),
        ("capacitor", "C1-CDC", {"voltage_v": "565,7"}, "voltage_v", "Right would be volts, such as 565.7"),
        ("capacitor", "C1-CDC", {"bleeder_ohm": "0"}, "bleeder_ohm", "ohms, such as 22000, from 0.001"),
        (
            "accumulator",
            "P1-ACC",
            {"gauge_bar": "60"},
            "gauge_bar",
            "not above the precharge of 70: it would hold no oil. Right would be the highest pressure of the "
            "oil, above “Precharge”.",
        ),
        (
            "spinning",
            "C1-BLADE",
            {"disc_mass_kg": "", "disc_diameter_mm": ""},
            "inertia_kg_m2",
            "This is missing. Right would be “Moment of inertia”, or “Mass of the disc” with “Diameter of "
            "the disc”.",
        ),
        ("spring", "K4-SPRING", {"left_mm": "100"}, "left_mm", "not below “Travel from the free length”"),
        ("hot", "P1-HOT", {"ambient_c": "140"}, "temperature_c", "not above “Temperature around it”"),
        ("hot", "P1-HOT", {"mass_kg": "900"}, "specific_heat_j_per_kg_k", "missing beside “Mass”"),
        ("hot", "P1-HOT", {"temperature_c": "-300"}, "temperature_c", "°C, such as 140, from -50 to 3000"),
        ("receiver", "AIR-REC", {"model": "brod"}, "model", "brod is no model of the list"),
    ],
)
def test_what_cannot_be_is_said_at_its_field_and_stays_as_typed(
    as_maud, works, keyed, entries, kind, code, typed, field, says
):
    count, before = len(entries("PLANT_CHANGED")), row(works, code)
    answer = as_maud.post(at(kind, code), keyed(**GIVEN[kind] | typed))
    assert answer.status_code == 422
    form = answer.context["form"]
    if says is None:  # RC ln(V/50 V) with +20 %, +5 %, +10 %: 1780 days
        (error,) = form.non_field_errors()
        assert "This gives a wait of 1780 days." in error
        assert "see the units beside them" in error
    else:
        (error,) = form.errors[field]
        assert says in error
    for value in typed.values():
        assert f'value="{value}"' in page_of(answer) or not value or kind == "receiver"
    assert (len(entries("PLANT_CHANGED")), row(works, code)) == (count, before)


def test_a_kind_that_does_not_fit_its_energy_is_refused(as_maud, keyed):
    answer = as_maud.post(at("raised"), keyed(**GIVEN["raised"]))
    assert answer.status_code == 422
    (error,) = answer.context["form"].non_field_errors()
    assert "'raised' on a store of medium 'electrical'. Right would be medium 'gravity' for it" in error


def test_a_hot_part_whose_test_passes_more_than_its_burn_threshold_is_refused(as_maud, works, keyed):
    loose = {"id": "OVEN", "kind": "store", "test": {"quantity": "surface", "unit": "°C", "limit": "48"}}
    save_node(site=works, node=loose, by=CLERK, at=now())
    # ISO 13732-1 (from memory): 43 °C for bare metal that is touched all shift, 48 °C for ten minutes
    answer = as_maud.post(at("hot", "OVEN"), keyed(**GIVEN["hot"]))
    assert "looser than the published limit of 43 °C" in answer.context["form"].non_field_errors()[0]
    assert as_maud.post(at("hot", "OVEN"), keyed(contact_s="600", **GIVEN["hot"])).status_code == 302


def test_what_someone_changed_meanwhile_is_not_overwritten(as_maud, works, keyed):
    seen = as_maud.get(at("capacitor")).context["form"]["seen"].value()
    save_node(site=works, node=row(works) | {"place": "Moved"}, by=CLERK, at=now())
    answer = as_maud.post(at("capacitor"), keyed(**GIVEN["capacitor"] | {"voltage_v": "800", "seen": seen}))
    assert answer.status_code == 422
    assert row(works)["physics"]["voltage_v"] == "565.7"


def test_it_can_be_taken_out_again(as_maud, works, keyed, entries):
    before = row(works)
    assert "neither its energy nor a wait is computed" in page_of(as_maud.get(REMOVE))
    assert as_maud.post(REMOVE, keyed()).url == NODE
    before.pop("physics")
    assert row(works) == before
    assert "physics" not in entries("PLANT_CHANGED")[-1]["put"]["nodes"][0]
    assert "Its physics is not described" in page_of(as_maud.get(NODE))
