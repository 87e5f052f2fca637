"""A ranking of axes as the JSON answer of `rank_axes` and as text for reading."""

from __future__ import annotations

from typing import Any

from permits.calibration.rules.axes import NONE, PAIR, UNDETERMINED, Ranking

FORM = """\
{"axes": ranked by chi2, the least first:
     [{"axis": name, "error": weighted least squares, "standard_uncertainty": of that error,
       "chi2", "dof": features - 1, "p_value": null when dof is 0}, ...]
     (error and standard_uncertainty are null for an axis that no measured feature depends on),
 "verdict": the name of the axis that explains the data, or "pair", "none", "undetermined",
 "pair": the names of the two axes that together explain the data, with the verdict "pair"; else null,
 "pair_fit": {"errors", "standard_uncertainties", "chi2", "dof": features - 2, "p_value"} of that pair, its
     lists in the order of "pair"; else null,
 "try_first": with the verdict "undetermined" the axes that remain, in the site's order; else null,
 "reason": the grounds in words}"""


def as_json(ranking: Ranking) -> dict[str, Any]:
    """The ranking in plain floats, ints, strings and None, with the members that FORM lists, in its order."""
    pair = ranking.pair
    return {
        "axes": [
            {
                "axis": fit.axis,
                "error": None if fit.error is None else float(fit.error),
                "standard_uncertainty": None if fit.uncertainty is None else float(fit.uncertainty),
                "chi2": float(fit.chi2),
                "dof": fit.dof,
                "p_value": fit.p,
            }
            for fit in ranking.fits
        ],
        "verdict": ranking.verdict,
        "pair": pair and list(pair.axes),
        "pair_fit": pair
        and {
            "errors": [float(error) for error in pair.errors],
            "standard_uncertainties": [float(uncertainty) for uncertainty in pair.uncertainties],
            "chi2": float(pair.chi2),
            "dof": pair.dof,
            "p_value": pair.p,
        },
        "try_first": None if ranking.try_first is None else list(ranking.try_first),
        "reason": reason(ranking),
    }


def as_text(ranking: Ranking) -> str:
    """Verdict, grounds, then one line for each axis."""
    lines = [f"Verdict: {ranking.verdict}", reason(ranking), ""]
    lines.append(f"  {'axis':<24}{'error':>12}{'± u':>12}{'χ²':>12}{'dof':>5}{'p':>10}")
    for fit in ranking.fits:
        e = "–" if fit.error is None else f"{float(fit.error):.4g}"
        u = "–" if fit.uncertainty is None else f"{float(fit.uncertainty):.3g}"
        p = "–" if fit.p is None else f"{fit.p:.3g}"
        lines.append(f"  {fit.axis:<24}{e:>12}{u:>12}{float(fit.chi2):>12.4g}{fit.dof:>5}{p:>10}")
    return "\n".join(lines)


def reason(ranking: Ranking) -> str:
    """Why this verdict, in words."""
    best = ranking.fits[0]
    match ranking.verdict:
        case verdict if verdict == UNDETERMINED:
            return _undetermined(ranking)
        case verdict if verdict == PAIR and ranking.pair:
            first, second = ranking.pair.axes
            return (
                f"No single axis explains the deviations; {first} and {second} together do (p = "
                f"{ranking.pair.p:.2g}). One at a time: correct {first}, measure again, then judge {second}."
            )
        case verdict if verdict == NONE:
            why = "nor does any pair" if best.dof >= 2 else "and two features are too few to judge a pair"
            return (
                f"No single axis explains the deviations, {why}: look for damage, dirt or loose parts first."
            )
    if len(ranking.fits) == 1:
        return f"{best.axis} explains the deviations (p = {best.p:.2g}); it is the only axis asked about."
    gap = float(ranking.fits[1].chi2 - best.chi2)
    return f"{best.axis} explains the deviations (p = {best.p:.2g}); the next axis' χ² is {gap:.3g} higher."


def _undetermined(ranking: Ranking) -> str:
    best = ranking.fits[0]
    if best.dof == 0:
        why = "One feature alone cannot tell the axes apart"
    elif best.error is None:
        why = "None of the measured features depends on any of these axes"
    else:
        why = f"The data cannot tell {best.axis} from the axes that come next (χ² less than 3.84 higher)"
    if not ranking.try_first:
        return f"{why}: measure features that depend on an axis."
    return f"{why}: measure more features, or try {ranking.try_first[0]} first."
