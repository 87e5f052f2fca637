"""The font files that prints draw on, and which of them can write a given piece of text.

DejaVu (it comes with matplotlib) writes Latin, Greek, Cyrillic and symbols; the Noto faces write the other
scripts. All are under licences that allow embedding. Where a package is missing its scripts are too, and the
characters are then printed as their code points, never as empty boxes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import uharfbuzz

REGULAR = 400
BOLD = 700

_EAST_ASIAN = ("JP", "KR", "SC", "TC", "HK")
"""The faces of Noto Sans CJK in the order of its collection file."""


@dataclass(frozen=True)
class Face:
    """One face of a font file at one weight. `name` is how prints call it; `covers` its code points."""

    name: str
    path: Path
    index: int = 0
    weight: int = REGULAR
    hb: Any = field(init=False, repr=False, compare=False)
    covers: frozenset[int] = field(init=False, repr=False, compare=False)
    per_em: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        file = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(self.path)), self.index)
        font = uharfbuzz.Font(file)
        font.set_variations({"wght": float(self.weight)})
        object.__setattr__(self, "hb", font)
        object.__setattr__(self, "covers", frozenset(file.unicodes))
        object.__setattr__(self, "per_em", file.upem)

    def can_write(self, characters: str) -> bool:
        return all(ord(character) in self.covers for character in characters)


def dejavu(bold: bool = False) -> Path:
    """The file of the main text font."""
    found = _folder("matplotlib")
    if found is None:
        raise RuntimeError("matplotlib is not installed; prints take their main font from it.")
    return found / "mpl-data" / "fonts" / "ttf" / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")


@cache
def main_face(bold: bool) -> Face:
    """The main text font as a face, for letters with marks that must be placed."""
    return Face("Text", dejavu(bold), weight=BOLD if bold else REGULAR)


@cache
def other_faces(bold: bool) -> tuple[Face, ...]:
    """The faces tried, in this order, for what the main font does not write. Han comes last."""
    weight = BOLD if bold else REGULAR
    faces = []
    if folder := _folder("manimgx_fonts"):
        files = sorted(folder.glob("Noto*[[]wght[]].ttf"))
        faces = [
            Face(path.stem.split("[")[0], path, weight=weight) for path in files if "Italic" not in path.stem
        ]
        # Plain Noto Sans, its symbols and emoji after the faces made for one script.
        faces.sort(key=lambda face: face.name in ("NotoSans", "NotoSansSymbols", "NotoEmoji"))
    return tuple(faces)


@cache
def east_asian_face(region: str, bold: bool) -> Face | None:
    """Chinese, Japanese or Korean; they share code points but not always the shape of a character."""
    folder = _folder("manimgx_fonts_cjk")
    if folder is None:
        return None
    path = folder / "NotoSansCJK-VF.otf.ttc"
    return Face(f"NotoSansCJK{region}", path, _EAST_ASIAN.index(region), BOLD if bold else REGULAR)


def region_of(text: str) -> str:
    """Whose shapes to use for Han characters: kana tell Japanese, hangul Korean, else Chinese."""
    if any("\u3040" <= c <= "\u30ff" for c in text):
        return "JP"
    if any("\uac00" <= c <= "\ud7af" or "\u1100" <= c <= "\u11ff" for c in text):
        return "KR"
    return "SC"


def _folder(package: str) -> Path | None:
    spec = find_spec(package)
    places = spec.submodule_search_locations if spec else None
    return Path(next(iter(places))) if places else None
