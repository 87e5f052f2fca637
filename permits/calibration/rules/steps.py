"""What can be asked for in calibration and what each is called when people are told of it. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from permits.work.rules import commands as c

OFFICER = "a safety officer"
"""Who describes; what is done in a job is asked of the permit first, which says who may."""


@dataclass(frozen=True, slots=True)
class Step:
    """`action`: module and function among the actions. `command`: what it asks of the permit, if any."""

    action: tuple[str, str]
    title: str
    command: type[c.Ask] | None = None


STEPS: tuple[tuple[str, tuple[Step, ...]], ...] = (
    (
        "In a job",
        (
            Step(("jobs", "open_job"), "Describe a job that opens", c.OpenJob),
            Step(("jobs", "pre_check"), "Enter a pre-check", c.TakeReading),
            Step(("on_axis", "open_axis"), "Open an axis", c.AskJob),
            Step(("on_axis", "read_pieces"), "Enter a reading", c.TakeReading),
            Step(("on_axis", "strike_piece"), "Strike a reading out", c.AskJob),
            Step(("on_axis", "correct"), "Enter a correction", c.CorrectAxis),
            Step(("on_axis", "judge"), "Judge a correction’s result", c.ProveAxis),
            Step(("on_axis", "end_axis"), "Close an axis, or abandon it", c.AskJob),
            Step(("jobs", "close_job"), "Save the settings and end the job", c.CloseJob),
        ),
    ),
    (
        "Described beforehand",
        (
            Step(("describing", "save_axis"), "Describe an axis"),
            Step(("describing", "remove_axis"), "Take an axis out"),
            Step(("describing", "save_feature"), "Describe a feature"),
            Step(("describing", "remove_feature"), "Take a feature out"),
            Step(("instruments", "save_instrument"), "Enter an instrument"),
            Step(("instruments", "remove_instrument"), "Take an instrument out of use"),
            Step(("earlier", "enter_earlier"), "Enter a result from before this record"),
            Step(("describing", "save_policy"), "Say how the site measures"),
        ),
    ),
)
