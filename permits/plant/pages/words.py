"""Nodes, their state and a procedure's state, in the words and looks in which every page shows them."""

from __future__ import annotations

from dataclasses import dataclass

from permits.plant.models import Procedure
from permits.plant.picture import Facts
from permits.plant.picture.standing import Standing, words_of
from permits.plant.picture.standing import State as Shape
from permits.plant.rules.codes import shown
from permits.plant.rules.demands import Demands, in_short
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.procedures import State

# How a state of the picture looks as a badge (components/state_badge.html).
_LOOKS = {
    Shape.LIVE: "live",
    Shape.EXPOSED: "live",
    Shape.PLANNED: "live",
    Shape.LOCKED: "unproven",
    Shape.PROVEN: "dead",
    Shape.UNFED: "over",
}

KINDS = {
    Kind.SUPPLY: "where energy comes from: a feeder, an air main, a UPS, a second feed, the lighting",
    Kind.ISOLATOR: (
        "a mechanical device that parts the energy: a disconnector, a breaker, a valve, a blank, a pin"
    ),
    Kind.STORE: "stored energy: a capacitor, a receiver, a raised mass, a spring, a coasting part, heat",
    Kind.CARRIER: (
        "what passes energy on: a board, a manifold, a drive, a motor, a cylinder; and every control device, "
        "such as an emergency stop or a solenoid valve"
    ),
    Kind.ZONE: "a place where a body part can be: the infeed, the saw chamber, the outfeed",
}

CONTROLS = (
    "An emergency stop, push button, selector, safe torque off, light curtain, solenoid, check valve, "
    "contactor, relay, PLC output or interlock only controls energy: it is a carrier, never an isolator."
)


def a_kind(kind: str) -> str:
    """ "an isolator", "a store"."""
    return f"an {kind}" if kind == Kind.ISOLATOR else f"a {kind}"


def energy_of(node: Node) -> str:
    """Medium and magnitude: "electrical, 400 V AC, 63 A"."""
    return ", ".join(filter(None, (node.medium.value if node.medium else "", node.magnitude)))


@dataclass(frozen=True, slots=True)
class Badge:
    """A state's look and its word."""

    state: str
    word: str


def badge_of(node: Node, standing: Standing, facts: Facts) -> Badge:
    """How the node stands now."""
    word = words_of(node, facts, standing.state)
    if standing.state is Shape.PLANNED:
        word = "not locked" if node.kind is Kind.ISOLATOR else "holds energy"
    if node.kind is Kind.ISOLATOR and standing.state is Shape.UNFED:
        word = "not locked, not fed now"
    return Badge(_LOOKS[standing.state], word.lower() if word.isupper() or "ENERGY" in word else word)


def badge_of_procedure(procedure: Procedure | None) -> Badge:
    """A revision's state; for a machine that has no approved one, None."""
    if procedure is None:
        return Badge("over", "none approved")
    match State(procedure.state):
        case State.APPROVED if procedure.flaws:
            return Badge("unproven", "no longer holds")
        case State.APPROVED:
            return Badge("info", "approved")
        case State.DRAFT:
            return Badge("info", "draft")
        case State.SUPERSEDED:
            return Badge("over", "superseded")


UNFED = Badge("unproven", "nothing leads to it")
"""A zone that no energy can reach even with nothing locked: more likely a link is missing than proof made."""


@dataclass(frozen=True, slots=True)
class PointLine:
    """A point in a table. `tag`: its short code as printed; `locks`: number and owner of each there."""

    code: str
    kind: str
    name: str
    designation: str
    place: str
    energy: str
    badge: Badge
    locks: tuple[tuple[str, str], ...]
    tag: str
    note: str


def point_line(node: Node, standing: Standing, facts: Facts, short_code: str, demands: Demands) -> PointLine:
    return PointLine(
        code=node.id,
        kind=node.kind.value,
        name=node.name,
        designation=node.designation,
        place=node.place,
        energy=energy_of(node),
        badge=badge_of(node, standing, facts),
        locks=tuple((lock.number, lock.owner) for lock in facts.locks.get(node.id, ())),
        tag=shown(short_code) if short_code else "",
        note=in_short(node, demands),
    )


def tag_in_words(node: Node) -> str:
    """At a tag-only point, that it is one and what is done besides the tag; "" where a lock fits."""
    if node.tag_only is None:
        return ""
    return f"Takes a tag, no lock. Do this as well: {' '.join(node.tag_only.measure.split())}"


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step of a plan, as components/plan.html takes it. `detail`: what is done beside a tag."""

    does: str
    name: str
    designation: str
    place: str
    state: str
    word: str
    url: str = ""
    lock: str = ""
    detail: str = ""


_STEPS = {"lock": ("Lock", "live", "to be locked"), "release": ("Release", "live", "to be released")}
_TAG = ("Tag", "live", "to be tagged")


def step_lines(graph: Graph, order: list[tuple[str, str | None]]) -> list[StepLine]:
    """The locks and releases of a plan in order; a point that is gone is shown by its code."""
    lines = []
    for do, point in order:
        if do in _STEPS and point is not None:
            node = graph.nodes.get(point) or Node(point, Kind.CARRIER, f"{point}, no longer in the plant")
            besides = tag_in_words(node) if do == "lock" else ""
            does, state, word = _TAG if besides else _STEPS[do]
            lines.append(
                StepLine(does, node.name, node.designation, node.place, state, word, detail=besides)
            )
    return lines
