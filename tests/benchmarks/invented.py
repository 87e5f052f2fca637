"""Invented plants of any size for the planner's benchmark, and permits to work in them."""

from __future__ import annotations

import random
from bisect import bisect_left
from datetime import UTC, datetime, timedelta

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.plan import NoPlan, plan
from permits.work.rules.state import Permit, Person, Site
from permits.work.rules.words import Lock, Phase, SignOn, StoreRelease

MORNING = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def nodes_of(count: int, supplies: int, chance: random.Random) -> list[Node]:
    kinds = [Kind.ZONE, Kind.STORE, Kind.ISOLATOR, Kind.CARRIER]
    drawn = chance.choices(kinds, [10, 5, 40, 45], k=count)
    return [
        Node(
            f"n{at}",
            Kind.SUPPLY if at < supplies else kind,
            effort=chance.randint(1, 5),
            machine=f"m{at // 20}",
            danger_area=kind is Kind.ZONE and at >= supplies,
        )
        for at, kind in enumerate(drawn)
    ]


def boards(count: int, seed: int) -> Graph:
    """Each node is fed by one or two nodes before it, as boards feed boards feed machines."""
    chance = random.Random(seed)
    supplies = max(2, count // 500)
    nodes = nodes_of(count, supplies, chance)
    feeders = [at for at, node in enumerate(nodes) if node.kind is not Kind.ZONE]
    links = [
        Link(f"n{feeders[chance.randrange(bisect_left(feeders, at))]}", f"n{at}")
        for at in range(supplies, count)
        for _ in range(chance.choice([1, 2]))
    ]
    return Graph.of(nodes, links)


def tangle(count: int, seed: int) -> Graph:
    """Each link joins any two nodes."""
    chance = random.Random(seed)
    nodes = nodes_of(count, max(2, count // 100), chance)
    feeders = [node.id for node in nodes if node.kind is not Kind.ZONE]
    links = [Link(chance.choice(feeders), chance.choice(nodes).id) for _ in range(count * 3 // 2)]
    return Graph.of(nodes, links)


def at_work(graph: Graph, permits: int, seed: int) -> Site:
    """A site with so many isolated permits, each for a random zone, locked and released as its plan says.

    Someone is signed on under each. Zones that nothing feeds, or that no plan isolates, get none.
    """
    chance = random.Random(seed)
    made: dict[str, Permit] = {}
    for zone in chance.sample(graph.zones, len(graph.zones)):
        found = plan(graph, [zone.id])
        if isinstance(found, NoPlan) or not found.effort:
            continue
        number = len(made) + 1
        made[f"P-{number}"] = Permit(
            id=f"P-{number}",
            number=number,
            phase=Phase.ISOLATED,
            zones=(zone.id,),
            keep_live=(),
            kind_of_work="inspection",
            reason="benchmark",
            requested_by="maud",
            requested_at=MORNING,
            starts_at=MORNING,
            ends_at=MORNING + timedelta(hours=8),
            plan_lock=found.lock,
            plan_release=found.release,
            plan_order=tuple((step.do.value, step.point or "") for step in found.order),
            locks=tuple(lock_on(point, number) for point in found.lock),
            releases=tuple(
                StoreRelease(point, method="bled", by="odo", at=MORNING, counts_from=MORNING)
                for point in found.release
            ),
            crew=(SignOn("odo", padlock=f"K-{number}", on_at=MORNING),),
        )
        if len(made) == permits:
            break
    people = {ref: Person(ref, ref.capitalize()) for ref in ("maud", "odo")}
    return Site(graph=graph, people=people, permits=made)


def lock_on(point: str, number: int) -> Lock:
    return Lock(point, padlock=f"L-{number}-{point}", owner="odo", applied_at=MORNING, tag=f"T-{number}")
