"""Canonical JSON (RFC 8785): one value, one sequence of bytes, so that its hash means something. Pure."""

import re
from collections.abc import Mapping
from math import isfinite
from typing import Final

MOST: Final = 2**53
"""The largest magnitude up to which every integer is exactly a JSON number (an IEEE 754 double)."""

_ESCAPED = re.compile(r'[\x00-\x1f"\\]')
_SHORT: Final = {"\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r", '"': '\\"', "\\": "\\\\"}


def canonical(value: object) -> bytes:
    """The UTF-8 bytes of `value` by RFC 8785.

    `value`: None, bool, int, float, str, list or tuple, and mappings with str keys, nested.
    Raises TypeError for any other type or key, ValueError for NaN, infinities, integers beyond 2^53 and
    lone surrogates.
    """
    pieces: list[str] = []
    _value(value, pieces)
    return "".join(pieces).encode("utf-8")


def _value(value: object, out: list[str]) -> None:
    match value:
        case None:
            out.append("null")
        case bool():
            out.append("true" if value else "false")
        case str():
            out.append(_string(value))
        case int():
            out.append(_integer(value))
        case float():
            out.append(number(value))
        case list() | tuple():
            _array(value, out)
        case Mapping():
            _object(value, out)
        case _:
            raise TypeError(
                f"a {type(value).__name__} is no JSON value; str, int, bool, None, list and dict are"
            )


def _array(items: list[object] | tuple[object, ...], out: list[str]) -> None:
    out.append("[")
    for place, item in enumerate(items):
        if place:
            out.append(",")
        _value(item, out)
    out.append("]")


def _object(members: Mapping[object, object], out: list[str]) -> None:
    named: list[tuple[bytes, str, object]] = []
    for name, item in members.items():
        if not isinstance(name, str):
            raise TypeError(f"the member name {name!r} is a {type(name).__name__}; a name has to be a str")
        text = _string(name)  # first: it refuses lone surrogates in words
        named.append((name.encode("utf-16-be"), text, item))
    # RFC 8785 §3.2.3 sorts by UTF-16 code units, which big-endian bytes reproduce and code points would not.
    named.sort(key=lambda member: member[0])
    out.append("{")
    for place, (_, text, item) in enumerate(named):
        out.append(f",{text}:" if place else f"{text}:")
        _value(item, out)
    out.append("}")


def _string(text: str) -> str:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        where = error.start
        raise ValueError(
            f"lone surrogate U+{ord(text[where]):04X} at character {where}; "
            "text has to be whole Unicode characters"
        ) from None
    return f'"{_ESCAPED.sub(_escape, text)}"'


def _escape(found: re.Match[str]) -> str:
    return _SHORT.get(found[0]) or f"\\u{ord(found[0]):04x}"


def _integer(value: int) -> str:
    if abs(value) > MOST:
        raise ValueError("an integer beyond 2^53 is no exact JSON number; write it as a string")
    return int.__repr__(value)


def number(value: float) -> str:
    """A double as ECMAScript's Number::toString(10) prints it (RFC 8785 §3.2.2.3).

    Python's repr gives the same shortest digits; only the layout differs. Raises ValueError for NaN and
    infinities.
    """
    if not isfinite(value):
        raise ValueError(f"{value} is no JSON number")
    if value == 0:
        return "0"  # minus zero too
    sign = "-" if value < 0 else ""
    mantissa, _, exponent = float.__repr__(abs(value)).partition("e")
    whole, _, fraction = mantissa.partition(".")
    if fraction == "0":
        fraction = ""
    digits = (whole + fraction).lstrip("0")
    # The value is 0.DIGITS × 10^point.
    point = int(exponent or 0) + len(whole) - (len(whole + fraction) - len(digits))
    digits = digits.rstrip("0")
    return sign + _laid_out(digits, point)


def _laid_out(digits: str, point: int) -> str:
    """ECMAScript's four layouts for 0.`digits` × 10^`point`; its n is `point`, its k the number of digits."""
    count = len(digits)
    if count <= point <= 21:
        return digits + "0" * (point - count)
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return f"0.{'0' * -point}{digits}"
    head = digits if count == 1 else f"{digits[0]}.{digits[1:]}"
    return f"{head}e{point - 1:+d}"
