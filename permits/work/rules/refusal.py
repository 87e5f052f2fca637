"""A refusal: every unmet condition in plain words, who can meet it, and the path concerned."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unmet:
    """One condition that is not met. `code` is for tests and the rules page; the rest is for people.

    `path` holds the names from a source to the person or zone, where energy is the reason.
    """

    code: str
    what: str
    who: str
    path: tuple[str, ...] = ()


class Refused(Exception):
    """The command is refused; nothing has happened."""

    def __init__(self, unmet: Iterable[Unmet], asked: str = "") -> None:
        self.unmet = tuple(unmet)
        self.asked = asked
        super().__init__("; ".join(u.what for u in self.unmet))

    @property
    def codes(self) -> set[str]:
        return {u.code for u in self.unmet}

    @property
    def path(self) -> tuple[str, ...]:
        """The first path among the conditions, empty where energy is not the reason."""
        return next((u.path for u in self.unmet if u.path), ())


def refuse_if(unmet: Iterable[Unmet]) -> None:
    """Raise Refused with every condition that `unmet` yields; return if there is none."""
    found = tuple(unmet)
    if found:
        raise Refused(found)
