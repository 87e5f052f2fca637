"""What of a form's section is entered late, and what is done again on the server."""

from __future__ import annotations

from permits.work.queries.paper import is_late
from permits.work.rules import commands as c

WORDS: dict[type[c.Ask], str] = {
    c.IssuePermit: "issuing",
    c.AcceptPermit: "accepting",
    c.TellAffected: "telling people",
    c.ApplyLock: "a lock put on",
    c.ReleaseStore: "a release",
    c.RemoveLocks: "a lock taken off",
    c.VerifyMachine: "tests",
    c.TryStart: "trying the controls",
    c.SignOnCrew: "signing on",
    c.SignOffCrew: "signing off",
    c.RecordMachineCheck: "the check",
    c.StopWork: "a stop",
    c.SuspendPermit: "a suspension",
    c.LiftHalt: "lifting it",
    c.GiveSanction: "the sanction and its cycles",
    c.EndSanction: "its end",
    c.Reisolate: "isolating again",
    c.ConfirmClear: "areas confirmed clear",
    c.HandBack: "handing back",
    c.Reenergise: "bringing power back",
    c.ExtendPermit: "a longer time",
    c.AcceptHandover: "a handover",
    c.SignClosed: "closing",
}


def entering(*commands: type[c.Ask], too_early: type[c.Ask] | None = None) -> str:
    """ "Entered late: signing off. Done again on the server: signing on.".

    `too_early`: one that is entered late elsewhere on the form; what it says here may have been too early.
    """
    late = ", ".join(WORDS[one] for one in commands if is_late(one) and one is not too_early)
    again = ", ".join(WORDS[one] for one in commands if not is_late(one) or one is too_early)
    parts = [f"Entered late: {late}." if late else "", f"Done again on the server: {again}." if again else ""]
    return " ".join(filter(None, parts))
