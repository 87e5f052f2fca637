"""The input of `assess_axis`: readings of one axis with their instrument and tolerance, as JSON."""

from __future__ import annotations

from typing import Any

from permits.calibration.rules.deciding import Instrument, Question, Reading
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.members import Allowed, Reader, shown, top_members
from permits.plant.rules.jsontext import Members

FORM = """\
{"unit": "mm", "in" or "deg",
 "tolerance": above 0,
 "instrument": {"expanded_uncertainty": U, 0 or more, "coverage_factor": k, above 0, "resolution": 0 or more},
 "readings": [{"nominal": 1200, "measured": 1200.3}, ...]}

Numbers are JSON numbers, read as exact decimals, or texts of digits; in inches also "92 5/8". One unit holds
for the whole input: a reading or the instrument may repeat it as "unit", but not name another.
"note" may hold a text of your own."""

_TOP = ("unit", "tolerance", "instrument", "readings")
_INSTRUMENT = ("expanded_uncertainty", "coverage_factor", "resolution")


def read_axis(text: str | bytes) -> Question:
    """The question that a JSON text asks. Raises FaultyInput with everything that is wrong with it."""
    top = top_members(text, "an object with unit, tolerance, instrument and readings")
    reader = Reader()
    reader.names(top, "", _TOP, ("note",))
    unit = _unit(reader, top)
    tolerance = reader.number(top, "tolerance", "", Allowed.POSITIVE, unit=unit)
    instrument = _instrument(reader, top, unit)
    readings = _readings(reader, top, unit)
    reader.finish()
    if unit is None or tolerance is None or instrument is None:
        raise AssertionError("finish() has raised for what is missing")
    return Question(unit, tolerance, instrument, tuple(readings))


def _unit(reader: Reader, top: Members) -> Unit | None:
    if "unit" not in top:
        return None
    if isinstance(top["unit"], str) and top["unit"] in set(Unit):
        return Unit(top["unit"])
    reader.wrong("unit", f"is {shown(top['unit'])}", "one of 'mm', 'in', 'deg'")
    return None


def _same_unit(reader: Reader, members: Members, place: str, unit: Unit | None) -> None:
    if unit is not None and members.get("unit", unit) != unit:
        wrong = f"is {shown(members['unit'])} while the input is in '{unit}': mixed units"
        reader.wrong(f"{place}.unit", wrong, f"everything in '{unit}', or to leave this member out")


def _instrument(reader: Reader, top: Members, unit: Unit | None) -> Instrument | None:
    if "instrument" not in top:
        return None
    found = reader.object(top["instrument"], "instrument", f"an object with {', '.join(_INSTRUMENT)}")
    if found is None:
        return None
    reader.names(found, "instrument", _INSTRUMENT, ("unit",))
    _same_unit(reader, found, "instrument", unit)
    uncertainty = reader.number(found, "expanded_uncertainty", "instrument", Allowed.NOT_NEGATIVE, unit=unit)
    factor = reader.number(found, "coverage_factor", "instrument", Allowed.POSITIVE)
    resolution = reader.number(found, "resolution", "instrument", Allowed.NOT_NEGATIVE, unit=unit)
    if uncertainty is None or factor is None or resolution is None:
        return None
    return Instrument(uncertainty, factor, resolution)


def _readings(reader: Reader, top: Members, unit: Unit | None) -> list[Reading]:
    if "readings" not in top:
        return []
    right = 'a list of at least one {"nominal": …, "measured": …}'
    found = []
    for at, value in enumerate(reader.list(top["readings"], "readings", right) or []):
        reading = _reading(reader, value, f"readings[{at}]", unit)
        if reading is not None:
            found.append(reading)
    return found


def _reading(reader: Reader, value: Any, place: str, unit: Unit | None) -> Reading | None:
    members = reader.object(value, place, "an object with nominal and measured")
    if members is None:
        return None
    reader.names(members, place, ("nominal", "measured"), ("unit",))
    _same_unit(reader, members, place, unit)
    nominal = reader.number(members, "nominal", place, Allowed.ANY, unit=unit)
    measured = reader.number(members, "measured", place, Allowed.ANY, unit=unit)
    return None if nominal is None or measured is None else Reading(nominal, measured)
