"""Makes a site's rows say what a new plant file says. Called by actions, under an open pen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import islice
from typing import Any

from django.db.models import Q

from permits.people.models import Site
from permits.plant.models import Link, Machine, Node, PlantState
from permits.plant.rules import energy, plantfile
from permits.plant.rules.difference import Difference
from permits.plant.rules.gradedrows import write_tag_only, written_demands
from permits.plant.rules.hazardrows import written_hazard_lines
from permits.plant.rules.noderows import write_release, write_test
from permits.plant.rules.stores.physics import write_physics
from permits.plant.store import digest_of

_AT_ONCE = 400  # values in one statement, of which SQLite takes a limited number
_NODE_COLUMNS = (
    "kind", "label", "machine", "effort", "lockable", "releasable", "sequence", "designation", "place",
    "medium", "magnitude", "device", "test", "release", "physics", "danger_area", "outfeed",
    "grade", "out_of_service", "tag_only",
)  # fmt: skip


def rewrite(site: Site, new: plantfile.PlantFile, change: Difference, *, at: datetime) -> PlantState:
    """Change the rows by `change`, after which they say what `new` says, and raise the version.

    Machines and nodes that go keep their rows, marked with `at`: what was written about them refers to them.
    A node that becomes another kind of thing gets a row of its own, since no lock or tag carries over.
    """
    machines = _write_machines(site, new, change)
    for codes in _some(change.lost):
        Link.objects.filter(Q(source__code__in=codes) | Q(target__code__in=codes), site=site).delete()
        Node.objects.live().filter(site=site, code__in=codes).update(removed_at=at)
    _write_nodes(site, new, change, machines)
    for codes in _some(row["id"] for row in change.machines.removed):
        Machine.objects.live().filter(site=site, code__in=codes).update(removed_at=at)
    _write_links(site, new)
    state = PlantState.objects.filter(site=site).first() or PlantState(site=site)
    state.version += 1
    state.digest = digest_of(plantfile.as_dict(new))
    state.plant, state.note, state.changed_at = new.plant, new.note, at
    state.demands = written_demands(new.demands)
    state.tag_out = new.tag_out
    state.hazard_lines = written_hazard_lines(new.hazard_lines)
    state.save()
    return state


def _write_machines(site: Site, new: plantfile.PlantFile, change: Difference) -> dict[str, Machine]:
    """Adds and changes machines; answers with all of them by code."""
    wanted = {machine.id: machine for machine in new.machines}
    columns = ("name", "designation", "place", "hazards")
    live = {row.code: row for row in Machine.objects.live().filter(site=site)}
    changed = [live[row["id"]] for row in change.machines.changed]
    for row in changed:
        for column in columns:
            setattr(row, column, getattr(wanted[row.code], column))
        row.save(update_fields=columns)
    Machine.objects.bulk_create(
        [
            Machine(site=site, code=code, **{column: getattr(wanted[code], column) for column in columns})
            for code in (row["id"] for row in change.machines.added)
        ],
        batch_size=_AT_ONCE,
    )
    return {row.code: row for row in Machine.objects.live().filter(site=site)}


def _write_nodes(
    site: Site, new: plantfile.PlantFile, change: Difference, machines: dict[str, Machine]
) -> None:
    lost = set(change.lost)
    codes = [row["id"] for row in (*change.nodes.added, *change.nodes.changed)]
    live = {
        row.code: row
        for some in _some(code for code in codes if code not in lost)
        for row in Node.objects.live().filter(site=site, code__in=some)
    }
    for code, row in live.items():
        for column, value in _columns(new.graph[code], machines).items():
            setattr(row, column, value)
        row.save(update_fields=_NODE_COLUMNS)  # bulk_update was seen to take four times as long
    Node.objects.bulk_create(
        [
            Node(site=site, code=code, **_columns(new.graph[code], machines))
            for code in codes
            if code not in live
        ],
        batch_size=_AT_ONCE,
    )


def _columns(node: energy.Node, machines: dict[str, Machine]) -> dict[str, Any]:
    values = {
        column: getattr(node, column)
        for column in _NODE_COLUMNS
        if column not in ("machine", "test", "release", "physics", "tag_only")
    }
    return values | {
        "kind": node.kind.value,
        "medium": node.medium.value if node.medium else "",
        "machine": machines[node.machine] if node.machine else None,
        "test": write_test(node.test) if node.test else None,
        "release": write_release(node.release) if node.release else None,
        "physics": write_physics(node.physics) if node.physics else None,
        "grade": node.grade.value if node.grade else "",
        "tag_only": write_tag_only(node.tag_only) if node.tag_only else None,
    }


def _write_links(site: Site, new: plantfile.PlantFile) -> None:
    wanted = {(link.source, link.target): link.both for link in new.graph.links}
    stand = {
        (source, target): (pk, both)
        for pk, source, target, both in Link.objects.filter(site=site).values_list(
            "pk", "source__code", "target__code", "both"
        )
    }
    for pks in _some(pk for ends, (pk, both) in stand.items() if wanted.get(ends) is not both):
        Link.objects.filter(site=site, pk__in=pks).delete()
    missing = {ends: both for ends, both in wanted.items() if stand.get(ends, (0, None))[1] is not both}
    if not missing:
        return
    node_ids = dict(Node.objects.live().filter(site=site).values_list("code", "pk"))
    Link.objects.bulk_create(
        [
            Link(site=site, source_id=node_ids[source], target_id=node_ids[target], both=both)
            for (source, target), both in missing.items()
        ],
        batch_size=_AT_ONCE,
    )


def _some(values: Iterable[Any]) -> Iterator[list[Any]]:
    rest = iter(values)
    while some := list(islice(rest, _AT_ONCE)):
        yield some
