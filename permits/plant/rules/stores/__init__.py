"""Stored energy as physics: how much, can it hurt, how long to wait before the test, can it come back. Pure.

A computed energy or wait says when to test, never that it is safe: only a verification does.

Functions take and give SI numbers, the unit in each name: `energy_j`, `volume_m3`. Pressures named `_pa` are
absolute unless the name says gauge. Temperatures are `_k`, or `_c` where only differences and published
thresholds in °C count. What is impossible, missing, not finite or beyond any plant raises `ImpossibleStore`
with the field, what was wrong and what would be right: no function answers with a number then.

    impossible.py   the error, and the checks that raise it
    sources.py      where a published figure comes from, and how sure it is
    capacitor.py    energy, charge, discharge through a bleeder
    spinning.py     moment of inertia, energy, coast-down
    raised.py       a raised mass
    spring.py       a spring
    gas.py          four models of a compressed gas's energy
    orifice.py      flow of a gas through a hole
    blowdown.py     how long a vessel takes to empty through one
    accumulator.py  gas-charged accumulators, and pressure that comes back
    heat.py         cooling, burn thresholds
    hazard.py       can it hurt
    lines.py        the lines of hazard.py, each with its meaning, published value and source
    dead.py         is it dead, by a reading
    kinds.py        a store as the plant file describes it, one value a kind
    physics.py      reads and writes that description
    wording.py      how a figure reads in a sentence
    figures.py      what a store's page shows, as values; of_charge_and_heat.py, of_motion.py and
                    of_pressure.py make them, ends.py says down to where one waits
    numbers.py      from the description to what the store's page shows; the wait that a permit's timer needs
"""
