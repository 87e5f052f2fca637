"""An axis that owes its as-left check since an officer closed a permit as not proven: what settles it. Pure.

A correction for the check's sake would adjust what may be right. So the as-found readings are the check
where they say plainly, with the guard band, that the axis is in tolerance, and it is closed as it is. What
does not tell, says adjust, or scatters beyond the tolerance proves nothing; nor do readings of an axis that
was opened before the machine was left unproven. After a correction its own check is the one owed.
"""

from __future__ import annotations

from collections.abc import Sequence

from permits.calibration.rules.deciding import Decision
from permits.calibration.rules.job import LEAST_PIECES, AxisState, AxisWork, Stage


def was_opened_before(work: AxisWork) -> bool:
    """Was the machine left unproven only after this axis was opened?"""
    return bool(work.owed) and work.owed != work.owed_at_opening


def proves_as_found(work: AxisWork) -> bool:
    """Is the axis proven if it is closed now, as it was found?"""
    found = work.assessed(Stage.AS_FOUND)
    return (
        work.state is AxisState.OPEN
        and bool(work.owed)
        and not was_opened_before(work)
        and not work.corrections
        and found is not None
        and found.n >= LEAST_PIECES
        and found.decision is Decision.LEAVE
        and not found.pieces_scatter
    )


# ── in words ────────────────────────────────────────────────────────────────────────────────────────────


def why_owed(work: AxisWork) -> str:
    """ "Its as-left check is owed since P-1 was closed not proven."; "" where nothing is owed."""
    return f"Its as-left check is owed since {work.owed} was closed not proven." if work.owed else ""


def of_machine(names: Sequence[str], permit: str) -> str:
    """What a machine owes, by the names of its axes; none where the check of any axis will do."""
    *first, last = names or ("One axis of the machine",)
    who = f"{', '.join(first)} and {last} owe their" if first else f"{last} owes its"
    return (
        f"{who} as-left check since {permit} was closed not proven. What is found in tolerance by the guard "
        "band is proven by closing it as it is."
    )


def what_settles(work: AxisWork) -> str:
    """What would settle what is owed, in full sentences; "" where nothing is owed."""
    if not work.owed:
        return ""
    if was_opened_before(work):
        first = "Judge its correction, close it" if work.corrections else "Close or abandon it"
        return (
            f"It was opened before {work.owed} was closed, so its pieces do not settle that. {first}, "
            "open it again, and read fresh ones."
        )
    if work.corrections:
        return "Fresh pieces, judged after the correction, settle it."
    found = work.assessed(Stage.AS_FOUND)
    if found is None or found.n < LEAST_PIECES:
        return (
            "Found in tolerance by the guard band, closing it as it is proves it. If not, correct it and "
            "judge fresh pieces."
        )
    if found.decision is Decision.ADJUST:
        return "It is out of tolerance: correct it, then judge fresh pieces."
    if found.decision is Decision.MEASURE_AGAIN:
        return "These pieces cannot tell, so they prove nothing yet. What would settle it stands below."
    if found.pieces_scatter:
        return (
            "Single pieces scatter beyond the tolerance, which proves nothing. Read more; if they go on so, "
            "mend what is loose or worn, abandon the axis and open it again."
        )
    return "These pieces prove it as it is: close the axis."
