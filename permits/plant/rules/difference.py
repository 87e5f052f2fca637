"""What has to change for one plant to become another: rows to add, to change and to remove. Pure.

Plants are given as `plantfile.as_dict` writes them, so that rows which say the same are equal.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Row = dict[str, Any]
Key = tuple[str, ...]
_OF_THE_WHOLE = ("plant", "note", "demands", "tag_out", "hazard_lines")
LISTS: dict[str, Key] = {"machines": ("id",), "nodes": ("id",), "links": ("from", "to")}


@dataclass(frozen=True, slots=True)
class Rows:
    """One list's rows: new ones, ones that say something else now, ones that are gone, how many stay."""

    added: tuple[Row, ...]
    changed: tuple[Row, ...]
    removed: tuple[Row, ...]
    unchanged: int

    @property
    def counts(self) -> dict[str, int]:
        return {
            "added": len(self.added),
            "changed": len(self.changed),
            "removed": len(self.removed),
            "unchanged": self.unchanged,
        }


@dataclass(frozen=True, slots=True)
class Difference:
    """Old plant to new plant. `lost` are nodes that go, or stay in name but become another kind of thing.

    `renamed`: the plant's name, its note, what it demands or whether it takes tags is another.
    """

    machines: Rows
    nodes: Rows
    links: Rows
    lost: tuple[str, ...]
    renamed: bool

    def __bool__(self) -> bool:
        rows = (self.machines, self.nodes, self.links)
        return self.renamed or any(r.added or r.changed or r.removed for r in rows)


def difference(old: Mapping[str, Any], new: Mapping[str, Any]) -> Difference:
    """What has to change for the plant `old` to become the plant `new`."""
    kinds = {row["id"]: row["kind"] for row in new["nodes"]}
    return Difference(
        **{name: _rows(old.get(name, ()), new.get(name, ()), key) for name, key in LISTS.items()},
        lost=tuple(row["id"] for row in old["nodes"] if kinds.get(row["id"]) != row["kind"]),
        renamed=any((old.get(field) or "") != (new.get(field) or "") for field in _OF_THE_WHOLE),
    )


def _rows(old: Sequence[Row], new: Sequence[Row], key: Key) -> Rows:
    before = {tuple(row[part] for part in key): row for row in old}
    after = {tuple(row[part] for part in key): row for row in new}
    added = tuple(row for name, row in after.items() if name not in before)
    changed = tuple(row for name, row in after.items() if name in before and before[name] != row)
    removed = tuple(row for name, row in before.items() if name not in after)
    return Rows(added, changed, removed, len(after) - len(added) - len(changed))
