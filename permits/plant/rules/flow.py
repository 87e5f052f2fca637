"""Maximum flow through a network that is built as far as it is needed, exact in whole numbers of any size.

Method: blocking flows along shortest paths (Dinitz 1970), layered from the sink, so that the last search,
which no longer meets the source, leaves the smallest possible side of the sink. That the least cut equals the
greatest flow is the theorem of Ford and Fulkerson (1956). The arcs into a node are asked for when the search
first comes by: what lies further from the sink than the nearest sources need not be built at all.
"""

from __future__ import annotations

from collections.abc import Callable

SOURCE, SINK = 0, 1
UNLIMITED = -1


class Network:
    """Nodes are numbers, SOURCE and SINK among them; arcs have a capacity or are UNLIMITED. Flow only grows.

    `flow` is the flow sent so far, `layer[node]` after `fill` the number of arcs from the node to the sink
    that could still carry more, or -1 where it is on the source's side of the cut nearest the sink.
    """

    def __init__(self) -> None:
        self.flow = 0
        self.layer: list[int] = [-1, 0]
        self._asked = [True, False]
        self._arcs: list[list[int]] = [[], []]  # per node: its arcs; the arc back of arc a is a ^ 1
        self._head: list[int] = []
        self._room: list[int] = []

    def node(self) -> int:
        """A new node, whose arcs are still to be asked for."""
        self._arcs.append([])
        self._asked.append(False)
        return len(self._arcs) - 1

    def arc(self, tail: int, head: int, capacity: int) -> None:
        """A new arc. Flow already sent stays as it is."""
        self._arcs[tail].append(len(self._head))
        self._arcs[head].append(len(self._head) + 1)
        self._head += (head, tail)
        self._room += (capacity, 0)

    def copy(self) -> Network:
        """A network of its own with the same arcs and the same flow."""
        twin = Network()
        twin.flow = self.flow
        twin.layer = self.layer
        twin._asked = self._asked.copy()
        twin._arcs = [arcs.copy() for arcs in self._arcs]
        twin._head = self._head.copy()
        twin._room = self._room.copy()
        return twin

    def fill(self, add_arcs_into: Callable[[int], None]) -> int:
        """Sends as much more as fits and answers the whole flow: the capacity of the least cut.

        `add_arcs_into` is called once for each node the search comes by. On every path from the source to the
        sink there must be an arc that is not UNLIMITED.
        """
        while self._measure(add_arcs_into):
            self._block()
        return self.flow

    def _measure(self, add_arcs_into: Callable[[int], None]) -> bool:
        """Layers every node that can still send to the sink; says whether the source is one of them."""
        layer = {SINK: 0}
        queue = [SINK]
        met = False
        for here in queue:
            if here == SOURCE:
                met = True  # what lies further away than the source is no part of a shortest path
                break
            if not self._asked[here]:
                self._asked[here] = True
                add_arcs_into(here)
            beyond = layer[here] + 1
            for arc in self._arcs[here]:
                near = self._head[arc]
                if near not in layer and self._room[arc ^ 1]:
                    layer[near] = beyond
                    queue.append(near)
        self.layer = [layer.get(node, -1) for node in range(len(self._arcs))]
        return met

    def _block(self) -> None:
        """Sends along shortest paths until none of them has room."""
        arcs, head, room, layer = self._arcs, self._head, self._room, self.layer
        tried = [0] * len(arcs)
        path: list[int] = []
        here = SOURCE
        while True:
            if here == SINK:
                sent = min(room[arc] for arc in path if room[arc] != UNLIMITED)
                self.flow += sent
                for arc in path:
                    if room[arc] != UNLIMITED:
                        room[arc] -= sent
                    if room[arc ^ 1] != UNLIMITED:
                        room[arc ^ 1] += sent
                full = next(at for at, arc in enumerate(path) if not room[arc])
                here = head[path[full] ^ 1]
                del path[full:]
                continue
            near, down, at = arcs[here], layer[here] - 1, tried[here]
            while at < len(near) and not (layer[head[near[at]]] == down and room[near[at]]):
                at += 1
            tried[here] = at
            if at < len(near):
                path.append(near[at])
                here = head[near[at]]
            elif here == SOURCE:
                return
            else:
                here = head[path.pop() ^ 1]
                tried[here] += 1
