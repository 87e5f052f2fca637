"""Isolation with nodes kept live as an integer program, for plants too large to try every set of points.

scipy's `milp` (the HiGHS solver) shares nothing with the planner: energy is a potential that is 1 at sources,
0 in zones and falls only across locks; a node is kept live by one unit of flow from a supply to it.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from permits.plant.rules.energy import Graph, Kind
from tests.plant import exhaustive


def least_effort(graph: Graph, zones: list[str], keep: list[str]) -> int | None:
    """The least effort of a plan; None where there is none. Efforts must be small: floats count them."""
    column: dict[object, int] = defaultdict(lambda: len(column))
    rows: list[tuple[dict[int, int], float, float]] = []
    supplies, stores = exhaustive.kinds(graph, Kind.SUPPLY), exhaustive.kinds(graph, Kind.STORE)
    lockable, releasable = exhaustive.lockable(graph), exhaustive.releasable(graph)
    held = {id: column["held", id] for id in lockable | releasable}
    inside = [(("near", id), ("far", id)) for id in graph.nodes]
    arcs = inside + [(("far", a), ("near", b)) for a, b in exhaustive.arcs(graph)]

    for tail, head in arcs:
        row = {column["energy", head]: 1, column["energy", tail]: -1}
        if tail[1] == head[1] and tail[1] in lockable:
            row[held[tail[1]]] = 1
        rows.append((row, 0, np.inf))
    for id in supplies | stores:
        row = {column["energy", ("near", id)]: 1}
        if id in releasable:
            row[held[id]] = 1
        rows.append((row, 1, np.inf))
    rows += [({column["energy", ("near", zone)]: 1}, 0, 0) for zone in zones]

    for kept in keep:
        balance: dict[object, dict[int, int]] = defaultdict(dict)
        for tail, head in arcs:
            carried = column[kept, tail, head]
            balance[tail][carried], balance[head][carried] = -1, 1
            if tail[1] == head[1] and tail[1] in lockable:
                rows.append(({carried: 1, held[tail[1]]: 1}, -np.inf, 1))
        for id in supplies:
            balance["near", id][column[kept, "from", id]] = 1
        for place, row in balance.items():
            wanted = 1 if place == ("far", kept) else 0
            rows.append((row, wanted, wanted))

    matrix = lil_array((len(rows), len(column)))
    for at, (row, _, _) in enumerate(rows):
        for where, factor in row.items():
            matrix[at, where] = factor
    cost, whole, most = np.zeros(len(column)), np.zeros(len(column)), np.ones(len(column))
    for id, where in held.items():
        cost[where], whole[where] = graph[id].effort, 1
    low, high = ([row[side] for row in rows] for side in (1, 2))
    found = milp(
        cost,
        integrality=whole,
        bounds=Bounds(0, most),
        constraints=LinearConstraint(matrix.tocsr(), low, high),
        options={"mip_rel_gap": 0},
    )
    assert found.status in (0, 2), found.message
    return None if found.status == 2 else round(found.fun)
