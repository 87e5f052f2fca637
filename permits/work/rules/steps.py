"""What each command is called when people are told of it, in the order of a permit's life."""

from __future__ import annotations

from collections.abc import Mapping

from . import commands as c

STEPS: tuple[tuple[str, Mapping[type[c.Ask], str]], ...] = (
    (
        "Ask, issue, accept, tell",
        {
            c.RequestPermit: "Ask for a permit",
            c.IssuePermit: "Issue a permit",
            c.AcceptPermit: "Accept a permit",
            c.NameCrew: "Name crew",
            c.TellAffected: "Record that affected people were told",
            c.AcknowledgeNotice: "Acknowledge a notice",
            c.ExtendPermit: "Extend a permit",
            c.AmendPlan: "Add points to a plan",
            c.CancelPermit: "Cancel a permit",
        },
    ),
    (
        "Isolate",
        {
            c.ApplyLock: "Lock a point",
            c.ReleaseStore: "Release a store",
            c.VerifyMachine: "Record readings",
            c.TryStart: "Try the controls",
        },
    ),
    (
        "Work inside",
        {
            c.SignOnCrew: "Sign on",
            c.SignOffCrew: "Sign off",
            c.RecordMachineCheck: "Record the machine check",
            c.ResolveDefect: "Mend a defect",
            c.AcceptDefect: "Accept a defect",
        },
    ),
    (
        "Test under power",
        {
            c.ConfirmClear: "Confirm an area clear",
            c.LeaveWatch: "Leave the watch",
            c.GiveSanction: "Sanction a test",
            c.BeginCycle: "Begin a test cycle",
            c.Ready: "Sign ready to energise",
            c.Reisolate: "Re-isolate",
            c.EndSanction: "End a sanction",
        },
    ),
    (
        "Calibrate",
        {
            c.OpenJob: "Open a calibration job",
            c.AskJob: "Go on with the job",
            c.TakeReading: "Read a test piece",
            c.CorrectAxis: "Correct an axis",
            c.ProveAxis: "Judge the as-left pieces of an axis",
            c.CloseJob: "Close the job",
        },
    ),
    (
        "Hand back, restore, close",
        {
            c.HandBack: "Hand the machine back",
            c.RemoveLocks: "Take my locks off",
            c.Reenergise: "Re-energise",
            c.SignClosed: "Sign a permit closed",
            c.CloseOutOfUse: "Close as not proven, out of use",
        },
    ),
    (
        "Stop, suspend, lift",
        {
            c.StopWork: "Stop work",
            c.SuspendPermit: "Suspend a permit",
            c.LiftHalt: "Lift a stop or a suspension",
            c.DeclareEmergency: "Declare an emergency",
            c.EndEmergency: "End an emergency",
        },
    ),
    (
        "Hand over, stand in for who is absent",
        {
            c.OfferHandover: "Hand a permit over",
            c.AcceptHandover: "Take a permit over",
            c.WithdrawHandover: "Withdraw a handover",
            c.NameHolder: "Name a new holder",
            c.TakeOffForAbsent: "Take an absent person's lock off",
            c.TellReturned: "Record that a returned person was told",
        },
    ),
    (
        "On paper, while the server was down",
        {
            c.DeclarePaper: "Declare paper mode",
            c.EnterLate: "Enter what happened on paper",
            c.EndPaper: "End paper mode",
        },
    ),
)

ONLY_BY: Mapping[str, str] = {
    "not-on": "whoever is signed on",
    "not-watching": "whoever was posted",
    "not-signed-on": "someone signed on under it",
    "not-your-lock": "each lock's own owner",
    "not-a-signatory": "the holder and an issuer, both",
    "may-not-lift": "a safety officer; a suspension also the holder or an issuer",
    "not-offered": "the person to whom it is handed",
}
"""Conditions that say by themselves who may give the command, and no role or name does."""
