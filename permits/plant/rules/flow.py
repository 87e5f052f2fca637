"""Maximum flow through a small network, exact in whole numbers of any size, and its cut nearest the sink.

Method: blocking flows along shortest paths (Dinitz 1970), layered from the sink, so that the last search,
which no longer meets the source, leaves the smallest possible side of the sink. That the least cut equals
the greatest flow is the theorem of Ford and Fulkerson (1956).
"""

from __future__ import annotations

SOURCE, SINK = 0, 1


class Network:
    """Nodes are numbers, SOURCE and SINK among them; arcs have a capacity. Flow only ever grows.

    `flow` is the flow sent so far, `layer[node]` after `fill` the number of arcs from the node to the sink
    that could still carry more, or -1 where it is on the source's side of the cut nearest the sink.
    """

    def __init__(self) -> None:
        self.flow = 0
        self.layer: list[int] = [-1, 0]
        self._arcs: list[list[int]] = [[], []]  # per node: its arcs; the arc back of arc a is a ^ 1
        self._head: list[int] = []
        self._room: list[int] = []

    def node(self) -> int:
        """A new node."""
        self._arcs.append([])
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
        twin._arcs = [arcs.copy() for arcs in self._arcs]
        twin._head = self._head.copy()
        twin._room = self._room.copy()
        return twin

    def fill(self) -> int:
        """Sends as much more as fits and answers the whole flow: the capacity of the least cut."""
        while self._measure():
            self._block()
        return self.flow

    def _measure(self) -> bool:
        """Layers every node that can still send to the sink; says whether the source is one of them."""
        self.layer = layer = [-1] * len(self._arcs)
        layer[SINK] = 0
        queue = [SINK]
        for here in queue:
            if here == SOURCE:
                return True  # what lies further away than the source is no part of a shortest path
            beyond = layer[here] + 1
            for arc in self._arcs[here]:
                near = self._head[arc]
                if layer[near] < 0 and self._room[arc ^ 1]:
                    layer[near] = beyond
                    queue.append(near)
        return False

    def _block(self) -> None:
        """Sends along shortest paths until none of them has room."""
        arcs, head, room, layer = self._arcs, self._head, self._room, self.layer
        tried = [0] * len(arcs)
        path: list[int] = []
        here = SOURCE
        while True:
            if here == SINK:
                sent = min(room[arc] for arc in path)
                self.flow += sent
                for arc in path:
                    room[arc] -= sent
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
