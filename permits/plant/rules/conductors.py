"""The conductors of an electrical point and the pairs between which absence of voltage is measured."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

# Conductor marks as in IEC 60445 (from memory): phases, neutral, protective earth; L+, L- and M for DC.
CONDUCTORS = ("L1", "L2", "L3", "L+", "L-", "M", "N", "PE")


def pairs(conductors: Iterable[str]) -> tuple[str, ...]:
    """Every pair of the given conductors, in the order of `CONDUCTORS`: "L1-L2", … (n(n-1)/2 of them)."""
    present = set(conductors)
    return tuple(f"{a}-{b}" for a, b in combinations([c for c in CONDUCTORS if c in present], 2))


PAIRS = pairs(CONDUCTORS)
