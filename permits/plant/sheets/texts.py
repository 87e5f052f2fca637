"""Texts that a spreadsheet program would take for something else: how they are written, and read again.

A text that begins with = + - or @ is a formula to a program that opens a CSV file (reference designations
after IEC 81346 begin with = and -). It is written with an apostrophe before it, which keeps the program from
running it, and which reading takes away. A workbook tells texts from formulas: there it stands as it is.
"""

from __future__ import annotations

import re

_STARTS = "=+-@\t\r\n|%＝＋－＠"
"""What begins a formula, or a command, somewhere; the last four are the wide forms of the first."""

_NUMBER = re.compile(r"-?\d+(\.\d+)?", re.ASCII)
_SPELT = re.compile("_x([0-9A-Fa-f]{4})_")
_LOOKS_SPELT = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
_UNFIT = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]")
"""What XML cannot hold. No plant file has a control character; two characters of no meaning may be in it."""


def guarded(text: str) -> str:
    """A text for a CSV file, so that nobody's program runs it."""
    return "'" + text if _looks_like_a_formula(text) or _is_ambiguous(text) else text


def marked(text: str) -> str:
    """A text for a workbook, which needs an apostrophe only where reading would take one away."""
    return "'" + text if _is_ambiguous(text) else text


def plain_again(text: str) -> str:
    """What `guarded` or `marked` was given; a line has one end, whatever the program wrote."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text[1:] if _is_ambiguous(text) else text


def _looks_like_a_formula(text: str) -> bool:
    first = text.lstrip()[:1] or text[:1]
    return first != "" and first in _STARTS and not _NUMBER.fullmatch(text)


def _is_ambiguous(text: str) -> bool:
    """Does it begin with an apostrophe that reading takes away?"""
    return text[:1] == "'" and _looks_like_a_formula(text.lstrip("'"))


def for_xml(text: str) -> str:
    """The text as workbooks spell it: what XML cannot hold, and what looks spelt so, as _xHHHH_."""
    text = _LOOKS_SPELT.sub("_x005F_", text)
    return _UNFIT.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def from_xml(text: str) -> str:
    """What `for_xml` was given, and other programs' spelling of line ends and the like."""
    return _SPELT.sub(_spelt, text) if "_x" in text else text


def _spelt(found: re.Match[str]) -> str:
    character = chr(int(found[1], 16))
    return character if character == "_" or character in "\t\n" or _UNFIT.match(character) else found[0]
