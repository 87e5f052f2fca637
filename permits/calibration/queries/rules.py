"""The chapter of calibration on the page of rules: each step with its conditions, found in the source."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from django.utils.text import slugify

import permits.calibration
from permits.calibration.rules.clauses import TOPICS
from permits.calibration.rules.steps import OFFICER, STEPS, Step
from permits.work import rulebook
from permits.work.queries.rules import step_line, title_of
from permits.work.rules import found_in_source

ROOM = Path(permits.calibration.__file__).parent
LEAD = (
    "What a reading, a correction or the end of an axis is refused for, once the permit allows it: test "
    "pieces only under a sanction and after ready was signed, everything else as the permit’s own steps say."
)


@cache
def source() -> found_in_source.Source:
    """The room's rules and actions, read once a process; modules by folder and name: "rules.against"."""
    return found_in_source.read(
        {
            f"{folder}.{file.stem}": file.read_text(encoding="utf-8")
            for folder in ("rules", "actions")
            for file in sorted((ROOM / folder).glob("*.py"))
        },
        "permits.calibration",
    )


@cache
def chapter() -> rulebook.Chapter:
    steps = tuple((title, tuple(map(step, group))) for title, group in STEPS)
    return rulebook.Chapter("Calibration", LEAD, steps, TOPICS)


def step(one: Step) -> rulebook.Step:
    module, name = one.action
    return rulebook.Step(
        anchor=f"calibration-{slugify(one.title)}",
        title=one.title,
        who=OFFICER if one.command is None else step_line(one.command).who,
        codes=source().of_function(f"actions.{module}", name).codes,
        asks_first="" if one.command is None else title_of(one.command),
    )
