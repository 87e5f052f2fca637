"""How someone who does the work well fills in whatever form a page has, field by field."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from tests.factories_people import PASSWORD, PIN
from tests.work.web.sheets import Field, Form, Sheet

Typed = dict[str, list[str]]

SIGNATURE = "My signature says"
READING = "r"
AT_A_POINT = re.compile(r"_[A-Z].*")  # what a field's name ends with that is about one point of several
UNASKED = re.compile(r"watching|sign_in|others|keep_live|crew|next|.*_note")  # empty unless there is a reason


@dataclass(frozen=True)
class Plate:
    """What is at a point: its node, the code that a phone reads there, and whether it takes a padlock."""

    node: str
    token: str
    takes_lock: bool


@dataclass(frozen=True)
class Hand:
    """Who fills in, and what they know: the plates by the points' names, and where their own locks hang."""

    sign_in: str
    permit: str
    plates: dict[str, Plate]
    own: frozenset[str]
    at: datetime
    second: str
    zones: tuple[str, ...] = ()

    def stands_at(self, one: Field) -> Plate | None:
        """The point that the heading over a field names."""
        return next((plate for name, plate in self.plates.items() if name in one.under), None)

    def number(self, place: str) -> str:
        """A padlock that only this person has, for this one place."""
        return f"{self.sign_in}-{self.permit}-{place}"


def fill(page: Sheet, form: Form, hand: Hand) -> Typed:
    """What is posted once everything that the form asks for is answered as a careful person answers it."""
    typed = {name: list(values) for name, values in form.values.items()}
    for name, one in form.fields.items():
        if one.kind != "hidden":
            typed[name] = answer(name, one, typed.get(name, []), page, hand)
    return {name: values for name, values in typed.items() if values}


def answer(name: str, one: Field, there: list[str], page: Sheet, hand: Hand) -> list[str]:
    known = by_name(AT_A_POINT.sub("", name), one, there, page, hand)
    if known is not None:
        return known
    offers = [value for value in one.offers if value]
    if UNASKED.fullmatch(name):
        return there
    if one.kind == "checkbox":
        return offers
    if any(there):
        return there
    return offers[:1] if one.kind in ("radio", "select") else [f"{name}, in plain words"]


def by_name(name: str, one: Field, there: list[str], page: Sheet, hand: Hand) -> list[str] | None:
    """What fits a field of this name; None where anything that the form takes will do."""
    plate = hand.stands_at(one)
    at_place = hand.number(plate.node if plate else "box")
    locks = plate is None or plate.takes_lock
    match name:
        case "points":
            sanctioned = one.offers[:1]
            mine = [value for value in one.offers if value in hand.own]
            return sanctioned if "My locks are off" not in page.text else mine or one.offers
        case "code":
            return [plate.token if plate else min(p.token for p in hand.plates.values())]
        case "padlock":
            return there if any(there) else [at_place] if locks else []
        case "tag":
            return [f"T-{at_place}"] if locks else []
        case "seen_by":
            return []  # they see it themselves
        case "minutes":
            return ["10"]  # of a test; it may not last longer than the permit
        case "pin":
            return [PIN] if SIGNATURE in page.text else []
        case "second_sign_in":
            return [hand.second]
        case "second_pin":
            return [PIN]
        case "password":
            return [PASSWORD]
        case "zones" if hand.zones:
            return [value for value in one.offers if value in hand.zones]
        case "happened_at":
            return [hand.at.strftime("%Y-%m-%dT%H:%M")]
    return ["0"] if name == READING else None
