"""Explore two whole jobs at once, take every guard away from them, print TWO_JOBS.md.

.venv/bin/python -m tests.work.exploring.two_jobs           everything: over an hour, and 5 GB for the largest
.venv/bin/python -m tests.work.exploring.two_jobs NAME ...  these explorations alone, a row each
.venv/bin/python -m tests.work.exploring.two_jobs guards    the guards alone
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

from tests.work.test_rules_codes import codes_in_the_rules

from .__main__ import SEPARATOR, said
from .beginning import PlanOfTwo
from .guards import Broken, Reach, kind
from .missing import Refusals, kinds_beyond, search_beyond
from .plans import BY_NAME, TOGETHER
from .returning import stuck
from .rows import FIRST, SECOND
from .together import explore

# How many pairs are followed beyond; every refusal is one to begin from.
REACH, PAIR_REACH = Reach(refusals=0, states=2_000_000), Reach(refusals=0, states=20_000)
CARELESS = "two, careless"


def row_of(plan: PlanOfTwo) -> str:
    done = explore(plan)
    left = sum(row.bit_count() for side in (FIRST, SECOND) for row in stuck(done, side).values())
    own = " × ".join(str(len(side.states)) for side in done.sides)
    cells = (
        plan.name, plan.says, own, done.states, done.moves, done.tried, len(done.layers) - 1,
        done.memory.made, len(done.wrong), left, f"{done.seconds:.0f}",
    )  # fmt: skip
    return f"| {' | '.join(map(str, cells))} |"


def guard_rows(refusals: Refusals) -> Iterator[tuple[str, str]]:
    """Each guard's row, with the table that it belongs to."""
    kinds: dict[str, set[str]] = {}
    for guard in sorted({guard for codes in refusals.by_codes for guard in codes} & codes_in_the_rules()):
        alone = search_beyond(refusals, (guard,), REACH)
        if found := alone.found or paired(refusals, guard, kinds):
            yield prevented(found), "prevents"
        else:
            yield f"| `{guard}` | {alone.seen}{' and more' if alone.cut else ''} |", "nothing"


def paired(refusals: Refusals, guard: str, kinds: dict[str, set[str]]) -> Broken | None:
    """What happens without this guard and one other that the lack of the other alone leads to nowhere.

    `kinds`: by guard, the kinds of wrong that its lack alone leads to, as far as they are known.
    """
    for other in sorted(refusals.partners(guard)):
        if other not in kinds:
            kinds[other] = kinds_beyond(refusals, other, PAIR_REACH)

        def counts(what: str, of: set[str] = kinds[other]) -> bool:
            return kind(what) not in of

        if found := search_beyond(refusals, (guard, other), PAIR_REACH, counts).found:
            return found
    return None


def prevented(found: Broken) -> str:
    guards = " + ".join(f"`{guard}`" for guard in found.guards)
    return f"| {guards} | {found.what} | {SEPARATOR.join(found.labels)} |"


def main(asked: list[str]) -> None:
    if asked not in ([], ["guards"]):
        print(*(row_of(BY_NAME[name]) for name in asked), sep="\n")
        return
    if not asked:
        print(HEAD)
        for plan in TOGETHER:
            print(row_of(plan), flush=True)
    rows: dict[str, list[str]] = {"prevents": [], "nothing": []}
    for row, place in guard_rows(Refusals(explore(BY_NAME[CARELESS]))):
        said(row)
        rows[place].append(row)
    for place, head in TABLES.items():
        print(head)
        print(*rows[place], sep="\n")


HEAD = """# Two whole jobs at once: every reachable state

Printed by `.venv/bin/python -m tests.work.exploring.two_jobs`. Two permits, three people, three points (two
isolators and a store) on one small plant; both permits are only requested at the start. A state is one of the
world and of both permits together; each is counted, and looked at, by itself. Own: the states of
each permit alone. Made: moves that were really made; all others are known from these by what was read
(`remembering.py`). Wrong, stuck: as in TABLE.md. The tests walk *two jobs* anew; the others take minutes.

| exploration | what is in it | own | states | moves | tried | deepest | made | wrong | stuck | seconds |
|---|---|---|---|---|---|---|---|---|---|---|"""

TABLES = {
    "prevents": """
## What each guard prevents here

Taken away alone from *two, careless*: from every reachable state in which nothing else refuses the move, on
to 20,000 states that cannot be reached with the guard; two at a time where each alone prevents nothing. The
shortest way to something wrong.

| guard | without it | the shortest way there |
|---|---|---|""",
    "nothing": """
## Guards whose lack leads to nothing wrong here

Neither alone nor with any other of this list. New: how many states can be reached without it that could not
before; *and more* where the search ended at its limit. What these are for stands in TABLE.md. Guards in no
table here refuse nothing by themselves, or with one other, in this exploration.

| guard | new states |
|---|---|""",
}

if __name__ == "__main__":
    main(sys.argv[1:])
