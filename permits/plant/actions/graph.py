"""Changing a site's machines, nodes and links: from a plant file, or one row at a time.

There is one way: a new plant is made from the present one, checked as a plant file is, and the rows that
differ are written. So a form is refused for the same reasons, in the same words, as a file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from permits.ledger.pen import AlreadyDone, Author, Key, Pen, done, writing
from permits.people.models import Site
from permits.plant import reproving
from permits.plant.actions.procedures import prove_procedures
from permits.plant.actions.tags import withdraw_tags_of
from permits.plant.models import PlantState
from permits.plant.rewrite import rewrite
from permits.plant.rules.difference import LISTS, Difference, difference
from permits.plant.rules.facts import Fact
from permits.plant.rules.plantfile import PlantFile, PlantFileError, PlantFileErrors, as_dict, check
from permits.plant.rules.refused import PlantRefused
from permits.plant.rules.rows import shown
from permits.plant.store import graph_for, to_plant_file, version_of

Plant = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ImportReport:
    """How many machines, nodes and links were added, changed, removed and left alone, together and by list;
    and the plant's version after it."""

    added: int
    changed: int
    removed: int
    unchanged: int
    version: int
    lists: Mapping[str, Mapping[str, int]]


class _NothingToChange(Exception):
    """Someone else made the change in the meantime: leave without an entry."""


def import_plant(
    *, site: Site, plant_file: PlantFile, by: Author, at: datetime, key: Key | None = None
) -> ImportReport:
    """Make the site's plant what the file says. A file that changes nothing writes no entry.

    The site's code stands for the file's. Raises PlantRefused where a node that goes carries a lock.
    """
    wanted = as_dict(replace(plant_file, code=site.code))
    return _change(site, lambda _: wanted, by=by, at=at, key=key)


def compare_plant(*, site: Site | None, plant_file: PlantFile) -> ImportReport:
    """What `import_plant` would do, without doing it; for no site, what a new site would get.

    Raises PlantRefused where `import_plant` would.
    """
    if site is None:
        empty = {"plant": plant_file.plant, "nodes": [], "links": []}
        return _report(difference(empty, as_dict(plant_file)), version=1)
    change = difference(to_plant_file(site), as_dict(replace(plant_file, code=site.code)))
    _refuse_removals(site, change)
    return _report(change, version=version_of(site) + bool(change))


def save_machine(
    *,
    site: Site,
    machine: Mapping[str, Any],
    only_new: bool = False,
    by: Author,
    at: datetime,
    key: Key | None = None,
) -> ImportReport:
    """Add a machine, or change the one with its id. `machine`: a row of a plant file.

    `only_new`: it is to be added; a machine with its id is never changed by it, but refused at `id`. Raises
    PlantFileErrors, as do the others here that save: rows are named as in the site's plant file.
    """

    def become(plant: Plant) -> Plant:
        return _with(plant, "machines", machine, only_new=only_new)

    return _change(site, become, by=by, at=at, key=key)


def remove_machine(
    *, site: Site, code: str, by: Author, at: datetime, key: Key | None = None
) -> ImportReport:
    """Take a machine out of the plant. Raises PlantFileErrors while nodes belong to it."""
    return _change(site, lambda plant: _without(plant, "machines", (code,)), by=by, at=at, key=key)


def save_node(
    *,
    site: Site,
    node: Mapping[str, Any],
    only_new: bool = False,
    by: Author,
    at: datetime,
    key: Key | None = None,
) -> ImportReport:
    """Add a node, or change the one with its id; `only_new`: add it, and change none that has its id.

    `node`: a row of a plant file.
    """

    def become(plant: Plant) -> Plant:
        return _with(plant, "nodes", node, only_new=only_new)

    return _change(site, become, by=by, at=at, key=key)


def remove_node(*, site: Site, code: str, by: Author, at: datetime, key: Key | None = None) -> ImportReport:
    """Take a node and its links out of the plant. Raises PlantRefused where it carries a lock."""

    def become(plant: Plant) -> Plant:
        rest = _without(plant, "nodes", (code,))
        return rest | {"links": [row for row in rest["links"] if code not in (row["from"], row["to"])]}

    return _change(site, become, by=by, at=at, key=key)


def save_link(
    *, site: Site, link: Mapping[str, Any], by: Author, at: datetime, key: Key | None = None
) -> ImportReport:
    """Add a link, or change the one with its two ends. `link`: a row of a plant file."""
    return _change(site, lambda plant: _with(plant, "links", link), by=by, at=at, key=key)


def remove_link(
    *, site: Site, source: str, target: str, by: Author, at: datetime, key: Key | None = None
) -> ImportReport:
    """Take the link from `source` to `target` out of the plant."""
    return _change(site, lambda plant: _without(plant, "links", (source, target)), by=by, at=at, key=key)


def save_demands(
    *,
    site: Site,
    demands: Mapping[str, str],
    tag_out: bool | None = None,
    by: Author,
    at: datetime,
    key: Key | None = None,
) -> ImportReport:
    """Make the grades that the site demands what is said here: media and grades, as in a plant file.

    `tag_out`: whether a tag may stand for a lock where no lock fits; None leaves that as it is.
    Procedures and open permits are proven again on what counts as an isolator then.
    """
    said: dict[str, Any] = {"demands": dict(demands)}
    if tag_out is not None:
        said["tag_out"] = tag_out
    return _change(site, lambda plant: plant | said, by=by, at=at, key=key)


def save_hazard_lines(
    *, site: Site, lines: Mapping[str, str], by: Author, at: datetime, key: Key | None = None
) -> ImportReport:
    """Make the lines above which stored energy can hurt what is said here: names and numbers, as in a plant
    file. A line that is not said is the published one.
    """
    return _change(site, lambda plant: plant | {"hazard_lines": dict(lines)}, by=by, at=at, key=key)


def _change(
    site: Site, become: Callable[[Plant], Plant], *, by: Author, at: datetime, key: Key | None
) -> ImportReport:
    """Write what `become` makes of the site's plant: checked before the pen is lifted, and again under it."""
    now = to_plant_file(site)
    try:
        change = difference(now, as_dict(check(become(now))))
    except PlantFileErrors:
        if key and (before := done(site.head_id, key)):  # its own row must not be held against it
            raise AlreadyDone(*before) from None
        raise
    if not change:
        return _report(change, version=version_of(site))
    try:
        with writing(site.head_id, by=by, at=at, key=key) as pen:
            now = to_plant_file(site)
            new = check(become(now))
            change = difference(now, as_dict(new))
            if not change:
                raise _NothingToChange
            _refuse_removals(site, change)
            withdraw_tags_of(pen, site, change.lost, why="The point was taken out of the plant.")
            state = rewrite(site, new, change, at=pen.at)
            _enter(pen, site, state, change)
            graph = graph_for(new)
            prove_procedures(pen, site, graph)
            reproving.changed(pen, site, graph)
    except _NothingToChange:
        return _report(change, version=version_of(site))
    return _report(change, version=state.version)


def _refuse_removals(site: Site, change: Difference) -> None:
    if reasons := reproving.against_removal(site, change.lost):
        raise PlantRefused(reasons)


def _enter(pen: Pen, site: Site, state: PlantState, change: Difference) -> None:
    """The entry holds the rows themselves, so that the plant can be built again from the ledger alone."""
    lists = {name: getattr(change, name) for name in LISTS}
    pen.write(
        Fact.PLANT_CHANGED,
        f"plant:{site.code}",
        {
            "version": state.version,
            "sha256": state.digest,
            "plant": state.plant,
            "note": state.note,
            "demands": state.demands,
            "tag_out": state.tag_out,
            "hazard_lines": state.hazard_lines,
            "counts": {name: rows.counts for name, rows in lists.items()},
            "put": {name: [*rows.added, *rows.changed] for name, rows in lists.items()},
            "gone": {
                name: [{part: row[part] for part in LISTS[name]} for row in rows.removed]
                for name, rows in lists.items()
            },
        },
    )


def _report(change: Difference, *, version: int) -> ImportReport:
    lists = {name: getattr(change, name).counts for name in LISTS}
    sums = {what: sum(counts[what] for counts in lists.values()) for what in next(iter(lists.values()))}
    return ImportReport(**sums, version=version, lists=lists)


def _with(plant: Plant, name: str, row: Mapping[str, Any], *, only_new: bool = False) -> Plant:
    """The plant with one row more, or with that row in the place of the one with its key.

    Raises PlantFileErrors where it is to be `only_new` and there is one with its key.
    """
    rows = list(plant.get(name, ()))
    named = [row.get(part) for part in LISTS[name]]
    for place, other in enumerate(rows):
        if [other[part] for part in LISTS[name]] == named:
            if only_new:
                where = f"{name}[{len(rows)}] (id {shown(row['id'])})"
                wrong = f"is already the code of {_called(name, other)}"
                raise PlantFileErrors((PlantFileError(where, "id", wrong, "a code of its own"),))
            rows[place] = dict(row)
            break
    else:
        rows.append(dict(row))
    return plant | {name: rows}


def _called(name: str, row: Mapping[str, Any]) -> str:
    """A machine or a node that is there, in words."""
    if name == "machines":
        return f"the machine {row['name']}"
    if row.get("label"):
        return f"{row['label']} ({row['kind']})"
    return f"{'an' if row['kind'] == 'isolator' else 'a'} {row['kind']} without a name"


def _without(plant: Plant, name: str, key: tuple[str, ...]) -> Plant:
    """The plant without one row. Raises PlantRefused where it has none with that key."""
    rows = [row for row in plant.get(name, ()) if tuple(row[part] for part in LISTS[name]) != key]
    if len(rows) == len(plant.get(name, ())):
        what = " to ".join(key)
        raise PlantRefused(
            [f"There is no {name.removesuffix('s')} {what} here; one that is in the plant would be right."]
        )
    return plant | {name: rows}
