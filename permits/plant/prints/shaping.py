"""Text in any script as runs of (font, characters to draw): reading direction, letter joining, fallbacks.

Directions follow the Unicode bidirectional algorithm (UAX #9, by python-bidi), shaping is HarfBuzz's.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import uharfbuzz
from bidi import algorithm as bidi
from bidi.mirror import MIRRORED

from permits.plant.prints.cutting import cut_font
from permits.plant.prints.faces import Face, east_asian_face, main_face, other_faces, region_of

MAIN = "Text"
"""reportlab's name for the main font; MAIN + "-Bold" is its bold."""

NO_BREAK = "\u00a0"

_BOUND_TOGETHER = 60
"""So many characters of a right-to-left script stay on one line."""

_VIRAMA = 9
"""The combining class of the sign that binds two consonants of an Indic script."""

_JOINERS = frozenset("\u200c\u200d")
_UNSEEN = frozenset("\u200e\u200f\u061c\u00ad\ufeff\u200b\u2060")
"""Characters without ink that mean nothing once a text is set."""


@dataclass(frozen=True, slots=True)
class _Cluster:
    """A letter with its marks, where it stands in the reading order, and what writes it (None: main font)."""

    text: str
    level: int
    face: Face | None


def main_font(bold: bool) -> str:
    return MAIN + "-Bold" if bold else MAIN


def visual_runs(text: str, bold: bool = False) -> list[tuple[str, str]]:
    """`text` as (font name, characters) from left to right as it is read on paper, on one line."""
    letters = _bound(list(_clusters(unicodedata.normalize("NFC", text), bold)))
    pieces: list[tuple[int, str, str]] = []
    for (face, level), group in groupby(letters, key=lambda c: (c.face, c.level)):
        words = "".join(c.text for c in group)
        if face is not None:
            pieces.append((level, cut_font(face).fontName, _shaped(words, face, level % 2 == 1)))
        else:
            drawn = "".join(MIRRORED.get(c, c) for c in reversed(words)) if level % 2 else words
            pieces.append((level, main_font(bold), drawn))
    merged: list[tuple[str, str]] = []
    for _, font, drawn in _reordered(pieces):
        if merged and merged[-1][0] == font:
            merged[-1] = (font, merged[-1][1] + drawn)
        else:
            merged.append((font, drawn))
    return merged


def clusters(text: str) -> list[str]:
    """Letters with their marks, and what a virama or a joiner binds to them; together they are `text`."""
    found: list[str] = []
    for character in text:
        bound = found and (
            unicodedata.category(character).startswith("M")
            or character in _JOINERS
            or found[-1][-1] == "\u200d"
            or unicodedata.combining(found[-1][-1]) == _VIRAMA
        )
        if bound:
            found[-1] += character
        else:
            found.append(character)
    return found


def reads_right_to_left(text: str) -> bool:
    """Whether any of it does."""
    return any(unicodedata.bidirectional(c) in ("R", "AL", "RLE", "RLO", "RLI") for c in text)


def _clusters(text: str, bold: bool) -> Iterator[_Cluster]:
    region = region_of(text)
    shown = "".join(map(_seen, text))
    levels = _levels(shown)
    start = 0
    for cluster in clusters(shown):
        level = levels[start]
        start += len(cluster)
        if cluster in _UNSEEN or cluster in _JOINERS:
            continue
        writable, face = _writer(cluster, region, bold)
        if writable:
            yield _Cluster(cluster, level, face)
        else:
            yield from (_Cluster(part, level + level % 2, None) for part in map(_named, cluster))


def _bound(letters: list[_Cluster]) -> list[_Cluster]:
    """Right-to-left words are turned round as one piece: no line break may fall between a few of them."""
    bound: list[_Cluster] = []
    for turned, group in groupby(letters, key=lambda c: c.level > 0):
        stretch = list(group)
        if turned and len(stretch) <= _BOUND_TOGETHER:
            stretch = [replace(c, text=NO_BREAK) if c.text == " " else c for c in stretch]
        bound += stretch
    return bound


def _writer(cluster: str, region: str, bold: bool) -> tuple[bool, Face | None]:
    """Whether anything writes the cluster, and the face that does (None: the main font as it is)."""
    main = main_face(bold)
    bare = "".join(c for c in cluster if c not in _JOINERS and not "\ufe00" <= c <= "\ufe0f")
    if (
        len(cluster) == 1
        and unicodedata.bidirectional(cluster) not in ("R", "AL", "NSM")
        and main.can_write(cluster)
    ):
        return True, None
    faces = [*other_faces(bold)]
    # The main font before plain Noto Sans, so that a marked letter looks like its neighbours.
    faces.insert(next((i for i, face in enumerate(faces) if face.name == "NotoSans"), len(faces)), main)
    faces += filter(None, (east_asian_face(each, bold) for each in (region, "TC", "JP")))
    writer = next((face for face in faces if face.can_write(bare)), None)
    return writer is not None, writer


def _seen(character: str) -> str:
    """White space as a space; a control that would change what is read as its code point in brackets."""
    if character in "\t\n\r\v\f\u2028\u2029\x85":
        return " "
    category = unicodedata.category(character)
    steers = "\u202a" <= character <= "\u202e" or "\u2066" <= character <= "\u2069"
    return _named(character) if category in ("Cc", "Cs", "Cn") or steers else character


def _named(character: str) -> str:
    return f"[U+{ord(character):04X}]"


def _levels(text: str) -> list[int]:
    """The embedding level of each character: even reads left to right, odd right to left."""
    if not reads_right_to_left(text):
        return [0] * len(text)
    storage = bidi.get_empty_storage()
    level = bidi.get_base_level(text)
    storage["base_level"], storage["base_dir"] = level, ("L", "R")[level]
    bidi.get_embedding_levels(text, storage)
    bidi.explicit_embed_and_overrides(storage)
    bidi.resolve_weak_types(storage)
    _pair_brackets(storage["chars"], "LR"[level])
    bidi.resolve_neutral_types(storage, False)
    bidi.resolve_implicit_levels(storage, False)
    return [character["level"] for character in storage["chars"]]


def _pair_brackets(characters: list[dict[str, Any]], base: str) -> None:
    """Rule N0 of UAX #9, which python-bidi's open steps lack: both brackets of a pair turn the same way."""
    kinds = [{"EN": "R", "AN": "R"}.get(c["type"], c["type"]) for c in characters]
    opened: list[tuple[str, int]] = []
    pairs: list[tuple[int, int]] = []
    for place, character in enumerate(c["ch"] for c in characters):
        if kinds[place] != "ON" or character not in MIRRORED:
            continue
        if unicodedata.category(character) == "Ps":
            opened.append((MIRRORED[character], place))
        elif unicodedata.category(character) == "Pe":
            matching = [i for i, (closing, _) in enumerate(opened) if closing == character]
            if matching:
                pairs.append((opened[matching[-1]][1], place))
                del opened[matching[-1] :]
    for start, end in sorted(pairs):
        inside = {kind for kind in kinds[start + 1 : end] if kind in "LR"}
        if not inside:
            continue
        before = next((kind for kind in reversed(kinds[:start]) if kind in ("L", "R")), base)
        turned = base if base in inside else before
        for place in (start, end):
            kinds[place] = characters[place]["type"] = turned


def _reordered(pieces: list[tuple[int, str, str]]) -> list[tuple[int, str, str]]:
    """Rule L2 of UAX #9: from the highest level down, reverse each stretch of that level or higher."""
    for level in range(max((p[0] for p in pieces), default=0), 0, -1):
        turned: list[tuple[int, str, str]] = []
        for inside, group in groupby(pieces, key=lambda p: p[0] >= level):
            stretch = list(group)
            turned += reversed(stretch) if inside else stretch
        pieces = turned
    return pieces


def _shaped(words: str, face: Face, leftwards: bool) -> str:
    """The characters of the face's cut font that draw `words`, from left to right."""
    buffer = uharfbuzz.Buffer()
    buffer.cluster_level = uharfbuzz.BufferClusterLevel.MONOTONE_GRAPHEMES
    buffer.add_str(words)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if leftwards else "ltr"
    uharfbuzz.shape(face.hb, buffer)
    glyphs = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
    starts = sorted({info.cluster for info, _ in glyphs})
    ends = dict(zip(starts, [*starts[1:], len(words)], strict=True))
    drawn = ""
    for start, group in groupby(glyphs, key=lambda g: g[0].cluster):
        advance = 0
        parts = []
        for info, place in group:
            parts.append((info.codepoint, advance + place.x_offset, place.y_offset))
            advance += place.x_advance
        text = words[start : ends[start]]
        drawn += " " if text.isspace() else chr(cut_font(face).face.code(text, advance, tuple(parts)))
    return drawn
