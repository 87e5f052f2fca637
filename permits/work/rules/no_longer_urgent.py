"""Which urgent messages an event overtakes: what called people out is over, and is shown calmly."""

from __future__ import annotations

from collections.abc import Mapping

from . import events as e

# The kinds of event that are no longer urgent once this one happened, for its permit or the whole site.
OVERTAKES: Mapping[type[e.Event], tuple[type[e.Event], ...]] = {
    e.EmergencyEnded: (e.EmergencyDeclared,),
    e.HaltLifted: (e.WorkStopped,),
    e.Isolated: (e.IsolationLost, e.VerificationLapsed, e.VerificationVoided),
    e.PermitExtended: (e.PermitExpired,),
    e.CrewSignedOff: (e.WorkStopped, e.IsolationLost, e.PermitExpired),  # who came out was called out
    e.ReturnedTold: (e.AbsentSignedOff, e.AbsentLockRemoved),
}
ENDS = (e.PermitClosed, e.ClosedOutOfUse, e.PermitCancelled)  # nothing about the permit is urgent any more


def overtaken_by(event: e.Event) -> tuple[type[e.Event], ...] | None:
    """The kinds that it overtakes; () for every kind of its permit, None where it overtakes nothing."""
    return () if isinstance(event, ENDS) else OVERTAKES.get(type(event))
