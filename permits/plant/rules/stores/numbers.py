"""From a store's description to what its page shows, and the wait that the permit's timer needs. Pure.

A wait says when to test, never that it is safe.
"""

from __future__ import annotations

from math import ceil
from typing import assert_never

from permits.plant.rules.energy import Node, Test
from permits.plant.rules.stores import of_charge_and_heat, of_motion, of_pressure
from permits.plant.rules.stores.figures import Numbers
from permits.plant.rules.stores.hazard import PUBLISHED, Lines
from permits.plant.rules.stores.kinds import (
    Accumulator,
    Capacitor,
    Hot,
    Physics,
    Raised,
    Receiver,
    Spinning,
    Spring,
)

__all__ = ["Numbers", "numbers", "numbers_of", "wait_needed"]


def numbers(physics: Physics, test: Test | None = None, lines: Lines = PUBLISHED) -> Numbers:
    """The figures of a described store. `test`: its point's own test, whose limit ends the wait where it is
    tighter than the published line. Raises ImpossibleStore for values that no plant file lets through.
    """
    match physics:
        case Capacitor():
            return of_charge_and_heat.capacitor(physics, test, lines)
        case Hot():
            return of_charge_and_heat.hot(physics, test, lines)
        case Receiver():
            return of_pressure.receiver(physics, test, lines)
        case Accumulator():
            return of_pressure.accumulator(physics, lines)
        case Spinning():
            return of_motion.spinning(physics)
        case Raised():
            return of_motion.raised(physics)
        case Spring():
            return of_motion.spring(physics)
        case _:
            assert_never(physics)


def numbers_of(node: Node, lines: Lines = PUBLISHED) -> Numbers | None:
    """The figures of a node's store, or None where its physics is not described."""
    return numbers(node.physics, node.test, lines) if node.physics else None


def wait_needed(node: Node, lines: Lines = PUBLISHED) -> int:
    """Seconds after the release before a reading counts: the officer's number, or the computed wait where
    that is longer. Physics tightens the officer's number and never loosens it.

    A tighter line of the site lengthens the wait or leaves none known, as where its surroundings are warmer
    than it asks: then the wait by the published lines stays.
    """
    stated = node.release.wait_s if node.release else 0
    found = [numbers_of(node, by) for by in dict.fromkeys((PUBLISHED, lines))]
    waits = [ceil(one.wait_s) for one in found if one and one.wait_s is not None]
    return max((stated, *waits))
