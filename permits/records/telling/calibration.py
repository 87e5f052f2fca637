"""Sentences for the facts of a calibration job, and of the axes and instruments that it needs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from permits.calibration.rules.facts import Fact
from permits.calibration.rules.lengths import Measure, NotALength, deviation, from_record, printed
from permits.records.entries import Told
from permits.records.names import Names, listed
from permits.records.telling.line import Line, Voice, sentences


def said(told: Told, voice: Voice) -> Line | None:
    """The sentence of a fact of this topic; None for any other kind. Raises KeyError for a missing member."""
    return of_job(told, voice) or of_axes(told, voice)


def of_job(told: Told, voice: Voice) -> Line | None:
    """What was measured and changed in one job."""
    who, data, names = voice.names.author(told.by), told.data, voice.names
    match told.kind:
        case Fact.JOB_DESCRIBED:
            return Line(
                f"{who} saved the settings of {names.machine(data['machine'])} before job {data['job']}: "
                f"{data['settings_before']}",
                sentences(f"Reference board: {data['reference_board']}", f"Test piece: {data['test_piece']}"),
            )
        case Fact.AXIS_OPENED:
            return Line(
                f"{who} began with {data['name']}, tolerance ±{size(data['tolerance'])}",
                sentences(
                    f"Read with {names.instrument(data['instrument'])}",
                    certificate(data),
                    overdue(data),
                    f"Its as-left check is owed since {data['owed']} was closed not proven"
                    if data.get("owed")
                    else "",
                ),
            )
        case Fact.PIECE_READ:
            off = off_by(data["measured"], data["nominal"])
            return Line(
                f"{who} read piece {data['piece']} of {names.axis(data['axis'])}, {data['stage']}: "
                f"{size(data['measured'])}, nominal {size(data['nominal'])}, deviation {off}",
                sentences(overdue(data)),
            )
        case Fact.PIECE_STRUCK:
            read = f"{size(data['measured'])}, nominal {size(data['nominal'])}"
            return Line(
                f"{who} struck out piece {data['piece']} of {names.axis(data['axis'])}: {read}",
                sentences(f"Why: {data['why']}", "The reading stays in the record and counts for nothing"),
            )
        case Fact.PRE_CHECKED:
            return Line(f"{who} measured first pieces: {outcome(data, names)}", sentences(*features(data)))
        case Fact.CORRECTION_ENTERED:
            against = f"Against the readings, because: {data['override']}" if data["override"] else ""
            back = "It goes back on the change that made it worse" if data.get("back") else ""
            return Line(
                f"{who} changed the {data['parameter']} of {names.axis(data['axis'])} "
                f"from {size(data['old'])} to {size(data['new'])}",
                sentences(against, back, verdict(data)),
            )
        case Fact.RESULT_JUDGED:
            worse = "Further out than it was found" if data["worse"] else ""
            axis, pieces = names.axis(data["axis"]), data["pieces"]
            if since := data.get("owed"):
                return Line(
                    f"{axis} is left as it was found, on {pieces} pieces: {data['decision']}",
                    sentences(
                        f"This is the as-left check owed since {since} was closed not proven",
                        str(data["grounds"]),
                    ),
                )
            return Line(
                f"As-left result of {axis} on {pieces} pieces: {data['decision']}",
                sentences(worse, str(data["grounds"])),
            )
        case Fact.AXIS_ENDED:
            made = f"{data['corrections']} corrections" if data["corrections"] != 1 else "1 correction"
            last = f"{data['stage']}: {data['decision']}" if data["decision"] else "no reading"
            return Line(
                f"{who} {data['state']} the work on {names.axis(data['axis'])} after {made}; {last}",
                sentences(str(data["grounds"])),
            )
        case Fact.SETTINGS_SAVED:
            return Line(f"{who} saved the settings after job {data['job']}: {data['settings_after']}")
    return None


def of_axes(told: Told, voice: Voice) -> Line | None:
    """What officers describe: axes, features, instruments, how the site measures, results from before."""
    who, data = voice.names.author(told.by), told.data
    number = told.about.removeprefix("instrument:")
    match told.kind:
        case Fact.AXIS_SAVED:
            return Line(f"{who} described the axis {data['name']}, tolerance ±{size(data['tolerance'])}")
        case Fact.AXIS_REMOVED:
            return Line(f"{who} took out the axis {data.get('name', data['axis'])}")
        case Fact.FEATURE_SAVED:
            depends = ", ".join(f"{axis}: {digits}" for axis, digits in data["depends"].items())
            return Line(f"{who} described the feature {data['feature']}", sentences(f"Depends on {depends}"))
        case Fact.FEATURE_REMOVED:
            return Line(f"{who} took out the feature {data['feature']}")
        case Fact.POLICY_SAVED:
            return Line(
                f"{who} set how the site measures: lengths in {data['lengths']}, fractions down to "
                f"1/{data['finest']}, readings with an overdue instrument are {data['overdue']}"
            )
        case Fact.EARLIER_RESULT_ENTERED:
            left = f", left at {size(data['as_left'])}" if data["as_left"] else ", not adjusted"
            return Line(
                f"{who} entered an earlier result of {data['name']}, {data['on']}: "
                f"found at {size(data['as_found'])}{left}",
                sentences(f"Source: {data['source']}"),
            )
        case Fact.INSTRUMENT_SAVED:
            return Line(
                f"{who} entered the certificate of {number} {data['name']}",
                sentences(certificate(data), f"Due {data['due_on']}"),
            )
        case Fact.INSTRUMENT_REMOVED:
            return Line(f"{who} took the instrument {number} out of use")
    return None


def verdict(data: Mapping[str, Any]) -> str:
    """What the readings said when an axis was corrected."""
    return f"The readings said {data['decision']}. {data['grounds']}" if data["decision"] else ""


def certificate(data: Mapping[str, Any]) -> str:
    return (
        f"Its certificate: U = {size(data['expanded_uncertainty'])}, k = {data['coverage_factor']}, "
        f"resolution {size(data['resolution'])}"
    )


def overdue(data: Mapping[str, Any]) -> str:
    """What is said of a reading with an instrument that is out of date."""
    since = data.get("overdue_since")
    return f"The instrument's calibration was due on {since}" if since else ""


def outcome(data: Mapping[str, Any], names: Names) -> str:
    """What a pre-check came to, with the axes named as the check itself named them."""
    named = {one["axis"]: one["name"] for one in data["axes"]} | dict(names.axes)
    if data["pair"]:
        return f"{listed(named.get(code, code) for code in data['pair'])} together"
    found = named.get(data["verdict"], data["verdict"])
    first = [named.get(code, code) for code in data["try_first"]]
    return found + (f"; to be tried first: {listed(first)}" if first else "")


def features(data: Mapping[str, Any]) -> list[str]:
    """Each feature with its deviation, then the grounds."""
    measured = [
        f"{one['feature']}: {size(one['deviation'])}, u = {size(one['standard_uncertainty'])}"
        for one in data["features"]
    ]
    return [*measured, str(data["grounds"])]


def size(recorded: object) -> str:
    """A recorded measure as people write it; as it stands where it cannot be read."""
    found = measure(recorded)
    return str(recorded) if found is None else printed(found)


def off_by(measured: object, nominal: object) -> str:
    """The exact deviation with its sign."""
    read, wanted = measure(measured), measure(nominal)
    if read is None or wanted is None:
        return "not readable"
    try:
        return printed(deviation(read, wanted), plus=True)
    except ValueError:
        return "of two units"


def measure(recorded: object) -> Measure | None:
    try:
        return from_record(str(recorded))
    except NotALength:
        return None
