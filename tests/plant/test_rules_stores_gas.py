"""Compressed gas for any sound value: which model is above which, accumulators, pressure that comes back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.stores import accumulator, gas
from permits.plant.rules.stores.gas import Model

ratios = st.floats(1, 1e4)
volumes = st.floats(1e-4, 1e3)
ambients = st.floats(5e4, 1.1e5)
gammas = st.floats(1.05, 1.67)
exponents = st.floats(1, 1.67)


def all_four(ratio, volume, ambient, gamma):
    return {
        model: gas.energy_j(ratio * ambient, volume, model, ambient_pa=ambient, gamma=gamma)
        for model in Model
    }


@given(ratios, volumes, ambients, gammas)
def test_the_orderings_that_hold_everywhere(ratio, volume, ambient, gamma):
    found = all_four(ratio, volume, ambient, gamma)
    slack = 1e-9 * ratio * ambient * volume
    assert all(energy >= 0 for energy in found.values())
    assert found[Model.ISENTROPIC] <= found[Model.BRODE] + slack
    assert found[Model.ISENTROPIC] <= found[Model.ISOTHERMAL] + slack
    assert found[Model.AVAILABILITY] <= found[Model.ISOTHERMAL] + slack
    most = gas.largest(ratio * ambient, volume, ambient_pa=ambient, gamma=gamma)
    assert most.energy_j == max(found.values())
    assert most.energy_j == found[most.model]
    assert f"{ratio:.3g} : 1" in most.why


@pytest.mark.parametrize(
    ("one", "other", "low", "high"),  # one is below the other at the low ratio and above it at the high one
    [
        (Model.ISOTHERMAL, Model.BRODE, 9.2, 9.4),
        (Model.AVAILABILITY, Model.ISENTROPIC, 6.6, 6.7),
        (Model.AVAILABILITY, Model.BRODE, 29.3, 29.5),
    ],
)
def test_the_orderings_that_do_not(one, other, low, high):
    for ratio, above in ((low, False), (high, True)):
        found = all_four(ratio, 1, 101_325, 1.4)
        assert (found[one] > found[other]) is above


@given(volumes, ambients, gammas)
def test_all_vanish_with_the_pressure(volume, ambient, gamma):
    assert set(all_four(1, volume, ambient, gamma).values()) == {0}
    for energy in all_four(1 + 1e-9, volume, ambient, gamma).values():
        assert 0 <= energy <= 1e-7 * ambient * volume


@given(ratios, volumes, ambients, st.floats(1.001, 10))
def test_more_gas_holds_more(ratio, volume, ambient, by):
    less, more = all_four(ratio, volume, ambient, 1.4), all_four(ratio * by, volume, ambient, 1.4)
    bigger = all_four(ratio, volume * by, ambient, 1.4)
    for model in Model:
        assert more[model] > less[model]
        assert bigger[model] == pytest.approx(less[model] * by)


@given(ratios, volumes)
def test_pcc_2_is_the_isentropic_model_with_rounded_figures(ratio, volume):
    """ASME PCC-2, article 501 [2]: 2.5 for 1/0.4, 0.286 for 0.4/1.4."""
    energy = gas.energy_j(ratio * 101_000, volume, Model.ISENTROPIC, ambient_pa=101_000)
    assert gas.pcc2_energy_j(ratio * 101_000, volume) == pytest.approx(energy, rel=2e-3, abs=1)


@given(st.floats(1e5, 3e7), st.floats(1.001, 9), volumes, exponents)
def test_an_accumulator(precharge, ratio, volume, n):
    full = precharge * ratio
    squeezed = accumulator.gas_volume_m3(precharge, volume, full, n)
    assert 0 < squeezed < volume
    assert accumulator.oil_held_m3(precharge, volume, full, n) == pytest.approx(volume - squeezed)
    assert full * squeezed**n == pytest.approx(precharge * volume**n)
    work = accumulator.gas_work_j(precharge, volume, full, n)
    assert 0 < work <= accumulator.gas_work_j(precharge, volume, full * 1.1, n)
    # It cannot do more work than its highest pressure over all of the oil, nor less than its lowest.
    assert precharge * (volume - squeezed) * (1 - 1e-9) <= work <= full * (volume - squeezed) * (1 + 1e-9)
    assert accumulator.gas_work_j(precharge, volume, precharge, n) == 0


@given(st.floats(1e5, 3e7), st.floats(1.001, 50), volumes)
def test_slow_work_is_the_larger_only_up_to_a_ratio_of_about_9(precharge, ratio, volume):
    work, n = accumulator.most_work_j(precharge, volume, precharge * ratio)
    assert work >= accumulator.gas_work_j(precharge, volume, precharge * ratio, 1.0)
    assert work >= accumulator.gas_work_j(precharge, volume, precharge * ratio, 1.4)
    if not 9.3 < ratio < 9.5:
        assert n == (1.0 if ratio < 9.4 else 1.4)


@given(st.floats(1e5, 3e7), st.floats(1, 9), volumes)
def test_nearly_slow_is_slow(precharge, ratio, volume):
    slow = accumulator.gas_work_j(precharge, volume, precharge * ratio, 1.0)
    assert accumulator.gas_work_j(precharge, volume, precharge * ratio, 1 + 1e-7) == pytest.approx(
        slow, rel=1e-5
    )


@given(st.floats(2e5, 4e7), st.floats(1, 20), volumes, st.floats(250, 350), gammas, st.floats(0, 0.99))
def test_shut_in_after_a_vent_pressure_comes_back_but_not_all_of_it(
    settled, ratio, volume, warm, gamma, part
):
    vented = accumulator.vent_fast(volume, settled, settled / ratio, warm, gamma)
    assert vented.temperature_k <= warm
    assert vented.gas_m3 >= volume * (1 - 1e-12)
    assert vented.pressure_pa * (1 - 1e-12) <= vented.returns_to_pa <= settled * (1 + 1e-12)
    # The same mass of gas before, right after and warm again: p V/T.
    mass = settled * volume / warm
    assert vented.pressure_pa * vented.gas_m3 / vented.temperature_k == pytest.approx(mass)
    assert vented.returns_to_pa * vented.gas_m3 / warm == pytest.approx(mass)
    when = accumulator.return_time_s(60, part)
    rise = accumulator.pressure_on_warming_pa(vented, warm, 60, when) - vented.pressure_pa
    assert rise == pytest.approx(part * (vented.returns_to_pa - vented.pressure_pa), abs=settled * 1e-9)


@given(st.floats(1.2e5, 3e7), volumes)
def test_the_precharge_stays_whatever_the_oil_does(precharge, volume):
    assert accumulator.rupture_energy_j(precharge, volume) > 0
