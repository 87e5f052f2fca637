"""A shift as it is worked, through the pages: 06:00 to 14:00, four test cycles, every form and scan counted.

Who they are and how they use their pages: shift.py. A cycle is counted from the helper's sign-off until the
next one: whatever lies between two cycles belongs to the first of them, and the opening of the job to the
first cycle of all.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from django.core.management import call_command

from permits.calibration import models as rows
from permits.ledger.models import Receipt
from permits.records.replay import replay
from permits.work.models import Permit
from permits.work.rules.words import Phase
from tests.factories_people import PIN
from tests.work.shift import FREED, KNOWS, Shift, works
from tests.work.small_plant import at
from tests.work.web.clock import Clock, going_by

CYCLES = 4
AT_MOST, PINS_AT_MOST = 14, 7  # design §5, rule 12; the holder's, in the whole job

Work = Callable[[Shift], None]
"""What Odo does with the job under power."""


@pytest.fixture
def shift(db):
    clock = Clock(at(0))
    with going_by(clock):
        yield works(clock)


# ── what the shift does ─────────────────────────────────────────────────────────────────────────────────


def begin_the_shift(shift: Shift) -> None:
    """From the request at six to the first isolation, the machine checked and the test sanctioned."""
    odo, hal = shift.people["odo"], shift.people["hal"]
    shift.asks_for_the_permit("odo")
    shift.sends("maud", "issue", holder=odo.ref, crew=[hal.ref], pin=PIN)
    shift.sends("odo", "accept", **KNOWS, pin=PIN)
    shift.sends("odo", "tell", whom="line 3", how="in person", covers_tests="on")
    shift.isolates("odo", first=100)
    shift.sends("odo", "sign-on", helper="hal", padlock="202")
    shift.checks_the_machine("odo", helper="hal")
    shift.sanctions("maud", cycles=CYCLES, minutes=235)


def goes_under_power(shift: Shift) -> None:
    shift.sends("odo", "sign-off", helper="hal", after=20)  # what there was to do inside
    shift.sends("odo", "begin-cycle", tools_out="on", guards_on="on")
    shift.sends("odo", "remove-locks", points=list(FREED), after=4)
    shift.confirms_clear("ola", watching="on")
    shift.sends("odo", "ready", pin=PIN)


def goes_back_in(shift: Shift) -> None:
    shift.clock.pass_by(minutes=7)
    shift.re_isolates("odo")
    shift.reads_everything("odo", minutes=3)
    assert shift.phase is Phase.ISOLATED
    shift.sends("odo", "sign-on", helper="hal", padlock="202")


def end_the_shift(shift: Shift) -> None:
    shift.sends("odo", "sign-off", helper="hal")
    shift.hands_back("odo")
    shift.takes_locks_off("odo")
    shift.sends("odo", "tell", whom="line 3", how="in person")
    shift.confirms_clear("ola")
    shift.sends("odo", "re-energise", visual_check="on")
    shift.sends("odo", "close", pin=PIN)
    shift.sends("maud", "close", pin=PIN)


def run_the_cycles(shift: Shift, cycles: Sequence[Sequence[Work]]) -> list[int]:
    """Each with what Odo does in it under power; how many interactions each took, of everyone."""
    counts, before = [], shift.interactions
    for under_power in cycles:
        goes_under_power(shift)
        for work in under_power:
            work(shift)
        goes_back_in(shift)
        counts.append(shift.interactions - before)
        before = shift.interactions
    return counts


# ── what is done in a cycle, each line one form ─────────────────────────────────────────────────────────


def opens_the_job(axis: str = "") -> Work:
    return lambda shift: shift.opens_the_job("odo", axis)


def opens(axis: str) -> Work:
    return lambda shift: shift.opens_the_axis("odo", axis)


def pre_checks(shift: Shift) -> None:
    shift.pre_checks("odo", stop="+2", fence="0")


def as_found(shift: Shift) -> None:
    shift.reads_pieces("odo", "1202.0", "1202.1")


def nothing_to_correct(shift: Shift) -> None:
    shift.reads_pieces("odo", "1200.0", "1200.1")


def corrects(old: str, new: str) -> Work:
    return lambda shift: shift.corrects("odo", old, new)


def judges_by(*sizes: str) -> Work:
    return lambda shift: shift.reads_pieces("odo", *sizes, judging=True)


def one_after_the_other(shift: Shift) -> None:
    """Two fresh pieces, each on a form of its own as soon as it is read, and then the judgement."""
    shift.reads_pieces("odo", "1200.0")
    shift.reads_pieces("odo", "1200.1")
    shift.judges("odo")


def closes_the_axis(shift: Shift) -> None:
    shift.closes_the_axis("odo")


def closes_the_job(shift: Shift) -> None:
    shift.closes_the_job("odo")


RIGHT = judges_by("1200.0", "1200.1")

JOBS: dict[str, list[list[Work]]] = {
    "two axes, each corrected once": [
        [opens_the_job("stop"), as_found, corrects("12", "10")],
        [RIGHT, closes_the_axis, opens("fence")],
        [as_found, corrects("5", "3")],
        [RIGHT, closes_the_axis, closes_the_job],
    ],
    "each fresh piece on a form of its own": [
        [opens_the_job("stop"), as_found, corrects("12", "10")],
        [one_after_the_other],
        [closes_the_axis, opens("fence"), nothing_to_correct],
        [closes_the_axis, closes_the_job],
    ],
    "one axis that takes three corrections": [
        [opens_the_job("stop"), as_found, corrects("12", "9")],
        [judges_by("1198.9", "1199.0"), corrects("9", "11")],
        [judges_by("1201.0", "1200.9"), corrects("11", "10")],
        [RIGHT, closes_the_axis, closes_the_job],
    ],
}


@pytest.mark.parametrize("job", JOBS)
def test_a_shift_with_four_cycles(shift, job, capsys):
    begin_the_shift(shift)
    begun = shift.interactions
    cycles = run_the_cycles(shift, JOBS[job])
    end_the_shift(shift)
    assert shift.phase is Phase.CLOSED
    assert shift.clock.at <= at(8 * 60), "it is done by two in the afternoon"
    assert max(cycles) <= AT_MOST, cycles
    assert shift.pins["odo"] <= PINS_AT_MOST, shift.pins
    with capsys.disabled():
        print(
            f"\nthe shift, {job}: {begun} interactions before the first cycle, cycles of {cycles}, "
            f"{shift.interactions} in all, PINs {dict(shift.pins)}, done at {shift.clock.at:%H:%M}"
        )
    assert Permit.objects.get(site=shift.site).in_service
    assert all(work.proven == work.corrections for work in rows.AxisWork.objects.all())
    call_command("verify_ledger", verbosity=0)
    assert replay(shift.site).differences == []


def test_a_cycle_that_begins_with_a_pre_check(shift):
    """The job opens while the helper is still inside, as Odo's page says; its axis with the pre-check."""
    begin_the_shift(shift)
    assert shift.next_step("odo").action == "open-job"
    shift.opens_the_job("odo")
    cycles = run_the_cycles(shift, [[pre_checks, as_found, corrects("12", "10")]])
    assert rows.AxisWork.objects.get().axis.code == "stop"
    assert cycles == [AT_MOST]


def test_nothing_of_the_shift_is_done_past_its_pages(shift):
    """Every request that wrote an entry since six is a form that was counted, and each of them wrote one."""
    before = Receipt.objects.count()
    begin_the_shift(shift)
    run_the_cycles(shift, JOBS["two axes, each corrected once"])
    end_the_shift(shift)
    forms = shift.interactions - shift.scanned - 1  # the zones of the request write nothing yet
    assert Receipt.objects.count() - before == forms


def test_what_is_carried_over_between_cycles_and_what_is_done_again(shift):
    """Carried over: notice, machine check, tester and limits, the sanction's terms; every test is anew."""
    begin_the_shift(shift)
    run_the_cycles(shift, [[opens_the_job("stop"), as_found]])
    p = shift.state
    assert (len(p.notices), len(p.checks), p.checked) == (1, 1, True)
    assert p.sanction is not None
    assert (p.sanction.cycle, p.sanction.cycles, p.sanction.points) == (1, CYCLES, FREED)
    tests = {point: [v for v in p.verifications if v.point == point] for point in p.points}
    assert all(len(made) == 2 and made[0].void_at and not made[1].void_at for made in tests.values())
    assert {v.instrument for made in tests.values() for v in made} == {"VT-07"}
    assert all(found.void_at for found in p.confirmations), "who goes in voids every word that it is clear"
