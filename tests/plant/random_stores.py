"""Random `physics` objects of a plant file, sound but otherwise anything."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from permits.plant.rules.stores.physics import MODELS


def figures(least: str, most: str, places: int = 4) -> st.SearchStrategy[str]:
    """Decimals as a plant file writes them."""
    return st.decimals(least, most, places=places, allow_nan=False).map(lambda d: format(d, "f"))


_gas = {"temperature_c": figures("-50", "200"), "ambient_pa": figures("50000", "110000", 0)}
_percent = figures("0", "100", 1)
capacitors = st.fixed_dictionaries(
    {
        "kind": st.just("capacitor"),
        "capacitance_f": figures("0.0001", "0.01", 6),
        "voltage_v": figures("1", "2000", 2),
    },
    optional={
        "bleeder_ohm": figures("1", "100000", 1),
        "voltage_over_percent": _percent,
        "capacitance_over_percent": _percent,
        "bleeder_over_percent": _percent,
    },
)
receivers = st.fixed_dictionaries(
    {
        "kind": st.just("receiver"),
        "volume_l": figures("1", "1000", 1),
        "gauge_bar": figures("0.1", "400", 2),
    },
    optional={
        "orifice_mm": figures("1", "20", 1),
        "discharge": figures("0.1", "1", 2),
        "model": st.sampled_from(MODELS),
    }
    | _gas,
)
spinning = st.fixed_dictionaries(
    {"kind": st.just("spinning"), "speed_rpm": figures("1", "10000", 0)},
    optional={"friction_n_m": figures("0.1", "10", 3)},
).flatmap(
    lambda row: st.one_of(
        st.fixed_dictionaries({"inertia_kg_m2": figures("0.0001", "10")}),
        st.fixed_dictionaries(
            {"disc_mass_kg": figures("0.01", "50"), "disc_diameter_mm": figures("10", "1000", 1)}
        ),
    ).map(lambda inertia: row | inertia)
)
raised = st.fixed_dictionaries(
    {"kind": st.just("raised"), "mass_kg": figures("0.1", "9000"), "height_m": figures("0.001", "20")}
)


@st.composite
def accumulators(draw: st.DrawFn) -> dict[str, str]:
    precharge = draw(st.integers(1, 200))
    row = {
        "kind": "accumulator",
        "volume_l": draw(figures("0.1", "200", 2)),
        "precharge_gauge_bar": str(precharge),
        "gauge_bar": str(precharge + draw(st.integers(1, 400))),
    }
    more = st.fixed_dictionaries({}, optional={"warming_s": figures("1", "600", 0)} | _gas)
    return row | draw(more)


@st.composite
def springs(draw: st.DrawFn) -> dict[str, str]:
    travel = draw(st.integers(2, 500))
    row = {
        "kind": "spring",
        "stiffness_n_per_m": draw(figures("1", "1000000", 1)),
        "travel_mm": str(travel),
    }
    if draw(st.booleans()):
        row["left_mm"] = str(draw(st.integers(0, travel - 1)))
    return row


@st.composite
def hot_parts(draw: st.DrawFn) -> dict[str, str]:
    ambient = draw(st.integers(-30, 60))
    row = {
        "kind": "hot",
        "ambient_c": str(ambient),
        "temperature_c": str(ambient + draw(st.integers(1, 900))),
    }
    if draw(st.booleans()):
        row |= {"mass_kg": draw(figures("0.1", "900")), "specific_heat_j_per_kg_k": "490"}
    more = st.fixed_dictionaries(
        {}, optional={"time_constant_s": figures("1", "20000", 0), "contact_s": figures("10", "28800", 1)}
    )
    return row | draw(more)


stores: st.SearchStrategy[dict[str, Any]] = st.one_of(
    capacitors, receivers, accumulators(), spinning, raised, springs(), hot_parts()
)
