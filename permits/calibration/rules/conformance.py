"""How probable it is that a value lies within its limits, given a measurement of it (JCGM 106:2012, 7.2)."""

from __future__ import annotations

from permits.calibration.rules.distributions import normal_below


def conformance_probability(
    value: float, standard_uncertainty: float, *, lower: float | None = None, upper: float | None = None
) -> float:
    """Φ((upper − value)/u) − Φ((lower − value)/u): a normal distribution about the measured value.

    A limit left out is infinitely far. Raises ValueError for u ≤ 0.
    """
    if standard_uncertainty <= 0:
        raise ValueError("The standard uncertainty must be above 0.")
    below_upper = 1.0 if upper is None else normal_below((upper - value) / standard_uncertainty)
    below_lower = 0.0 if lower is None else normal_below((lower - value) / standard_uncertainty)
    return below_upper - below_lower
