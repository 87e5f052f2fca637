"""The words of a picture: how large they are, how they wrap, and what a part is called when read aloud."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from permits.plant.picture.drawing import Ink
from permits.plant.picture.scene import Part
from permits.plant.picture.standing import State
from permits.plant.prints import fonts
from permits.plant.rules.energy import Kind

KINDS: Mapping[Kind | None, str] = {
    Kind.SUPPLY: "supply",
    Kind.ISOLATOR: "isolator",
    Kind.STORE: "stored energy",
    Kind.CARRIER: "carrier",
    Kind.ZONE: "zone",
    None: "folded together",
}


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of a part's words."""

    text: str
    size: float
    leading: float
    ink: Ink


@dataclass(frozen=True, slots=True)
class Look:
    """Title and description of the picture, sizes of its words, where a press on a node leads, by its id."""

    title: str
    description: str
    name_size: float
    note_size: float
    in_boxes: bool = False
    urls: Mapping[str, str] = field(default_factory=dict)

    def lines(self, part: Part, room: float) -> list[TextLine]:
        """Name, designation, state and owners, wrapped to `room`; nothing is cut.

        A carrier's state is in its line and its designation in what is read aloud: they would only be noise.
        """
        on_supply = part.kind is Kind.SUPPLY and self.in_boxes
        name = Ink.ON_SUPPLY if on_supply else Ink.LABEL
        note = Ink.ON_SUPPLY_NOTE if on_supply else Ink.NOTE
        alarm = Ink.ALARM if part.state is State.EXPOSED else note
        designation = "" if part.kind is Kind.CARRIER else part.designation
        state = "" if part.kind is Kind.CARRIER and len(part.ids) == 1 else part.note
        return [
            *self._wrapped(part.name, self.name_size, name, room),
            *self._wrapped(designation, self.note_size, note, room),
            *self._wrapped(state, self.note_size, alarm, room),
            *self._wrapped(part.owners, self.note_size, note, room),
        ]

    @staticmethod
    def _wrapped(text: str, size: float, ink: Ink, room: float) -> list[TextLine]:
        lines = fonts.wrap(text, size, room, bold=ink not in (Ink.NOTE, Ink.ON_SUPPLY_NOTE))
        return [TextLine(line, size, round(size * 1.25, 1), ink) for line in lines]

    def columns(
        self, part: Part, left: float, right: float, share: float
    ) -> list[tuple[float, list[TextLine]]]:
        """The words between `left` and `right`, as (where a column starts, its lines).

        Name and state below each other, or beside each other where the names have a `share` of the width.
        """
        if share == 1.0:
            return [(left, self.lines(part, right - left))]
        # The second column starts at the same place in every row.
        second = right * share
        named = replace(part, note="", owners="")
        stated = self._wrapped(part.note, self.note_size, self._state_ink(part), right - second)
        stated += self._wrapped(part.owners, self.note_size, Ink.NOTE, right - second)
        return [(left, self.lines(named, second - left - 12)), (second, stated)]

    @staticmethod
    def _state_ink(part: Part) -> Ink:
        return Ink.ALARM if part.state is State.EXPOSED else Ink.NOTE

    def spoken(self, part: Part) -> str:
        """The part in one sentence: "Cell disconnector, isolator, =L3-QB1: locked, proven (lock 4711)"."""
        what = ", ".join(filter(None, (part.name, KINDS[part.kind], part.designation)))
        note = part.note if part.note != KINDS[part.kind] else ""
        locks = ", ".join(filter(None, (part.plate and f"lock {part.plate}", part.owners)))
        return what + (f": {note}" if note else "") + (f" ({locks})" if locks else "")

    def url(self, part: Part) -> str:
        return self.urls.get(part.id, "") if len(part.ids) == 1 else ""
