"""Two wordings of a text side by side: which words went, which came. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import SequenceMatcher

_WORDS = re.compile(r"\s+|\S+\s*")


@dataclass(frozen=True, slots=True)
class Piece:
    """Some words of a text; `changed` where the other wording does not have them there."""

    text: str
    changed: bool = False


Wording = tuple[Piece, ...]


def side_by_side(old: str, new: str) -> tuple[Wording, Wording]:
    """Both texts in pieces: what both have, and what only one has. Joined again they are the texts."""
    before, after = _WORDS.findall(old), _WORDS.findall(new)
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    left: list[Piece] = []
    right: list[Piece] = []
    for what, start, end, other_start, other_end in matcher.get_opcodes():
        changed = what != "equal"
        if start < end:
            left.append(Piece("".join(before[start:end]), changed))
        if other_start < other_end:
            right.append(Piece("".join(after[other_start:other_end]), changed))
    return tuple(left), tuple(right)
