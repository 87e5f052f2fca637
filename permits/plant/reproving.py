"""Asks the rooms above when the plant changes: in the same transaction, without knowing them.

Plant may not import work. Work registers here, when the application starts, what must be proven again after
every change of the graph, and what stands against taking a node away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from permits.people.models import Site
from permits.plant.rules.energy import Graph

OnChange = Callable[[Any, Site, Graph], None]
"""Called with the open pen, the site and its new graph; writes what follows, with that pen."""
OnRemoval = Callable[[Site, frozenset[str]], Iterable[str]]
"""Called with the site and the codes of the nodes that would go; answers with every reason against it."""

_on_change: list[OnChange] = []
_on_removal: list[OnRemoval] = []


def on_change(callback: OnChange) -> OnChange:
    """Register a callback for every change of a graph; registered twice it is called once. A decorator."""
    if callback not in _on_change:
        _on_change.append(callback)
    return callback


def on_removal(callback: OnRemoval) -> OnRemoval:
    """Register a callback that may object to the removal of nodes. A decorator."""
    if callback not in _on_removal:
        _on_removal.append(callback)
    return callback


def changed(pen: Any, site: Site, graph: Graph) -> None:
    """Tell everyone that the site's graph is now this one. An exception undoes the change."""
    for callback in _on_change:
        callback(pen, site, graph)


def against_removal(site: Site, codes: Iterable[str]) -> list[str]:
    """Every reason why these nodes can't go, in words; a node that carries a lock can't."""
    gone = frozenset(codes)
    return [reason for callback in _on_removal for reason in callback(site, gone)] if gone else []
