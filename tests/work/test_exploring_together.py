"""Two permits at once: as one by one, where both can be done; then two whole jobs, to the last state."""

from __future__ import annotations

import random
from typing import get_args

import pytest

from permits.work.rules import commands as c
from permits.work.rules.refusal import Refused
from tests.work.exploring import plans_of_two as two
from tests.work.exploring.beginning import PlanOfTwo
from tests.work.exploring.committed import rows_of
from tests.work.exploring.guards import Reach, replayed
from tests.work.exploring.missing import Refusals, search_beyond
from tests.work.exploring.moving import Move, Stand, forgotten, moved
from tests.work.exploring.noting import Noted, Notes, noting, replace, told
from tests.work.exploring.plans import BY_NAME, LEFT_OUT, NOT_FINISHED, OF_TWO, TOGETHER
from tests.work.exploring.returning import stuck, way_to
from tests.work.exploring.rows import FIRST, SECOND, bits, less, pair_of, turned
from tests.work.exploring.together import Pairs, World, explore
from tests.work.exploring.walking import walk
from tests.work.test_rules_codes import codes_in_the_rules

FILE = "TWO_JOBS.md"
WALKS, PREVENTS, NOTHING = (rows_of(n, FILE) for n in range(3))


def names(plan) -> str:
    return plan.name


def pairs(done: Pairs, rows):
    return [(*at, other) for at, row in rows.items() for other in bits(row)]


def count(rows) -> int:
    return sum(row.bit_count() for row in rows.values())


# ── as one by one ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("plan", OF_TWO, ids=names)
def test_as_many_states_moves_and_dead_ends_as_table_md_tells_of_walking_one_by_one(plan):
    done = explore(plan)
    assert [(what, way_to(done, pair)) for what, pair, _ in done.wrong[:3]] == []
    for absent in ("", *plan.absent):
        assert [pairs(done, stuck(done, side, absent))[:3] for side in (FIRST, SECOND)] == [[], []]
    told_of = next(row for row in rows_of(0) if row[0] == plan.name)
    assert told_of[2:6] == [str(n) for n in (done.states, done.moves, done.tried, len(done.layers) - 1)]


def test_the_same_states_moves_and_dead_ends_as_one_by_one():
    """walking.py makes every move of every state; here most are known from what was read before."""
    plan = PlanOfTwo("shortly", "two permits share one of their points", two.sharing_start, two.shortly)
    single, both = walk(plan, most=20_000), explore(plan)
    assert len(single.stands) > 1000
    assert {both.stand(pair).key for pair in pairs(both, both.seen)} == set(single.number)
    assert (both.moves, both.tried, len(both.layers) - 1) == (single.moves, single.tried, max(single.deep))
    for absent in ("", "odo", "pia"):
        found = sum(count(stuck(both, side, absent)) for side in (FIRST, SECOND))
        assert found == len(list(single.stuck(absent)))
    deep = {stand.key: deep for stand, deep in zip(single.stands, single.deep, strict=True)}
    for pair in random.Random(1).sample(pairs(both, both.seen), 40):
        assert len(way_to(both, pair)) == deep[both.stand(pair).key]


# ── two whole jobs ──────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def two_jobs() -> Pairs:
    return explore(BY_NAME["two jobs"])


def test_every_reachable_state_of_two_whole_jobs_is_right_and_neither_gets_stuck(two_jobs, capsys):
    with capsys.disabled():
        print(f"\ntwo jobs: {two_jobs.states} states, {two_jobs.moves} moves, {two_jobs.seconds:.0f} s")
    assert [(what, way_to(two_jobs, pair), move and move.label) for what, pair, move in two_jobs.wrong] == []
    for side in (FIRST, SECOND):
        assert [way_to(two_jobs, pair) for pair in pairs(two_jobs, stuck(two_jobs, side))[:2]] == []
    told_of = next(row for row in WALKS if row[0] == "two jobs")
    figures = [two_jobs.states, two_jobs.moves, two_jobs.tried, len(two_jobs.layers) - 1]
    assert told_of[3:7] == [str(figure) for figure in figures], f"print {FILE} again"


def test_both_jobs_get_to_every_phase_and_to_both_ends(two_jobs):
    phases = {"requested", "issued", "isolating", "isolated", "testing", "restoring", "closed", "cancelled"}
    for side in two_jobs.sides:
        assert {state.phase.value for state in side.states} == phases


def outcome(stand: Stand, move: Move) -> Stand | frozenset[str]:
    try:
        return forgotten(moved(stand, move))
    except Refused as refused:
        return frozenset(refused.codes)


def test_what_was_remembered_is_what_happens(two_jobs):
    """Every move of 150 states, chosen by chance, made anew without notes."""
    chance = random.Random(7)
    places = chance.sample(list(two_jobs.seen), 150)
    for at in places:
        pair = (*at, chance.choice(list(bits(two_jobs.seen[at]))))
        stand = two_jobs.stand(pair)
        for side in (FIRST, SECOND):
            row, other = (at, pair[2]) if side == FIRST else ((at[0], pair[2]), at[1])
            assert pair_of(side, row, other) == pair
            for move in two_jobs.moves_from(side, row[1]):
                (leaf,) = (
                    leaf
                    for leaf in two_jobs.leaves[side, *row, move.label]
                    if two_jobs.sides[1 - side].mask(leaf) >> other & 1
                )
                after = outcome(stand, move)
                if isinstance(after, frozenset):
                    assert leaf.outcome == after
                    continue
                own, his = two_jobs.image(leaf, side, row[1]), two_jobs.image(leaf, 1 - side, other)
                then = two_jobs.stand(pair_of(side, (leaf.outcome.world, own), his))
                assert then.key == after.key
                assert World.of(after) == two_jobs.worlds[leaf.outcome.world]


def test_every_command_is_asked_for_under_both_permits_in_some_exploration(two_jobs):
    """Each with both jobs around it, in states that both jobs get to."""
    every = {command.__name__ for command in get_args(c.Command)}
    for side in two_jobs.sides:
        some = random.Random(5).sample(side.states, 60)
        plans = (*TOGETHER, *NOT_FINISHED)
        moves = (move for plan in plans for p in some for move in plan.moves_of(two_jobs.site, p))
        assert every - {type(move.command).__name__ for move in moves} == set(LEFT_OUT)


def test_the_file_tells_of_every_exploration_and_of_nothing_wrong():
    assert [row[0] for row in WALKS] == [plan.name for plan in TOGETHER]
    assert {(row[8], row[9]) for row in WALKS} == {("0", "0")}


# ── guards ──────────────────────────────────────────────────────────────────────────────────────────────


def guards(cell: str) -> tuple[str, ...]:
    return tuple(cell.replace("`", "").split(" + "))


@pytest.mark.parametrize("row", PREVENTS, ids=lambda row: row[0])
def test_without_the_guard_it_happens_and_with_it_it_is_refused(row):
    plan, labels, off = BY_NAME["two, careless"], row[2].split("; "), guards(row[0])
    assert row[1] in replayed(plan, labels, off)
    assert replayed(plan, labels, ()) == []
    if len(off) > 1:
        assert [replayed(plan, labels, (one,)) for one in off] == [[], []]


def test_each_guard_stands_in_one_table():
    listed = [guard for row in (*PREVENTS, *NOTHING) for guard in guards(row[0])]
    assert len(listed) == len(set(listed))
    assert set(listed) <= codes_in_the_rules()


def test_the_search_beyond_finds_what_the_search_one_by_one_finds():
    """In *one behind*: the same ends as far away as in TABLE.md."""
    refusals = Refusals(explore(BY_NAME["one behind"]))
    table = [row for row in rows_of(1) if row[2] == "one behind"]
    for guard, _, _, way in table:
        result = search_beyond(refusals, guards(guard), Reach(0, 20_000))
        assert result.found is not None, guard
        assert len(result.found.labels) == len(way.split("; ")), guard
        assert result.found.what in replayed(BY_NAME["one behind"], result.found.labels, guards(guard))


# ── the parts ───────────────────────────────────────────────────────────────────────────────────────────


def test_a_noted_permit_reads_as_the_permit_and_notes_it_once(two_jobs):
    for permit in two_jobs.sides[FIRST].states[:300]:
        notes = Notes()
        noted = notes.of(permit)
        assert (noted.phase, noted.hanging, noted.verification("Q1")) == (
            permit.phase, permit.hanging, permit.verification("Q1"),
        )  # fmt: skip
        assert noted.locked == noted.locked == permit.locked
        assert list(notes.read) == [
            (permit.id, "phase", ()), (permit.id, "hanging", ()), (permit.id, "verification", ("Q1",)),
            (permit.id, "locked", ()),
        ]  # fmt: skip


def test_a_change_of_a_noted_permit_reads_nothing_and_hides_what_it_changed(two_jobs):
    permit = next(p for p in two_jobs.sides[FIRST].states if p.hanging and p.releases)
    notes = Notes()
    changed = replace(notes.of(permit), locks=())
    assert notes.read == {}
    assert told(changed) == {"locks": ()}
    assert (changed.hanging, changed.locked) == ((), frozenset())
    assert notes.read == {}
    assert changed.is_held("C1") is permit.is_held("C1")
    assert {name for _, name, _ in notes.read} <= {"plan_release", "releases", "released"}


def test_outside_an_exploration_the_rules_change_permits_as_ever(two_jobs):
    from permits.work.rules import changes

    before = changes.replace
    with noting():
        assert changes.replace is replace
    assert changes.replace is before
    assert not isinstance(two_jobs.sides[FIRST].states[0], Noted)


def test_rows_turned_twice_are_the_same_rows():
    chance = random.Random(3)
    rows = {(world, own): chance.getrandbits(37) for world in range(3) for own in range(0, 50, 3)}
    rows = {at: row for at, row in rows.items() if row}
    columns = turned(rows, 37, 50)
    assert {(w, a, b) for (w, a), row in rows.items() for b in bits(row)} == {
        (w, a, b) for (w, b), row in columns.items() for a in bits(row)
    }
    assert turned(columns, 50, 37) == rows
    assert less(rows, rows) == {}
