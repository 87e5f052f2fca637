"""TABLE.md and TWO_JOBS.md read back, table by table, and a walk held against what TABLE.md tells of it."""

from __future__ import annotations

from pathlib import Path

from .walking import Walk


def rows_of(number: int, file: str = "TABLE.md") -> list[list[str]]:
    """The rows of the file's table with this number, from 0, each as its cells; without the head."""
    tables: list[list[list[str]]] = []
    inside = False
    for line in Path(__file__).with_name(file).read_text(encoding="utf-8").splitlines():
        if line.startswith("|"):
            if not inside:
                tables.append([])
            tables[-1].append([cell.strip() for cell in line.strip("|").split("|")])
        inside = line.startswith("|")
    return tables[number][2:]


def right_and_never_stuck(done: Walk) -> None:
    """As TABLE.md tells of this walk: nothing wrong in it, and from each state a way to the permit's end."""
    plan = done.plan
    assert [(what, [*done.way(state), label]) for what, state, label in done.wrong[:3]] == []
    assert [(permit, done.way(state)) for permit, state in list(done.stuck())[:3]] == []
    for away in plan.absent:
        assert [(permit, done.way(state)) for permit, state in list(done.stuck(away))[:3]] == []
    told = next(row for row in rows_of(0) if row[0] == plan.name)
    figures = [str(len(done.stands)), str(done.moves), str(done.tried), str(max(done.deep))]
    assert told[2:6] == figures, "print TABLE.md again: the rules or the alphabet have changed"
