"""The figures of gas receivers and of hydraulic accumulators. Pure."""

from __future__ import annotations

from permits.plant.rules.energy import Test
from permits.plant.rules.rows import plain
from permits.plant.rules.stores import accumulator as charged
from permits.plant.rules.stores import blowdown, ends, gas, hazard, orifice
from permits.plant.rules.stores.figures import Numbers, Wait
from permits.plant.rules.stores.kinds import Accumulator, Receiver
from permits.plant.rules.stores.wording import bar, duration, joules

_ZERO_C_IN_K = 273.15


def receiver(store: Receiver, test: Test | None, lines: hazard.Lines) -> Numbers:
    """Energy by the named model, or by the one that gives most; the longer of two blow-down times."""
    volume, kelvin, ambient = float(store.volume_l) / 1e3, _kelvin(store), float(store.ambient_pa)
    gauge = float(store.gauge_bar) * 1e5
    full = gas.absolute_pa(gauge, ambient)
    most = gas.largest(full, volume, ambient_pa=ambient)
    if store.model is None:
        energy, by = most.energy_j, f"Energy by {most.model.words} model: {most.why}."
    else:
        energy = gas.energy_j(full, volume, store.model, ambient_pa=ambient)
        by = f"Energy by {store.model.words} model, as the plant file asks; {most.model.words} model gives "
        by += f"the most of four, {joules(most.energy_j)}."
    end = ends.gauge_pa(test)
    shut_at = ambient + min(gauge, end or 0.0)
    returns = charged.vent_fast(volume, full, shut_at, kelvin).returns_to_pa - ambient
    return Numbers.of(
        energy,
        hazard.gas(gauge, most.energy_j, lines),
        _until_empty(store, end),
        (
            by,
            f"Air or nitrogen at {plain(store.temperature_c)} °C; {bar(ambient)} around it, on top of which "
            "gauge pressures count.",
            "Nothing feeds it, and the way out stays free of ice and dirt.",
        ),
        f"The gas turns cold as it leaves. Shut in at {bar(shut_at - ambient)} it can come back to "
        f"{bar(returns)} as it warms: leave the drain open. A valve that leaks fills it again.",
    )


def _until_empty(store: Receiver, end_gauge_pa: float | None) -> Wait:
    if store.orifice_mm is None:
        return Wait(None, "The way out is not described, so no time is known: vent it, then read the gauge.")
    if end_gauge_pa is None:
        return Wait(None, "The point's test states no gauge pressure, so there is none to wait for.")
    if end_gauge_pa <= 0:
        return Wait(None, "No stated end above 0 bar: the last of it takes as long as one likes.")
    ambient = float(store.ambient_pa)
    vessel = blowdown.Vessel(
        volume_m3=float(store.volume_l) / 1e3,
        pressure_pa=gas.absolute_pa(float(store.gauge_bar) * 1e5, ambient),
        area_m2=orifice.area_m2(float(store.orifice_mm) / 1e3),
        discharge=float(store.discharge),
        temperature_k=_kelvin(store),
        ambient_pa=ambient,
    )
    seconds, assumption = blowdown.longest(vessel, ambient + end_gauge_pa)
    return Wait(
        seconds,
        f"From {plain(store.gauge_bar)} bar to {bar(end_gauge_pa)} gauge through "
        f"{plain(store.orifice_mm)} mm with a discharge coefficient of {plain(store.discharge)}, "
        f"{assumption}, the longer of the two assumptions: {duration(seconds)}. "
        "Read the gauge at the point of work.",
    )


def accumulator(store: Accumulator, lines: hazard.Lines) -> Numbers:
    """The gas's work on the oil; the gas itself stays."""
    volume, kelvin, ambient = float(store.volume_l) / 1e3, _kelvin(store), float(store.ambient_pa)
    gauge = float(store.gauge_bar) * 1e5
    full = gas.absolute_pa(gauge, ambient)
    precharge = gas.absolute_pa(float(store.precharge_gauge_bar) * 1e5, ambient)
    energy, n = charged.most_work_j(precharge, volume, full)
    stays = charged.rupture_energy_j(precharge, volume, ambient_pa=ambient)
    gas_m3 = charged.gas_volume_m3(precharge, volume, full)
    oil_l = charged.oil_held_m3(precharge, volume, full) * 1e3
    vented = charged.vent_fast(gas_m3, full, precharge, kelvin)
    when = ""
    if store.warming_s is not None:
        seconds = charged.return_time_s(float(store.warming_s), 0.95)
        when = f", most of it within {duration(seconds)}"
    return Numbers.of(
        energy,
        hazard.gas(gauge, energy + stays, lines),
        Wait(
            None,
            "How fast the oil leaves is not described: bleed it until the gauge shows the test's limit, "
            "then test.",
        ),
        (
            f"{oil_l:.3g} l of oil held; the gas's work on it with n = {n:g}, the larger of slow and fast.",
            f"Bleeding the oil does not empty the gas: {bar(precharge - ambient)} stay in it, with "
            f"{joules(stays)} (isentropic) if its shell breaks.",
        ),
        f"Let down fast to {bar(precharge - ambient)} and shut in with oil in it, its gas is at "
        f"{vented.temperature_k - _ZERO_C_IN_K:.0f} °C and can come back to "
        f"{bar(vented.returns_to_pa - ambient)} as it warms{when}: leave the drain open.",
        stays,
    )


def _kelvin(store: Receiver | Accumulator) -> float:
    return float(store.temperature_c) + _ZERO_C_IN_K
