"""Why an axis is left, adjusted or measured again, in words for the person at the machine."""

from __future__ import annotations

from fractions import Fraction

from permits.calibration.rules.deciding import Assessment, Decision
from permits.calibration.rules.lengths import Unit


def reason(answer: Assessment) -> str:
    """The decision's grounds in a few sentences. "scatter" is said only where pieces differ too much."""
    said = [_decided(answer)]
    if answer.decision is Decision.MEASURE_AGAIN:
        said.append(_what_would_settle(answer))
    if scatter := _scatter(answer):
        said.append(scatter)
    if answer.line is not None and answer.correction.scale_significant and answer.line.slope <= 0:
        said.append("The readings do not grow with the nominals: check which reading belongs to which piece.")
    return " ".join(said)


def size(value: float | Fraction, unit: Unit, *, plus: bool = False) -> str:
    """A figure for reading: four significant digits and the unit. Not exact; for sentences only."""
    text = f"{float(value):+.4g}" if plus and value else f"{float(value):.4g}"
    return text + ("°" if unit is Unit.DEGREE else f" {unit}")


def _decided(answer: Assessment) -> str:
    unit, tolerance = answer.question.unit, answer.question.tolerance
    if answer.judged is None:
        mean = size(answer.mean, unit, plus=True)
        return f"One reading ({mean}) cannot say how far pieces differ: at least one more is needed."
    judged = answer.judged
    what = f"The mean deviation {size(judged.value, unit, plus=True)}"
    if judged.nominal is not None:
        what = (
            f"The scale is off (slope {float(answer.line.slope if answer.line else 1):.6g}, p = "
            f"{answer.slope_p:.2g}); the largest fitted deviation "
            f"{size(judged.value, unit, plus=True)}, at nominal {size(judged.nominal, unit)},"
        )
    band = f"its expanded uncertainty {size(judged.expanded_uncertainty, unit)}"
    match answer.decision:
        case Decision.LEAVE:
            return f"{what} is inside ±{size(tolerance, unit)} by at least {band}: leave it."
        case Decision.ADJUST:
            return f"{what} is outside ±{size(tolerance, unit)} by more than {band}: adjust."
        case Decision.MEASURE_AGAIN:
            return f"{what} is nearer to ±{size(tolerance, unit)} than {band}: the data cannot tell."


def _what_would_settle(answer: Assessment) -> str:
    if answer.judged is None:
        return "How many would settle it can be told from two readings on."
    if answer.more_readings is not None:
        pieces = "1 more piece" if answer.more_readings == 1 else f"{answer.more_readings} more pieces"
        return f"About {pieces} would settle it, if they come out like these."
    if abs(answer.judged.value) == answer.question.tolerance:
        return "It lies exactly on the limit: neither more pieces nor a finer instrument would settle that."
    if answer.question.instrument.variance == 0:
        return "No practicable number of pieces would settle it."
    return "The instrument is too coarse to settle it, however many pieces are measured: take a finer one."


def _scatter(answer: Assessment) -> str:
    if not answer.scatter:
        return ""
    limit = f"±{size(answer.question.tolerance, answer.question.unit)}"
    if answer.judged is not None and answer.judged.nominal is not None and not answer.line_scatter:
        return f"Pieces scatter beyond {limit} only because the error grows with the size: it is the scale."
    return (
        f"Single pieces scatter beyond {limit} although the mean is within it: "
        "scatter, not the setting, is the trouble, and no correction will cure it."
    )
