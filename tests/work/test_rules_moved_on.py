"""What may not have happened since a step's page was shown: every command beside every event, and why."""

import re
from dataclasses import fields, replace
from typing import get_args

import pytest

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.evolve import fold
from permits.work.rules.in_words import SAID, in_words
from permits.work.rules.moved_on import (
    ALWAYS_RIGHT,
    CANNOT_STAND_BESIDE,
    PageStale,
    moved_on,
    refuse_if_moved_on,
)
from permits.work.rules.state import Site
from permits.work.rules.words import HaltKind
from tests.work import otherwise as o
from tests.work import small_plant as s
from tests.work.any_event import given

COMMANDS = get_args(c.Command)
EVENTS = get_args(e.Event)

# ── by hand: the table ──────────────────────────────────────────────────────────────────────────────────

TURNS = {
    e.PermitIssued, e.PermitAccepted, e.PermitCancelled, e.PermitClosed, e.ClosedOutOfUse, e.PermitExpired,
    e.IsolationLost, e.WorkStopped, e.HaltLifted, e.HandedBack, e.Reenergised, e.CycleBegun,
    e.ReadyToEnergise, e.Reisolating, e.PlanAmended, e.HandoverAccepted, e.LateEntered,
}  # fmt: skip
LOST = {e.LockRemoved, e.AbsentLockRemoved}
STORE = {e.StoreReleased, e.ReleaseUndone}
TEST = {e.PointVerified, e.VerificationVoided, e.VerificationLapsed}
CHECK = {e.MachineChecked, e.DefectResolved, e.DefectAccepted}
JOB = {e.JobOpened, e.AxisCorrected, e.AxisProven, e.JobClosed}
ANY = set(EVENTS)

# These alone refuse no step but those for which nothing may have happened.
OF_NO_STEP = {
    e.PermitRequested, e.PermitExtended, e.AffectedTold, e.Isolated, e.CrewSignedOff, e.ConfirmedClear,
    e.WatchLeft, e.ClosureSigned, e.HandoverWithdrawn, e.NoticeAcknowledged,
}  # fmt: skip

REFUSED_AFTER: dict[type, set[type]] = {
    **{each: set() for each in (
        c.StopWork, c.SuspendPermit, c.SignOffCrew, c.LeaveWatch, c.AcknowledgeNotice, c.DeclareEmergency,
        c.RequestPermit,
    )},
    **dict.fromkeys((
        c.IssuePermit, c.AcceptPermit, c.SignOnCrew, c.GiveSanction, c.BeginCycle, c.Ready, c.HandBack,
        c.RemoveLocks, c.Reenergise, c.SignClosed, c.CloseOutOfUse, c.CancelPermit, c.ExtendPermit,
        c.LiftHalt, c.OfferHandover, c.NameHolder, c.AcceptHandover, c.TakeOffForAbsent, c.AmendPlan,
        c.EnterLate,
    ), ANY),
    c.NameCrew: TURNS | {e.CrewNamed},
    c.TellAffected: TURNS | LOST,
    c.ApplyLock: TURNS - {e.Reisolating} | LOST | {e.ReleaseUndone},
    c.ReleaseStore: TURNS | LOST | STORE | {e.LockApplied},
    c.VerifyMachine: TURNS | LOST | STORE | TEST | {e.LockApplied, e.SanctionEnded},
    c.TryStart: TURNS | LOST | STORE | TEST | {e.LockApplied, e.SanctionEnded},
    c.RecordMachineCheck: TURNS | CHECK,
    c.ResolveDefect: TURNS | CHECK,
    c.AcceptDefect: TURNS | CHECK,
    c.ConfirmClear: TURNS | {e.CrewSignedOn, e.ConfirmationsVoided},
    c.Reisolate: TURNS | LOST | {e.SanctionEnded},
    c.EndSanction: {
        e.SanctionGiven, e.SanctionEnded, e.PermitClosed, e.PermitCancelled, e.ClosedOutOfUse,
    },
    c.OpenJob: TURNS | {e.JobOpened, e.JobClosed},
    c.AskJob: TURNS | JOB,
    c.TakeReading: TURNS | JOB | {e.SanctionEnded},
    c.CorrectAxis: TURNS | JOB,
    c.ProveAxis: TURNS | JOB,
    c.CloseJob: TURNS | JOB,
    c.WithdrawHandover: TURNS | {e.HandoverOffered, e.HolderNamed},
    c.EndEmergency: {e.EmergencyDeclared, e.EmergencyEnded},
    c.DeclarePaper: {e.PaperDeclared, e.PaperEnded},
    c.EndPaper: {e.PaperDeclared, e.PaperEnded},
    c.TellReturned: {e.ReturnedTold, e.AbsentLockRemoved, e.AbsentSignedOff},
}  # fmt: skip


def test_every_command_is_classified_once():
    classes = (set(ALWAYS_RIGHT), set(c.NEEDS_FRESH_PAGE), set(CANNOT_STAND_BESIDE))
    assert sum(map(len, classes)) == len(set().union(*classes)) == len(COMMANDS)
    assert set().union(*classes) == set(REFUSED_AFTER) == set(COMMANDS)


def test_every_event_is_classified():
    """A new event is put into the table above: it refuses some step, or stands among those that do not."""
    refusing = set().union(*(kinds for kinds in REFUSED_AFTER.values() if kinds != ANY))
    assert refusing | OF_NO_STEP == ANY
    assert not refusing & OF_NO_STEP


# ── every command beside every event ────────────────────────────────────────────────────────────────────

# Q1 has just got its first lock; Q2 carries none: it stands for a freed point.
SITE = s.done(s.accepted_site(), s.lock("Q1", "101", 4))


OF_THE_SITE = {
    c.EndEmergency, c.DeclarePaper, c.EndPaper, c.TellReturned, c.DeclareEmergency, c.RequestPermit,
}  # fmt: skip
ASKED: dict[type, c.Command] = {
    **{made: given(made, permit="" if made in OF_THE_SITE else "P-1") for made in COMMANDS},
    c.ApplyLock: s.lock("Q2", "102"),
    c.ReleaseStore: s.release("C1"),
    c.VerifyMachine: s.verify("CUT", s.zero("Q1")),
    c.TryStart: s.try_start("CUT"),
    c.ConfirmClear: s.clear("OUT"),
}


def beside(made: type, ask: c.Command) -> e.Event:
    """An event of this kind about what the command is about."""
    where = "Q1"
    if made in STORE or (made in LOST and isinstance(ask, c.ApplyLock | c.Reisolate)):
        where = getattr(ask, "point", "Q2")
    happened = given(made, point=where, padlock="101", areas=("OUT",))
    return replace(happened, permit="") if made in get_args(e.SiteEvent) else happened


@pytest.mark.parametrize("event", EVENTS, ids=lambda made: made.__name__)
@pytest.mark.parametrize("command", COMMANDS, ids=lambda made: made.__name__)
def test_a_command_beside_an_event_about_the_same(command, event):
    ask = ASKED[command]
    happened = beside(event, ask)
    assert moved_on(SITE, ask, [happened]) == ((happened,) if event in REFUSED_AFTER[command] else ())


@pytest.mark.parametrize("command", COMMANDS, ids=lambda made: made.__name__)
def test_where_nothing_happened_every_command_goes_on(command):
    assert moved_on(SITE, ASKED[command], []) == ()


def test_of_much_that_happened_it_names_what_it_cannot_stand_beside_in_its_order():
    told, off, turned = (given(made, point="Q2") for made in (e.AffectedTold, e.LockRemoved, e.WorkStopped))
    assert moved_on(SITE, s.lock("Q2", "102"), [told, off, turned]) == (off, turned)


@pytest.mark.parametrize("command", CANNOT_STAND_BESIDE, ids=lambda made: made.__name__)
def test_a_permit_that_is_over_and_out_of_sight_is_no_error(command):
    ask = ASKED[command]
    without = replace(SITE, permits={})
    for made in EVENTS:
        assert set(moved_on(without, ask, [beside(made, ask)])) <= {beside(made, ask)}


# ── how it is said ──────────────────────────────────────────────────────────────────────────────────────


def refusal(site: Site, ask: c.Command, *since: e.Event) -> PageStale:
    with pytest.raises(PageStale) as refused:
        refuse_if_moved_on(site, ask, since)
    return refused.value


def test_a_refusal_names_what_changed_and_says_that_readings_are_taken_again():
    [on] = decide(SITE, s.lock("Q2", "102", 5, by="hal"))
    told = given(e.AffectedTold)
    refused = refusal(fold(SITE, [on]), s.verify("CUT", s.zero("Q1")), told, on)
    assert refused.codes == {"page-stale"}
    assert refused.unmet[0].what == (
        "P-1 has moved on since this page was shown. Conveyor switch was locked by Hal Helper."
    )
    assert refused.unmet[0].who.startswith("You take every reading again as the machine is now")
    assert refused.since == (told, on)
    assert refused.against == (on,)


def test_of_many_changes_the_last_ones_are_named():
    many = [given(e.AffectedTold, by=by) for by in ("odo", "hal", "pia", "ola", "sig")]
    what = refusal(SITE, s.hand_back(), *many).unmet[0].what
    assert what.startswith("P-1 has moved on since this page was shown. 2 earlier changes; affected people")
    assert what.endswith("by Sig Officer.")
    assert "Odo" not in what


def test_a_refusal_about_the_site_names_no_permit():
    ended = given(e.EmergencyEnded, permit="", by="sig")
    what = refusal(SITE, o.end_emergency(), ended).unmet[0].what
    assert what == "The site has moved on since this page was shown. The emergency was ended by Sig Officer."


def test_what_can_stand_beside_it_is_no_refusal():
    refuse_if_moved_on(SITE, s.lock("Q2", "102"), (given(e.AffectedTold),))


@pytest.mark.parametrize("made", EVENTS, ids=lambda made: made.__name__)
def test_every_event_is_said_in_words_with_names(made):
    point = {"point": "Q1", "areas": ("OUT",), "owner": "hal", "person": "hal", "to": "hal", "why": "smoke."}
    said = in_words(SITE, given(made, **point))
    assert not re.search(r"\b(odo|hal|None)\b|[{}]|\.$", said), said
    assert "Odo Holder" in said or "Hal Helper" in said
    for name, word in (("point", "Main switch"), ("areas", "Outfeed"), ("to", "Hal Helper")):
        if name in [field.name for field in fields(made)]:
            assert word in said


def test_the_words_are_for_every_event():
    assert set(SAID) == ANY


def test_what_time_did_is_by_nobody_and_a_reason_that_was_not_given_is_left_out():
    assert in_words(SITE, given(e.PermitExpired, by="")) == "the time of P-1 was over"
    stopped = given(e.WorkStopped, why="", kind=HaltKind.STOP)
    assert in_words(SITE, stopped) == "P-1 was stopped or suspended by Odo Holder"
