"""What an import would do to the plant, row by row, before it is done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from permits.people.models import Site
from permits.plant.rules.difference import LISTS, Difference, Rows, difference
from permits.plant.rules.gradedrows import written_demands
from permits.plant.rules.hazardrows import written_hazard_lines
from permits.plant.rules.plantfile import PlantFile, as_dict
from permits.plant.rules.stores.lines import LINES
from permits.plant.store import to_plant_file

MOST_ROWS = 200


@dataclass(frozen=True, slots=True)
class ChangedRow:
    """A row that would come, change or go: its name, and what would be different about it."""

    what: str
    name: str
    detail: str


@dataclass(frozen=True, slots=True)
class ListOfChanges:
    """The rows of one list. `more`: how many are not shown."""

    title: str
    counts: Mapping[str, int]
    rows: list[ChangedRow]
    more: int


@dataclass(frozen=True, slots=True)
class DryRun:
    """Everything that an import would change; nothing where the plant is so already."""

    change: Difference
    lists: list[ListOfChanges]
    renamed: tuple[str, str] | None
    demands: tuple[str, str] | None
    tag_out: tuple[str, str] | None
    hazard_lines: tuple[str, str] | None

    def __bool__(self) -> bool:
        return bool(self.change)


def dry_run(site: Site, plant_file: PlantFile) -> DryRun:
    """What importing this file would change."""
    now = to_plant_file(site)
    change = difference(now, as_dict(replace(plant_file, code=site.code)))
    before, after = now.get("demands"), written_demands(plant_file.demands) or None
    lines, drawn = now.get("hazard_lines"), written_hazard_lines(plant_file.hazard_lines) or None
    old = {name: {_key(name, row): row for row in now.get(name, ())} for name in LISTS}
    return DryRun(
        change=change,
        lists=[_changes(name, getattr(change, name), old[name]) for name in LISTS],
        renamed=(now["plant"], plant_file.plant) if now["plant"] != plant_file.plant else None,
        demands=(_value(before), _value(after)) if before != after else None,
        tag_out=_turned(now.get("tag_out", False), plant_file.tag_out),
        hazard_lines=(_drawn(lines), _drawn(drawn)) if lines != drawn else None,
    )


def _drawn(lines: Mapping[str, str] | None) -> str:
    """A site's own lines in words: "Shock: voltage 60 V"."""
    said = [f"{LINES[name].label} {value} {LINES[name].unit}" for name, value in (lines or {}).items()]
    return ", ".join(said) or "as published"


def _turned(before: bool, after: bool) -> tuple[str, str] | None:
    return (_value(before), _value(after)) if before is not after else None


def _changes(name: str, rows: Rows, old: Mapping[tuple[str, ...], dict[str, Any]]) -> ListOfChanges:
    lines = [ChangedRow("removed", _name(row), _summary(row)) for row in rows.removed]
    lines += [ChangedRow("changed", _name(row), _edits(old[_key(name, row)], row)) for row in rows.changed]
    lines += [ChangedRow("added", _name(row), _summary(row)) for row in rows.added]
    return ListOfChanges(name, rows.counts, lines[:MOST_ROWS], max(0, len(lines) - MOST_ROWS))


def _key(name: str, row: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(row[part] for part in LISTS[name])


def _name(row: Mapping[str, Any]) -> str:
    return row["id"] if "id" in row else f"{row['from']} → {row['to']}"


def _summary(row: Mapping[str, Any]) -> str:
    parts = [row.get(field) for field in ("kind", "label", "name", "machine")]
    return ", ".join([str(part) for part in parts if part] + (["both ways"] if row.get("both") else []))


def _edits(old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    """Each field that says something else: "effort: 1 → 2"."""
    fields = [field for field in dict.fromkeys([*old, *new]) if old.get(field) != new.get(field)]
    return "; ".join(f"{field}: {_value(old.get(field))} → {_value(new.get(field))}" for field in fields)


def _value(value: Any) -> str:
    match value:
        case None:
            return "not said"
        case bool():
            return "yes" if value else "no"
        case dict():
            return ", ".join(f"{name} {_value(inner)}" for name, inner in value.items())
        case list():
            return " ".join(map(_value, value))
        case _:
            return str(value)
