"""The columns of each sheet: one for each member that a row of the plant file may have, by its types.

A member of an object within a row (`test`, `release`, `physics`) has its object's name before its own: the
member `limit` of `test` stands in the column "test limit". A member that the plant file gains has its column
here without another word, as long as it is of a type that a cell can hold.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, is_dataclass, replace
from decimal import Decimal
from enum import StrEnum
from types import UnionType
from typing import Any, ClassVar, Union, get_args, get_origin, get_type_hints

from permits.plant.rules.energy import Medium, Node
from permits.plant.rules.gradedrows import GRADES
from permits.plant.rules.plantfile import Machine, PlantFile
from permits.plant.rules.rows import plain
from permits.plant.rules.stores.kinds import KINDS
from permits.plant.rules.stores.lines import LINES
from permits.plant.sheets.meanings import MEANINGS

LISTS = ("machines", "nodes", "links")
NAMES = ("plant", *LISTS)
"""The sheets in their order. "plant" has one row, the others one for each machine, node and link."""


class Type(StrEnum):
    """What a cell of a column holds."""

    TEXT = "text"
    WHOLE = "whole number"
    DECIMAL = "number"
    YES_NO = "yes or no"
    WORDS = "words"


@dataclass(frozen=True, slots=True)
class Column:
    """`path`: the member, or the object and its member; `choices`: the only words that may stand there."""

    path: tuple[str, ...]
    type: Type
    needed: bool = False
    choices: tuple[str, ...] = ()
    meaning: str = ""

    @property
    def heading(self) -> str:
        return " ".join(self.path)


def same(heading: str) -> str:
    """A heading as it is compared: capitals, spaces, dots, hyphens and underscores make no difference."""
    return " ".join(heading.casefold().translate(_APART).split())


_APART = str.maketrans("._-\u00a0", "    ")


def _members(of: Any, path: tuple[str, ...] = ()) -> Iterator[Column]:
    """A column for each field of a dataclass; those of a dataclass within it in its place."""
    needed = {field.name for field in fields(of) if field.default is MISSING}
    for name, hint in get_type_hints(of).items():
        if get_origin(hint) is ClassVar:
            continue
        if inner := [one for one in _alternatives(hint) if is_dataclass(one)]:
            yield from _objects(inner, (*path, name))
        elif (held := _held(hint)) is not None:
            yield Column((*path, name), held[0], name in needed and not path, held[1])


def _objects(kinds: list[Any], path: tuple[str, ...]) -> Iterator[Column]:
    """The members of an object that is one of several kinds, each once; what tells the kinds apart first."""
    if named := tuple(kind.kind for kind in kinds if hasattr(kind, "kind")):
        yield Column((*path, "kind"), Type.TEXT, choices=named)
    seen: dict[tuple[str, ...], Column] = {}
    for kind in kinds:
        for column in _members(kind, path):
            seen.setdefault(column.path, column)
    yield from seen.values()


def _alternatives(hint: Any) -> tuple[Any, ...]:
    """What a hint allows beside None."""
    found = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    return tuple(one for one in found if one is not type(None))


def _held(hint: Any) -> tuple[Type, tuple[str, ...]] | None:
    """The cell's type for a hint, and the values of an enum; None for what no cell can hold."""
    first = _alternatives(hint)[0]
    if get_origin(first) is tuple:
        return Type.WORDS, ()
    if not isinstance(first, type):
        return None
    for known, type_ in ((bool, Type.YES_NO), (int, Type.WHOLE), (Decimal, Type.DECIMAL)):
        if issubclass(first, known):
            return type_, ()
    choices = tuple(one.value for one in first) if issubclass(first, StrEnum) else ()
    return (Type.TEXT, choices) if issubclass(first, str) else None


def _nodes() -> Iterator[Column]:
    for column in _members(Node):
        if column.path == ("test", "combinations"):  # the shorter way to say it; read, never written
            yield Column(("test", "conductors"), Type.WORDS)
        yield column


def _explained(name: str, column: Column) -> Column:
    """The column with its meaning. A figure of a store says which kinds of store have it."""
    meaning = MEANINGS[name].get(column.heading, "")
    if column.path[0] == "demands":
        meaning = f"the lowest grade of {column.path[1]} isolator that counts; empty: any, or none stated"
    if column.path[0] == "hazard_lines":
        line = LINES[column.path[1]]
        meaning = f"{line.label}: {line.right}; empty: the published {plain(line.published)} {line.unit}"
    if not meaning and column.path[0] == "physics":
        kinds = [kind for kind, of in KINDS.items() if column.path[1] in of.__dataclass_fields__]
        meaning = f"stores of physics kind {' or '.join(kinds)}"
    return replace(column, meaning=meaning)


_SHEETS: dict[str, tuple[Column, ...]] = {
    "plant": (
        *(column for column in _members(PlantFile) if column.type in (Type.TEXT, Type.YES_NO)),
        *(Column(("demands", medium.value), Type.TEXT, choices=GRADES) for medium in Medium),
        *(Column(("hazard_lines", name), Type.DECIMAL) for name in LINES),
    ),
    "machines": tuple(_members(Machine)),
    "nodes": tuple(_nodes()),
    "links": (
        Column(("from",), Type.TEXT, needed=True),
        Column(("to",), Type.TEXT, needed=True),
        Column(("both",), Type.YES_NO),
    ),
}

COLUMNS: dict[str, tuple[Column, ...]] = {
    name: tuple(_explained(name, column) for column in columns) for name, columns in _SHEETS.items()
}
"""The columns of each sheet, in their order."""
