"""How many readings would settle an open decision, and when no number of them would."""

from __future__ import annotations

import math
from collections.abc import Callable

from permits.calibration.rules.distributions import t_975

MOST = 10**9  # readings; more than this is as good as never


def readings_needed(
    *, gap: float, piece: float, instrument: float, df: Callable[[int], float], least: int
) -> int | None:
    """The smallest m ≥ `least` with t₀.₉₇₅(ν(m)) · √(piece/m + instrument) ≤ gap; None where none up to MOST.

    `gap`: distance of the judged deviation from the tolerance; `piece` and `instrument`: variances, of one
    piece and of the instrument; `df`: ν(m), which must not fall as m grows. The left side then falls with m,
    so doubling and halving find the smallest.
    """

    def settles(m: int) -> bool:
        return t_975(df(m)) * math.sqrt(piece / m + instrument) <= gap

    low, high = least - 1, least
    while not settles(high):
        if high >= MOST:
            return None
        low, high = high, min(2 * high, MOST)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if settles(middle) else (middle, high)
    return high
