"""The input of `rank_axes`: deviations of test piece features and what they depend on, as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Any

from permits.calibration.rules.axes import NONE, PAIR, UNDETERMINED, Feature, site_order
from permits.calibration.rules.members import Allowed, Reader, shown, top_members
from permits.plant.rules.jsontext import Members

FORM = """\
{"features": [{"name": "diagonal", "deviation": 0.8, "standard_uncertainty": 0.1}, ...],
 "axes": ["angle", "length", ...],
 "sensitivities": {"diagonal": {"angle": 1.2, "length": 0.4}, ...}}

A sensitivity is the deviation of the feature per unit of the axis' error; an axis not named for a feature
counts as 0, a feature that depends on no axis has {}. Numbers are JSON numbers, read as exact decimals, or
texts of digits. "order" may list the axes in the site's own order; without it the axis named "angle" comes
first and the others as listed. "note" may hold a text of your own."""

_TOP = ("features", "axes", "sensitivities")
_FEATURE = ("name", "deviation", "standard_uncertainty")
_WORDS = (PAIR, NONE, UNDETERMINED)


@dataclass(frozen=True, slots=True)
class Pieces:
    """The features as measured and the axes in the site's order."""

    features: tuple[Feature, ...]
    order: tuple[str, ...]


def read_pieces(text: str | bytes) -> Pieces:
    """What a JSON text asks. Raises FaultyInput with everything that is wrong with it."""
    top = top_members(text, "an object with features, axes and sensitivities")
    reader = Reader()
    reader.names(top, "", _TOP, ("order", "note"))
    axes = _axes(reader, top)
    order = _order(reader, top, axes)
    measured = _measured(reader, top)
    sensitivities = _sensitivities(reader, top, list(measured), axes)
    reader.finish()
    features = (Feature(name, *values, sensitivities[name]) for name, values in measured.items())
    return Pieces(tuple(features), site_order(axes, order))


def _axes(reader: Reader, top: Members) -> list[str]:
    if "axes" not in top:
        return []
    names = _names(reader, top["axes"], "axes", "a list of at least one axis name")
    for name in names:
        if name in _WORDS:
            reader.wrong("axes", f"has an axis named '{name}', which is a verdict", "another name for it")
    return names


def _names(reader: Reader, value: Any, place: str, right: str) -> list[str]:
    found: list[str] = []
    for at, item in enumerate(reader.list(value, place, right) or []):
        name = reader.name(item, f"{place}[{at}]")
        if name is not None and name in found:
            reader.wrong(f"{place}[{at}]", f"names '{name}' a second time", "each name once")
        elif name is not None:
            found.append(name)
    return found


def _order(reader: Reader, top: Members, axes: Sequence[str]) -> list[str] | None:
    if "order" not in top:
        return None
    order = _names(reader, top["order"], "order", "a list of axis names")
    for name in order:
        _known(reader, name, axes, "order", "axes")
    return order


def _known(reader: Reader, name: str, known: Sequence[str], place: str, where: str) -> bool:
    if name in known:
        return True
    near = get_close_matches(name[:64], known, n=1, cutoff=0.6)
    right = f"'{near[0]}', if that was meant" if near else f"a name that stands under {where}"
    reader.wrong(place, f"'{name[:60]}' is not among the {where}", right)
    return False


def _measured(reader: Reader, top: Members) -> dict[str, tuple[Fraction, Fraction]]:
    """Deviation and standard uncertainty by feature."""
    found: dict[str, tuple[Fraction, Fraction]] = {}
    right = "a list of at least one feature with name, deviation and standard_uncertainty"
    listed = reader.list(top["features"], "features", right) if "features" in top else None
    for at, value in enumerate(listed or []):
        place = f"features[{at}]"
        members = reader.object(value, place, f"an object with {', '.join(_FEATURE)}")
        if members is None:
            continue
        reader.names(members, place, _FEATURE)
        name = reader.name(members["name"], f"{place}.name") if "name" in members else None
        deviation = reader.number(members, "deviation", place, Allowed.ANY)
        uncertainty = reader.number(members, "standard_uncertainty", place, Allowed.POSITIVE)
        if name in found:
            reader.wrong(f"{place}.name", f"is '{name}' a second time", "each feature once")
        elif name is not None:
            found[name] = (deviation or Fraction(0), uncertainty or Fraction(1))
    return found


def _sensitivities(
    reader: Reader, top: Members, features: Sequence[str], axes: Sequence[str]
) -> dict[str, dict[str, Fraction]]:
    if "sensitivities" not in top:
        return {}
    rows = reader.object(top["sensitivities"], "sensitivities", 'an object {"feature": {"axis": number}}')
    if rows is None:
        return {}
    for name in rows.repeated:
        reader.wrong(f"sensitivities.{name}", "is given more than once", "to give it once")
    found: dict[str, dict[str, Fraction]] = {}
    for name in features:
        if name not in rows:
            reader.wrong(f"sensitivities.{name}", "is missing", "to give it, {} where it depends on no axis")
    for name, row in rows.items():
        place = f"sensitivities.{name[:60]}"
        if not _known(reader, name, features, "sensitivities", "features"):
            continue
        if not isinstance(row, Members):
            reader.wrong(place, f"is {shown(row)}", 'an object {"axis": number}')
            continue
        for axis in row.repeated:
            reader.wrong(f"{place}.{axis}", "is given more than once", "to give it once")
        values = {
            axis: reader.number(row, axis, place, Allowed.ANY)
            for axis in row
            if _known(reader, axis, axes, place, "axes")
        }
        found[name] = {axis: value for axis, value in values.items() if value is not None}
    return found
