"""One permit's record on paper: what an auditor accepts in place of the screen. Any script."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from reportlab.platypus import Flowable, KeepTogether

from permits.calibration.charts import drawing
from permits.calibration.queries import AxisHistory
from permits.calibration.rules.job import Stage
from permits.plant.picture import Form
from permits.plant.picture.pdf import render
from permits.plant.prints.page import CAUTION, PageFrame, Paper, bind
from permits.records import listings
from permits.records.picture import Scene
from permits.records.prints import sections
from permits.records.prints.parts import Sheet, box, gap, heading, said, styles, text
from permits.records.story import Story
from permits.records.times import full
from permits.work.pictures import drawing_of

PERMIT_CAUTION = f"A permit does not make a job safe by itself. {CAUTION}"
OPEN = "PRINTED WHILE OPEN"
PICTURE = 0.8
"""The picture's share of the width: its words are then as large as those of the tables."""


@dataclass(frozen=True, slots=True)
class Print:
    """On which paper, when (aware, the site's own time), and which address the code leads back to."""

    paper: Paper
    printed_at: datetime
    leads_to: str


def record(story: Story, scene: Scene | None, sheet: Print, *, axes: Sequence[AxisHistory] = ()) -> bytes:
    """The record as a PDF. The same story, scene, sheet and axes give the same bytes."""
    frame = PageFrame(
        site=story.site,
        title=f"Permit {story.reference}" + ("" if story.is_over else f", {OPEN}"),
        leads_to=sheet.leads_to,
        printed_at=sheet.printed_at,
        entries=story.entries,
        paper=sheet.paper,
        caution=PERMIT_CAUTION,
    )
    on = Sheet(frame.room[0], styles())
    return bind(frame, [*opening(story, on, sheet), *body(story, scene, on, axes)])


def opening(story: Story, on: Sheet, sheet: Print) -> list[Flowable]:
    """Title, state, scope: what it is, and whether it is finished."""
    flow: list[Flowable] = [text(f"Permit {story.reference}", on.styles["title"], on.width)]
    flow += said(on, f"{story.site}. Record of an energy-isolation permit. {story.clock.said}")
    flow.append(gap())
    if not story.is_over:
        flow += box(
            on,
            [
                [
                    ("loud", OPEN),
                    (
                        "body",
                        f"State on {full(sheet.printed_at)}: {story.word}. What came after is not on here.",
                    ),
                ]
            ],
            heavy=True,
        )
    else:
        flow += box(on, [[("bold", f"State: {story.word}. Nothing changes any more.")]], heavy=False)
    return [*flow, *sections.scope(story, on)]


def body(story: Story, scene: Scene | None, on: Sheet, axes: Sequence[AxisHistory]) -> list[Flowable]:
    return [
        *sections.exceptions(story, on),
        *sections.tables(on, listings.first_part(story)),
        *picture(scene, on),
        *sections.tables(on, listings.second_part(story)),
        *over_time(axes, on),
        *sections.entries(story, on),
    ]


def picture(scene: Scene | None, on: Sheet) -> list[Flowable]:
    """The energy picture: a line is energy, a gap in it is isolation."""
    if scene is None:
        return []
    drawing = drawing_of(scene.look, Form.PAGE)
    return [
        *heading(on, "Energy picture"),
        *said(on, scene.caption, "small"),
        gap(),
        render(drawing, on.width * PICTURE),
        gap(),
    ]


def over_time(axes: Sequence[AxisHistory], on: Sheet) -> list[Flowable]:
    """Each axis of the permit's jobs on its charts: this visit among all that are known by now."""
    flow: list[Flowable] = []
    for axis in axes:
        drawn = [
            (stage, chart)
            for stage in Stage
            if (chart := drawing(axis, stage=stage, width=on.width * PICTURE)) is not None
        ]
        if not drawn:
            continue
        head = [
            *heading(on, f"{axis.name} over time"),
            *said(on, "Every visit known when this was printed, this permit's among them.", "small"),
        ]
        for stage, chart in drawn:  # a chart stays with its words, on the next page if need be
            flow.append(
                KeepTogether([*head, gap(), *said(on, stage.value.capitalize(), "small"), chart, gap()])
            )
            head = []
    return flow
