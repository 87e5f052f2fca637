"""Down to where one waits: the lower of the published line and the limit of the point's own test. Pure."""

from __future__ import annotations

from permits.plant.rules.energy import Test

_VOLTS = {"V": 1.0, "kV": 1e3, "mV": 1e-3}
_GAUGE_PA = {
    "bar": 1e5, "bar g": 1e5, "barg": 1e5, "bar(g)": 1e5, "bar gauge": 1e5, "mbar": 100.0,
    "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "psi": 6894.757293168, "psig": 6894.757293168,
}  # fmt: skip
_CELSIUS = {"°C": 1.0, "C": 1.0}


def volts(test: Test | None) -> float | None:
    """The test's limit in V, or None where it has none in volts."""
    return _limit(test, _VOLTS)


def gauge_pa(test: Test | None) -> float | None:
    """The test's limit in Pa gauge, or None where it has none, or one of absolute pressure."""
    if test and "abs" in test.quantity.casefold():
        return None
    return _limit(test, _GAUGE_PA)


def celsius(test: Test | None) -> float | None:
    """The test's limit in °C, or None where it has none in °C."""
    return _limit(test, _CELSIUS)


def _limit(test: Test | None, units: dict[str, float]) -> float | None:
    factor = units.get(test.unit.strip()) if test else None
    return None if test is None or factor is None else float(test.limit) * factor
