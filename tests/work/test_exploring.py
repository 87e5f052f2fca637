"""Every reachable state of small plants: nobody reached, nothing wrong, no permit stuck; and the guards.

Who is reached is found by networkx (tests/work/exploring/charge.py), not by the rules; what else must hold is
written once more by hand in looking_at_state.py and looking_at_step.py. The plants with two permits are
walked in test_exploring_together.py, where the same states are found in another way.
"""

from __future__ import annotations

import random
from typing import get_args

import pytest

from permits.work.rules import commands as c
from permits.work.rules.refusal import Refused
from tests.work.exploring.aging import aged
from tests.work.exploring.beginning import Plan
from tests.work.exploring.committed import rows_of
from tests.work.exploring.forgetting import forget
from tests.work.exploring.guards import replayed
from tests.work.exploring.moving import Stand, forgotten, moved
from tests.work.exploring.plans import BY_NAME, LEFT_OUT, OF_ONE, PLANS
from tests.work.exploring.purposes import PURPOSES
from tests.work.exploring.walking import walk
from tests.work.test_rules_codes import codes_in_the_rules

WALKS, ALONE, PAIRS, PURPOSE = rows_of(0), rows_of(1), rows_of(2), rows_of(3)


def names(plan: Plan) -> str:
    return plan.name


# ── every state ─────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("plan", OF_ONE, ids=names)
def test_every_reachable_state_is_right_and_no_permit_gets_stuck(plan, capsys):
    done = walk(plan, most=20_000)
    with capsys.disabled():
        print(f"\n{plan.name}: {len(done.stands)} states, {done.moves} moves, {done.seconds:.0f} s")
    assert [(what, [*done.way(state), label]) for what, state, label in done.wrong[:3]] == []
    assert [(permit, done.way(state)) for permit, state in list(done.stuck())[:3]] == []
    for away in plan.absent:
        assert [(permit, done.way(state)) for permit, state in list(done.stuck(away))[:3]] == []
    told = next(row for row in WALKS if row[0] == plan.name)
    figures = [str(len(done.stands)), str(done.moves), str(done.tried), str(max(done.deep))]
    assert told[2:6] == figures, "print TABLE.md again: the rules or the alphabet have changed"


def test_every_plan_reaches_an_end_and_a_work_in_between():
    """A walk that never got anywhere would find nothing wrong either."""
    done = walk(BY_NAME["paper"])
    phases = {stand.site.permits["P-1"].phase.value for stand in done.stands}
    assert phases == {"isolating", "isolated", "restoring", "closed", "cancelled"}


# ── forgetting loses nothing ────────────────────────────────────────────────────────────────────────────


def outcomes(plan: Plan, stand: Stand) -> dict[str, object]:
    """By label, the key of what each move leads to, or the codes of its refusal."""
    found: dict[str, object] = {}
    for move in plan.moves(stand.site):
        try:
            found[move.label] = forgotten(moved(stand, move)).key
        except Refused as refused:
            found[move.label] = frozenset(refused.codes)
    return found


@pytest.mark.parametrize("plan", PLANS, ids=names)
def test_a_state_with_a_long_history_has_the_moves_of_the_one_that_forgot_it(plan):
    """The whole history is kept, and its clock goes on by a second with each move. Six walks of 60 moves."""
    for seed in range(6):
        chance, stand = random.Random(seed), plan.start()
        for _ in range(60):
            moves = list(plan.moves(stand.site))
            assert outcomes(plan, stand) == outcomes(plan, forgotten(stand))
            allowed = [move for move in moves if not isinstance(outcome_of(stand, move), frozenset)]
            ends = [move for move in allowed if move.command and isinstance(move.command, c.CancelPermit)]
            going_on = [move for move in allowed if move not in ends]
            if not going_on:
                break
            stand = aged(moved(stand, chance.choice(going_on)))


def outcome_of(stand: Stand, move) -> object:
    try:
        return moved(stand, move)
    except Refused as refused:
        return frozenset(refused.codes)


@pytest.mark.parametrize("plan", PLANS, ids=names)
def test_what_was_forgotten_is_forgotten_once(plan):
    stand = plan.start()
    assert forget(forget(stand.site)) == forget(stand.site)


# ── the guards ──────────────────────────────────────────────────────────────────────────────────────────


def guards(cell: str) -> tuple[str, ...]:
    return tuple(cell.replace("`", "").split(" + "))


def test_the_table_names_each_guard_of_the_rules_once():
    listed = [guards(row[0])[0] for row in (*ALONE, *PAIRS, *PURPOSE)]
    assert sorted(listed) == sorted(codes_in_the_rules())


def test_each_guard_without_a_counterexample_of_its_own_says_what_it_is_for():
    assert [row[0] for row in PURPOSE if len(row[2]) < 30] == []
    assert [row[0] for row in PAIRS if len(row[4]) < 30] == []


def test_what_is_written_by_hand_is_about_guards_that_exist():
    assert set(PURPOSES) - codes_in_the_rules() == set()


@pytest.mark.parametrize("row", ALONE, ids=lambda row: row[0])
def test_without_the_guard_it_happens_and_with_it_it_is_refused(row):
    labels = row[3].split("; ")
    assert row[1] in replayed(BY_NAME[row[2]], labels, guards(row[0]))
    assert replayed(BY_NAME[row[2]], labels, ()) == []


@pytest.mark.parametrize("row", PAIRS, ids=lambda row: row[0])
def test_without_both_it_happens_and_either_alone_prevents_it(row):
    plan, labels, both = BY_NAME[row[2]], row[3].split("; "), guards(row[0])
    assert row[1] in replayed(plan, labels, both)
    assert [replayed(plan, labels, (one,)) for one in both] == [[], []]


# ── the alphabet ────────────────────────────────────────────────────────────────────────────────────────


def test_every_command_is_asked_for_somewhere_or_it_is_said_why_not():
    asked = {type(m.command).__name__ for plan in PLANS for m in plan.moves(plan.start().site) if m.command}
    assert {command.__name__ for command in get_args(c.Command)} - asked == set(LEFT_OUT)


def test_two_moves_of_a_state_never_have_one_name():
    for plan in PLANS:
        labels = [move.label for move in plan.moves(plan.start().site)]
        assert len(labels) == len(set(labels)), plan.name
