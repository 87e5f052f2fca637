"""Walk every plan, take every guard away, print both tables as Markdown.

.venv/bin/python -m tests.work.exploring             everything, in the form of TABLE.md
.venv/bin/python -m tests.work.exploring walks       the walks alone
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace

from tests.work.test_rules_codes import codes_in_the_rules

from .guards import GUARD_OF_LAST_RESORT, Broken, Reach, kind, kinds, search
from .plans import PLANS
from .purposes import PURPOSES
from .walking import Walk, walk

FAR, NEAR = Reach(4000, 250), Reach(300, 40)  # for one guard, and for a pair
SEPARATOR = "; "


def said(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def walks() -> Iterator[Walk]:
    for plan in PLANS:
        done = walk(plan)
        said(row_of(done))
        yield done


def row_of(done: Walk) -> str:
    stuck = sum(1 for away in ("", *done.plan.absent) for _ in done.stuck(away))
    cells = (
        done.plan.name, done.plan.says, len(done.stands), done.moves, done.tried, max(done.deep),
        len(done.wrong), stuck, f"{done.seconds:.0f}",
    )  # fmt: skip
    return f"| {' | '.join(map(str, cells))} |"


def shortest(
    done: list[Walk],
    guards: tuple[str, ...],
    reach: Reach,
    counts: Callable[[str], bool] = bool,
    onwards: bool = False,
) -> Broken | None:
    best: Broken | None = None
    for one in done:
        within = len(best.labels) if best else sys.maxsize
        best = search(one, guards, reach, within, counts, onwards).found or best
    return best


def partners(done: list[Walk], guard: str) -> list[str]:
    """Guards that refuse something together with this one, and nothing else does; the last resort first."""
    beside = {code for one in done for codes in one.refused if guard in codes for code in codes}
    return [GUARD_OF_LAST_RESORT, *sorted(beside - {guard, GUARD_OF_LAST_RESORT})]


def paired(done: list[Walk], guard: str, known: dict[str, frozenset[str]]) -> Broken | None:
    """What happens without both that the lack of the other one alone leads to nowhere. `known`: by guard, the
    kinds of wrong that its lack alone leads to."""
    for other in partners(done, guard):
        if other == guard or not any(guard in codes for one in done for codes in one.refused):
            continue
        if other not in known:
            known[other] = frozenset().union(*(kinds(one, other, NEAR) for one in done))
        others = known[other]
        if broken := shortest(done, (guard, other), NEAR, lambda what, of=others: kind(what) not in of):
            return broken
    return None


def last_resort(done: list[Walk]) -> Broken | None:
    """Which guard's lack would let energy reach someone, if nothing stood behind every command? It may go by
    way of other things that are wrong."""
    found = []
    for guard in sorted(codes_in_the_rules() - {GUARD_OF_LAST_RESORT}):
        pair = (guard, GUARD_OF_LAST_RESORT)
        if broken := shortest(done, pair, NEAR, lambda what: what.startswith("energy reaches"), True):
            found.append(replace(broken, guards=pair[::-1]))
    return min(found, key=lambda broken: len(broken.labels), default=None)


def guard_row(done: list[Walk], guard: str, known: dict[str, frozenset[str]]) -> tuple[str, str]:
    """The row, and to which of the three lists it belongs."""
    broken = shortest(done, (guard,), FAR)
    if broken is not None:
        return f"| `{guard}` | {broken.what} | {broken.plan} | {SEPARATOR.join(broken.labels)} |", "alone"
    broken = last_resort(done) if guard == GUARD_OF_LAST_RESORT else paired(done, guard, known)
    if broken is not None:
        with_it = broken.guards[1]
        cells = (f"`{guard}` + `{with_it}`", broken.what, broken.plan, SEPARATOR.join(broken.labels))
        return f"| {' | '.join(cells)} | {PURPOSES.get(guard, '')} |", "pair"
    met = any(guard in codes for one in done for codes in one.refused)
    return f"| `{guard}` | {'yes' if met else 'no'} | {PURPOSES.get(guard, '')} |", "purpose"


def main() -> None:
    done = list(walks())
    print(HEAD)
    print(*map(row_of, done), sep="\n")
    if sys.argv[1:] == ["walks"]:
        return
    known: dict[str, frozenset[str]] = {}
    rows: dict[str, list[str]] = {"alone": [], "pair": [], "purpose": []}
    for guard in sorted(codes_in_the_rules()):
        row, place = guard_row(done, guard, known)
        said(row)
        rows[place].append(row)
    for place, head in TABLES.items():
        print(head)
        print(*rows[place], sep="\n")


HEAD = """# Every reachable state, and what each guard prevents

Printed by `.venv/bin/python -m tests.work.exploring`. A state forgets its history and every absolute time;
why that loses nothing stands in `forgetting.py`. Tried: every command that anyone could give there, refused
ones too. Wrong: states and steps that break a property of `looking_at_state.py` and `looking_at_step.py`.
Stuck: states from which no commands lead to the permit's end; in *shift* and in *holder gone* also none by
those who stay, when the holder is away for good.

| exploration | what is in it | states | moves | tried | deepest | wrong | stuck | seconds |
|---|---|---|---|---|---|---|---|---|"""

TABLES = {
    "alone": """
## Guards that nothing else stands in for

Each is one condition's code. With that condition alone taken away, these moves end in what stands beside it.
Looked for from each exploration's 4000 nearest refusals for that condition alone, over 250 new states.

| guard | without it | exploration | the shortest way there |
|---|---|---|---|""",
    "pair": """
## Guards that another stands in for

Taken away alone, nothing goes wrong in any exploration; taken away with the other one, this does, and with
either in its place it does not. Why both stay is said in the last column. Looked for from 300 refusals of
each exploration, over 40 new states; what the lack of the other one alone leads to anywhere does not count.
For `exposes-crew`, which stands behind every command, what counts is that energy reaches someone.

| guards | without both | exploration | the shortest way there | why it stays |
|---|---|---|---|---|""",
    "purpose": """
## Guards that prevent nothing the properties see

Neither alone nor in a pair does their absence break a property here. What they are for is written by hand.
Met: whether an exploration comes to a refusal for it, alone or with one other; where none does, other tests
show it.

| guard | met | what it is for |
|---|---|---|""",
}

if __name__ == "__main__":
    main()
