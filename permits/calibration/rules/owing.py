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


READ_AND_SEE = (
    "An axis found in tolerance by the guard band is left as it is, and closing it proves it. One found out "
    "of tolerance is corrected, and checked on fresh pieces."
)


# ── in words ────────────────────────────────────────────────────────────────────────────────────────────


def why_owed(work: AxisWork) -> str:
    """ "Length owes its as-left check since P-1 was closed not proven."; "" where nothing is owed."""
    return f"{work.name} owes its as-left check since {work.owed} was closed not proven." if work.owed else ""


def of_machine(names: Sequence[str], permit: str) -> str:
    """What a machine owes, by the names of its axes; none where the check of any axis will do."""
    *first, last = names or ("One axis of the machine",)
    who = f"{', '.join(first)} and {last} owe their" if first else f"{last} owes its"
    return f"{who} as-left check since {permit} was closed not proven. {READ_AND_SEE}"


def what_settles(work: AxisWork) -> str:
    """What is owed and what would settle it, in full sentences; "" where nothing is owed."""
    if not work.owed:
        return ""
    if work.corrections:
        return "Fresh pieces, judged after the correction, settle it."
    if was_opened_before(work):
        return (
            f"It was opened before {work.owed} was closed: what is read now proves nothing. Close or abandon "
            "it, open it again, and read fresh pieces."
        )
    found = work.assessed(Stage.AS_FOUND)
    if found is None or found.n < LEAST_PIECES:
        return f"Read test pieces. {READ_AND_SEE}"
    if found.decision is Decision.ADJUST:
        return "Out of tolerance: correct it, then read fresh pieces. Judging those settles it."
    if found.decision is Decision.MEASURE_AGAIN:
        return (
            "These pieces cannot tell, so they prove nothing yet. What would settle it stands below. Closed "
            "now, the axis still owes the check."
        )
    if found.pieces_scatter:
        return (
            "In tolerance on average only: single pieces scatter beyond it, which proves nothing. Read more "
            "pieces. If they go on so, mend what is loose or worn, then abandon the axis and open it again."
        )
    return "These pieces prove it as it is: close the axis. A correction would make it worse."
