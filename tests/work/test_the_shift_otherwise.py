"""A shift that goes otherwise, at its pages: a stop in each phase, a holder who leaves, a blade that breaks.

Everyone only does what their own permit page calls their next step; the officer besides what an officer is
there for. Each time the permit ends lawfully.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

import pytest
from django.core.management import call_command

from permits.calibration import models as rows
from permits.records.replay import replay
from permits.work.models import Permit
from permits.work.rules.step import Step
from permits.work.rules.words import Phase
from tests.factories_people import PIN
from tests.work.shift import FREED, KNOWS, Shift, works
from tests.work.small_plant import at
from tests.work.test_the_shift import as_found, begin_the_shift, goes_under_power, opens_the_job
from tests.work.web.clock import Clock, going_by

PATIENCE = 20  # rounds in which everyone does their next steps
NUMBERS = count(301)  # of padlocks that hang nowhere yet


@pytest.fixture
def shift(db):
    clock = Clock(at(0))
    with going_by(clock):
        yield works(clock)


# ── everyone does their next step ───────────────────────────────────────────────────────────────────────


def at_the_job(shift: Shift, who: str, step: Step) -> None:
    """Whatever is left to do with the open axis; then the job is closed."""
    at_work = rows.AxisWork.objects.filter(ended_at=None).first()
    if at_work is None:
        shift.closes_the_job(who)
    elif at_work.proven < at_work.corrections:
        shift.reads_pieces(who, "1200.0", "1200.1", judging=True)
    elif at_work.pieces.exists():
        shift.closes_the_axis(who)
    else:
        shift.reads_pieces(who, "1200.0", "1200.1")


def at_a_point(shift: Shift, who: str, step: Step) -> None:
    if step.action == "release":
        return shift.releases(who, step.point)
    return shift.locks(who, step.point, str(next(NUMBERS)))


def isolates_again(shift: Shift, who: str, step: Step) -> None:
    shift.re_isolates(who)


def sends(page: str, **fields: str) -> Callable[[Shift, str, Step], None]:
    return lambda shift, who, step: shift.sends(who, page, **fields)


DO: dict[str, Callable[[Shift, str, Step], None]] = {
    "tell": sends("tell", whom="line 3", how="in person", covers_tests="on"),
    "lock": at_a_point,
    "release": at_a_point,
    "verify": lambda shift, who, step: shift.reads_everything(who, minutes=3),
    "sign-on": lambda shift, who, step: shift.sends(who, "sign-on", padlock=str(next(NUMBERS))),
    "sign-off": sends("sign-off"),
    "check": lambda shift, who, step: shift.checks_the_machine(who),
    "sanction": lambda shift, who, step: shift.sanctions(who, cycles=2, minutes=90),
    "open-job": lambda shift, who, step: shift.opens_the_job(who, "stop"),
    "begin-cycle": sends("begin-cycle", tools_out="on", guards_on="on"),
    "remove-locks": lambda shift, who, step: shift.takes_locks_off(who),
    "confirm-clear": lambda shift, who, step: shift.confirms_clear(who),
    "ready": sends("ready", pin=PIN),
    "job": at_the_job,
    "reisolate": isolates_again,
    "hand-back": lambda shift, who, step: shift.hands_back(who),
    "reenergise": sends("re-energise", visual_check="on"),
    "close": sends("close", pin=PIN),
    "lift-halt": sends("lift", how="looked at", pin=PIN),
    "accept-handover": sends("take-over", **KNOWS, pin=PIN),
}  # fmt: skip
OUTSIDE = ("confirm-clear",)  # Ola's: whoever may go in does not see the areas from outside


def goes_on(shift: Shift, holder: str, *, gone: str = "") -> None:
    """Everyone follows their own page until the permit is over; fails where it never is.

    Hal, who has no phone, comes out with the holder's. Once the new holder has taken over, the officer
    takes off what still hangs of someone who is gone.
    """
    for _ in range(PATIENCE):
        took_over = shift.state.holder == shift.people[holder].ref
        if gone and took_over:
            shift.takes_off_for(gone, "sig", "maud")
        for who in ("hal", "ola", "sig", holder, "maud"):
            while does_next_step(shift, who, holder):
                pass
        if shift.phase.is_over:
            return
        shift.clock.pass_by(minutes=1)
    steps = {who: shift.next_step(who).title for who in shift.people}
    raise AssertionError(f"still {shift.phase} after {PATIENCE} rounds: {steps}")


def does_next_step(shift: Shift, who: str, holder: str) -> bool:
    """One step further; False where this person waits, or where it is for somebody else to do."""
    step = shift.next_step(who)
    if who == "hal":
        if step.action == "sign-off":
            shift.sends(holder, "sign-off", helper="hal")
        return step.action == "sign-off"
    if step.action not in DO or (who == "ola") != (step.action in OUTSIDE):
        return False
    DO[step.action](shift, who, step)
    return True


def ends_in_service(shift: Shift) -> None:
    row = Permit.objects.get(site=shift.site)
    assert (shift.phase, row.in_service) == (Phase.CLOSED, True)
    assert not shift.state.hanging
    assert not rows.AxisWork.objects.filter(ended_at=None).exists()
    call_command("verify_ledger", verbosity=0)
    assert replay(shift.site).differences == []


# ── how far it came ─────────────────────────────────────────────────────────────────────────────────────


def half_isolated(shift: Shift) -> None:
    odo, hal = shift.people["odo"], shift.people["hal"]
    shift.asks_for_the_permit("odo")
    shift.sends("maud", "issue", holder=odo.ref, crew=[hal.ref, shift.people["pia"].ref], pin=PIN)
    shift.sends("odo", "accept", **KNOWS, pin=PIN)
    shift.sends("odo", "tell", whom="line 3", how="in person", covers_tests="on")
    for n in (1, 2, 3):
        shift.locks("odo", f"Q{n}", f"10{n}")


def someone_inside(shift: Shift) -> None:
    begin_the_shift(shift)


def cycle_begun(shift: Shift) -> None:
    begin_the_shift(shift)
    shift.sends("odo", "sign-off", helper="hal")
    shift.sends("odo", "begin-cycle", tools_out="on", guards_on="on")
    shift.sends("odo", "remove-locks", points=list(FREED))


def corrected(shift: Shift) -> None:
    """Under power, and a correction is entered that no fresh piece has checked."""
    begin_the_shift(shift)
    opens_the_job("stop")(shift)
    goes_under_power(shift)
    as_found(shift)
    shift.corrects("odo", "12", "10")


def handed_back(shift: Shift) -> None:
    begin_the_shift(shift)
    shift.sends("odo", "sign-off", helper="hal")
    shift.hands_back("odo")


PHASES = {
    half_isolated: Phase.ISOLATING,
    someone_inside: Phase.ISOLATED,
    cycle_begun: Phase.TESTING,
    corrected: Phase.TESTING,
    handed_back: Phase.RESTORING,
}


def each(*stages: Callable[[Shift], None]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("comes_to", stages, ids=lambda one: one.__name__)


# ── what happens then ───────────────────────────────────────────────────────────────────────────────────


@each(*PHASES)
def test_a_stop_in_each_phase_and_the_permit_still_ends(shift, comes_to):
    """The operator stops it; the crew comes out; the officer lifts it; it goes on the ordinary way."""
    comes_to(shift)
    assert shift.phase is PHASES[comes_to]
    shift.sends("ola", "stop", why="smoke at the drive")
    assert shift.phase in (Phase.ISOLATING, Phase.RESTORING)
    goes_on(shift, "odo")
    ends_in_service(shift)


@each(someone_inside, corrected, handed_back)
def test_a_holder_who_leaves_is_replaced_and_the_permit_still_ends(shift, comes_to):
    """Odo goes home ill; the officer names Pia, takes his locks off with a second person in the end."""
    comes_to(shift)
    shift.names_a_new_holder("sig", "pia")
    goes_on(shift, "pia", gone="odo")
    assert shift.state.holder == shift.people["pia"].ref
    ends_in_service(shift)


def test_a_blade_breaks_with_a_correction_unproven_and_the_machine_stays_out_of_use(shift):
    """No fresh piece can be cut: the power goes back as it was, and the officer closes it as not proven."""
    corrected(shift)
    shift.sends("hal", "stop", why="the blade broke")
    shift.sends("sig", "lift", how="a new blade comes on Monday", pin=PIN)
    shift.confirms_clear("ola")
    shift.hands_back("odo")
    shift.takes_locks_off("odo")
    shift.sends("odo", "tell", whom="line 3", how="in person")
    shift.confirms_clear("ola")
    shift.sends("odo", "re-energise", visual_check="on")
    shift.sends("sig", "out-of-use", why="no blade to cut a fresh piece", pin=PIN)
    row = Permit.objects.get(site=shift.site)
    assert (shift.phase, row.in_service) == (Phase.CLOSED, False)
    assert not shift.state.hanging
