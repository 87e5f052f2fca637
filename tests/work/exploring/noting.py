"""Permits that note what is read of them: what was decided depends on these readings and on nothing else.

`Noted` reads as the permit it stands for. Every field, property and answer that is asked of it is noted with
its value; a change of it (dataclasses.replace) reads nothing, and gives a permit that knows its new fields
and still notes the others. Two permits of which all that was noted is equal are decided alike.
"""

from __future__ import annotations

import ast
import dataclasses
import inspect
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from permits.work.rules.state import Permit

Reading = tuple[str, str, tuple[Any, ...]]  # which permit; the name of what is read; the arguments, if any
FIELDS = frozenset(field.name for field in dataclasses.fields(Permit))
ANSWERS = frozenset(
    name for name, what in vars(Permit).items() if callable(what) and not name.startswith("_")
)


def leans_on() -> dict[str, frozenset[str]]:
    """By property or answer of a permit, every field that it may look at, found in the source."""
    (body,) = ast.parse(inspect.getsource(Permit)).body
    assert isinstance(body, ast.ClassDef)
    found = {
        one.name: {
            at.attr for at in ast.walk(one)
            if isinstance(at, ast.Attribute) and isinstance(at.value, ast.Name) and at.value.id == "self"
        }
        for one in body.body if isinstance(one, ast.FunctionDef)
    }  # fmt: skip
    for _ in found:  # what a property asks of other properties, as deep as they are many
        for names in found.values():
            names |= set().union(*(found.get(name, set()) for name in names))
    return {of: frozenset(names) & FIELDS for of, names in found.items()}


LEANS_ON = leans_on()
CHANGING = ("permits.work.rules.", "tests.work.exploring.passing")  # who changes permits


class Notes:
    """What was read, in order, each once: {(permit, name, arguments): value}."""

    def __init__(self) -> None:
        self.read: dict[Reading, Any] = {}

    def of(self, permit: Permit) -> Noted:
        noted = object.__new__(Noted)
        vars(noted).update(stands_for=permit, notes=self, told={})
        return noted


class Noted(Permit):
    """`told`: the fields that changes gave it since; these are no readings."""

    def __getattribute__(self, name: str) -> Any:
        if name.startswith("__"):
            return object.__getattribute__(self, name)
        mine = object.__getattribute__(self, "__dict__")
        changed = mine["told"]
        if name in changed:
            return changed[name]
        if name in FIELDS or LEANS_ON[name].isdisjoint(changed):
            return read(mine["notes"], mine["stands_for"], name)
        return vars(Permit)[name].__get__(self)  # worked out anew, from what it was told and from readings


def read(notes: Notes, permit: Permit, name: str) -> Any:
    if name not in ANSWERS:
        return noted(notes, (permit.id, name, ()), lambda: getattr(permit, name))
    return lambda *asked: noted(notes, (permit.id, name, asked), lambda: getattr(permit, name)(*asked))


def noted(notes: Notes, reading: Reading, value: Callable[[], Any]) -> Any:
    if reading not in notes.read:
        notes.read[reading] = value()
    return notes.read[reading]


def value_of(permit: Permit, name: str, asked: tuple[Any, ...]) -> Any:
    """What a reading finds in this permit."""
    found = getattr(permit, name)
    return found(*asked) if name in ANSWERS else found


def told(permit: Permit) -> dict[str, Any]:
    """The fields that were changed."""
    assert isinstance(permit, Noted), "a permit was changed past its notes"
    return dict(vars(permit)["told"])


def replace(one: Any, /, **changes: Any) -> Any:
    """As dataclasses.replace; of a noted permit nothing is read by it."""
    if not isinstance(one, Noted):
        return dataclasses.replace(one, **changes)
    mine = vars(one)
    after = object.__new__(Noted)
    vars(after).update(mine, told={**mine["told"], **changes})
    return after


@contextmanager
def noting() -> Iterator[None]:
    """The rules, and what time does, change noted permits without reading them."""
    files = [m for name, m in list(sys.modules.items()) if name.startswith(CHANGING)]
    files = [m for m in files if getattr(m, "replace", None) is dataclasses.replace]
    for file in files:
        file.replace = replace
    try:
        yield
    finally:
        for file in files:
            file.replace = dataclasses.replace
