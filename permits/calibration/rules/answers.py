"""An assessment as the JSON answer of `assess_axis` and as text for reading."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

from permits.calibration.rules.deciding import Assessment, Decision
from permits.calibration.rules.fitting import root
from permits.calibration.rules.reasons import reason, size

FORM = """\
{"n": number of readings,
 "mean_deviation": mean of measured - nominal,
 "standard_deviation": sample standard deviation s of the deviations, null for one reading,
 "standard_uncertainty": u of the mean = sqrt(s^2/n + (U/k)^2 + resolution^2/12), null for one reading,
 "degrees_of_freedom": effective, not truncated; null when infinite (s = 0) or for one reading,
 "expanded_uncertainty": t(0.975, degrees_of_freedom) * u, t = 1.959964 when infinite; null for one reading,
 "decision": "leave", "adjust" or "measure again",
 "reason": the grounds in words; where a fitted deviation was judged, it and its uncertainty stand here,
 "more_readings": whole number, at least 1, with "measure again" where more pieces would settle it; else null
     (the reason then says why: the instrument is too coarse, or the deviation lies exactly on the limit),
 "fit": least squares of measured on nominal from three distinct nominals on, else null:
     {"intercept", "slope", "se_intercept", "se_slope", "residual_sd", "df": n - 2},
 "correction": {"offset", "scale", "scale_significant"}: command = scale * nominal + offset makes the fitted
     deviation zero. Not significant: offset = -mean_deviation, scale = 1. Significant: scale = 1/slope,
     offset = -intercept/slope (null where slope = 0). Below three distinct nominals scale and
     scale_significant are null and offset = -mean_deviation}"""


def as_json(answer: Assessment) -> dict[str, Any]:
    """The answer in plain floats, ints, strings and None, with the members that FORM lists, in its order."""
    line, correction = answer.line, answer.correction
    fit = line and {
        "intercept": float(line.intercept),
        "slope": float(line.slope),
        "se_intercept": float(root(line.intercept_variance)),
        "se_slope": float(root(line.slope_variance)),
        "residual_sd": float(root(line.residual_variance)),
        "df": line.df,
    }
    return {
        "n": answer.n,
        "mean_deviation": float(answer.mean),
        "standard_deviation": answer.s,
        "standard_uncertainty": answer.standard_uncertainty,
        "degrees_of_freedom": None if answer.df is None or math.isinf(answer.df) else answer.df,
        "expanded_uncertainty": answer.expanded_uncertainty,
        "decision": str(answer.decision),
        "reason": reason(answer),
        "more_readings": answer.more_readings,
        "fit": fit,
        "correction": {
            "offset": _float(correction.offset),
            "scale": _float(correction.scale),
            "scale_significant": correction.scale_significant,
        },
    }


def as_text(answer: Assessment) -> str:
    """The answer for a person: decision first, then its grounds, then the figures."""
    unit, correction = answer.question.unit, answer.correction
    lines = [str(answer.decision).upper(), reason(answer), ""]

    def row(name: str, value: str) -> None:
        lines.append(f"  {name:<34}{value}")

    row("readings", str(answer.n))
    row("mean deviation", size(answer.mean, unit, plus=True))
    if answer.s is not None and answer.standard_uncertainty is not None and answer.df is not None:
        row("standard deviation of one piece", size(answer.s, unit))
        row("standard uncertainty of the mean", size(answer.standard_uncertainty, unit))
        row("degrees of freedom", "infinite" if math.isinf(answer.df) else f"{answer.df:.4g}")
        row("expanded uncertainty (95 %)", size(answer.expanded_uncertainty or 0.0, unit))
    if answer.line is not None:
        row("fitted line", f"{float(answer.line.intercept):.6g} + {float(answer.line.slope):.8g} × nominal")
        row("test of slope = 1", f"p = {answer.slope_p:.3g}")
    if answer.decision is not Decision.ADJUST:
        row("correction", "none" if answer.decision is Decision.LEAVE else "not yet")
    elif correction.offset is None:
        row("correction", "none can be had: the readings do not follow the nominals")
    elif correction.scale_significant:
        scale = float(correction.scale or 1)
        row("correction", f"command = {scale:.8g} × nominal {float(correction.offset):+.6g}")
    else:
        row("correction", f"command = nominal {float(correction.offset):+.6g}")
    return "\n".join(lines)


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)
