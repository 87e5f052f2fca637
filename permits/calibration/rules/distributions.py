"""Student's t, χ² and the two-sided 95 % factor. scipy is loaded at the first call, not at import."""

from __future__ import annotations

import math
from fractions import Fraction

NORMAL_975 = Fraction("1.959964")  # the factor for infinitely many degrees of freedom, to seven figures


def t_975(df: float) -> float:
    """The factor t₀.₉₇₅(ν) that makes a two-sided 95 % interval. `df` > 0, not truncated, may be infinite."""
    if math.isinf(df):
        return float(NORMAL_975)
    from scipy.special import stdtrit

    return float(stdtrit(df, 0.975))


def t_two_sided_p(t: float, df: float) -> float:
    """The probability of a |t| at least this large when nothing is there. `df` > 0; t may be infinite."""
    if math.isinf(t):
        return 0.0
    from scipy.special import stdtr

    return 2 * float(stdtr(df, -abs(t)))


def chi2_above(chi2: float, df: int) -> float:
    """The probability of a χ² at least this large. `df` ≥ 1."""
    if df < 1:
        raise ValueError(f"χ² has no distribution with {df} degrees of freedom; at least 1 would be right.")
    from scipy.special import chdtrc

    return float(chdtrc(df, chi2))


def normal_below(z: float) -> float:
    """Φ(z), the share of a normal distribution below z standard deviations."""
    return math.erfc(-z / math.sqrt(2)) / 2
