"""What a rule of the product is to people: what it asks, who can meet it, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Sure(StrEnum):
    """How a published clause was read; the same three marks as in the project's collection of standards."""

    READ = "read in the document"
    SECOND_HAND = "read second-hand"
    FROM_MEMORY = "from memory"


class Own(StrEnum):
    """Where a rule comes from that no published clause asks for."""

    SITE_POLICY = "site policy"
    COMMON_PRACTICE = "common practice"
    RECORD = "a record that holds"

    @property
    def means(self) -> str:
        return MEANS[self]


MEANS = {
    Own.SITE_POLICY: "More than the law asks: the site, or this product for it, wants it so.",
    Own.COMMON_PRACTICE: "What the trade does; no published source is known.",
    Own.RECORD: "What is asked has to make sense and be said once: otherwise the record would not be true.",
}
SITE_POLICY, COMMON_PRACTICE, RECORD = Own.SITE_POLICY, Own.COMMON_PRACTICE, Own.RECORD


@dataclass(frozen=True, slots=True)
class Clause:
    """A published clause: where it stands, what it asks in our words, and how surely it is known."""

    cite: str
    what: str
    sure: Sure


@dataclass(frozen=True, slots=True)
class Rule:
    """One condition in words. `asks`: what has to be so. `who`: who can see to it. `grounds`: why so."""

    asks: str
    who: str
    grounds: tuple[Clause | Own, ...]

    @property
    def clauses(self) -> tuple[Clause, ...]:
        return tuple(one for one in self.grounds if isinstance(one, Clause))

    @property
    def own(self) -> tuple[Own, ...]:
        return tuple(one for one in self.grounds if isinstance(one, Own))


@dataclass(frozen=True, slots=True)
class Topic:
    """Rules that belong together, by code, in the order in which they are met.

    `asked`: in words when they are asked, where the rooms that ask them have no steps by name.
    """

    title: str
    rules: dict[str, Rule]
    asked: str = ""


@dataclass(frozen=True, slots=True)
class NotOffered:
    """Something that the law allows and this product leaves out."""

    what: str
    why: str
    clause: Clause
