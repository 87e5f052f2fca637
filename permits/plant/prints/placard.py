"""The placard that hangs at a machine: its approved procedure, large enough to be worked from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Spacer

from permits.plant.picture.drawing import Drawing
from permits.plant.picture.pdf import UNIT, render
from permits.plant.prints import fonts
from permits.plant.prints.page import CAUTION, PageFrame, Paper, bind, stamp
from permits.plant.prints.placard_rows import (
    BOX_PAD,
    NAME,
    NOTE,
    PLACE,
    TEXT,
    Energy,
    Head,
    Mark,
    Plate,
    Row,
    Rule,
    Words,
    boxed,
    heading,
    text,
)

NO_LOCAL_RULES = (
    "None is written in this revision. Local codes and the employer's own energy-control procedure hold all "
    "the same, and come first."
)
ORDER = "In this order"
RELEASE = "Release"
TAG = "Tag"
_ABOVE_PICTURE = 26 * mm
_SMALLEST = 0.72
_FITS_THE_HEAD = 200


@dataclass(frozen=True, slots=True)
class Source:
    """An energy that reaches the machine's zones: kind, magnitude, where it comes from, what it holds."""

    medium: str
    magnitude: str
    name: str
    designation: str = ""
    place: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PointStep:
    """A point to be locked or released. `how`: its device, or how it is released; `url`, `short_code`: of its
    plate, the code as printed, both empty where none is issued; `besides`: where no lock fits, what is done
    beside the tag.
    """

    does: str
    name: str
    designation: str
    place: str
    energy: str
    how: str
    url: str
    short_code: str
    besides: str = ""


@dataclass(frozen=True, slots=True)
class Proof:
    """A verification: at which point, and what has to be read there."""

    name: str
    designation: str
    test: str


@dataclass(frozen=True, slots=True)
class Placard:
    """Everything that stands on a placard. Times are aware, in the site's own time.

    `texts`: (title, text) of the five parts of the procedure in the order in which they are done;
    `local_rules` the sixth. `stays_live`: nodes that keep their energy while the zones are isolated.
    `leads_to`: the full address of the revision; `entry`: the ledger entry of its approval.
    """

    site: str
    machine: str
    designation: str
    place: str
    hazards: str
    revision: int
    approved_by: str
    approved_at: datetime
    zones: tuple[str, ...]
    stays_live: tuple[str, ...]
    sources: tuple[Source, ...]
    steps: tuple[PointStep, ...]
    proofs: tuple[Proof, ...]
    texts: tuple[tuple[str, str], ...]
    local_rules: str
    picture: Drawing
    leads_to: str
    entry: str


def placard(shown: Placard, *, paper: Paper, printed_at: datetime) -> bytes:
    """The placard as a PDF: first what is done in which order, then the texts, then the energy picture.

    The same placard gives the same bytes.
    """
    fonts.register()
    frame = PageFrame(
        site=shown.site,
        title=f"{shown.machine}, revision {shown.revision}",
        leads_to=shown.leads_to,
        printed_at=printed_at,
        entries=shown.entry,
        paper=paper,
        caution=(
            f"Holds only while revision {shown.revision} is the approved one: scan the code, and take this "
            f"placard down where it is not. {CAUTION}"
        ),
    )
    width = frame.room[0]
    return bind(frame, [*_first(shown, width), *_texts(shown, width), *_picture(shown, *frame.room)])


def _first(shown: Placard, width: float) -> Iterator[Flowable]:
    """What is done in which order, on the first page as far as it goes."""
    where = " · ".join(filter(None, (shown.designation, shown.place)))
    covers = "Covers " + ", ".join(shown.zones)
    below = len(covers) > _FITS_THE_HEAD  # the head, where it may go on over pages
    yield Head(
        shown.machine,
        [Words(where, PLACE, above=2), Words("" if below else covers, PLACE, bold=True, above=4)],
        f"Revision {shown.revision}",
        [
            Words(f"Approved by {shown.approved_by}", NOTE, above=2),
            Words(stamp(shown.approved_at), NOTE - 2),
            Words("Still the approved one? The code at the foot of the page tells.", NOTE - 2, above=3),
        ],
    )
    if below:
        yield text(covers, width, size=PLACE, bold=True, after=1 * mm)
    if shown.hazards:
        yield text(shown.hazards, width, before=1 * mm)
    yield from heading("Energies", width)
    for source in shown.sources:
        yield Energy(
            ", ".join(filter(None, (source.medium, source.magnitude))),
            ", ".join(filter(None, (source.name, source.designation, source.place))),
            source.note,
        )
    if shown.stays_live:
        live = f"Stays live throughout: {', '.join(shown.stays_live)}. Treat it as live."
        yield Spacer(1, 2 * mm)
        yield boxed([text(live, width - 2 * BOX_PAD, size=PLACE, bold=True)], width)
    yield from heading(ORDER, width, room=75 * mm)
    shutdown = [Words("As written under Shutdown", NAME, bold=True)]
    yield Row(1, "Stop", shutdown, size=26)
    for number, step in enumerate(shown.steps, 2):
        mark = Mark.STORE if step.does == RELEASE else Mark.GAP
        yield Row(number, step.does, list(_point(step)), Plate(step.url, step.short_code), mark)
    for number, proof in enumerate(shown.proofs, 2 + len(shown.steps)):
        named = ", ".join(filter(None, (proof.name, proof.designation)))
        yield Row(number, "Verify", [Words(named, PLACE, bold=True), Words(proof.test, PLACE)], size=20)
    yield Rule()
    yield boxed([text(CAUTION, width - 2 * BOX_PAD, size=TEXT, bold=True)], width)


def _point(step: PointStep) -> Iterator[Words]:
    yield Words(step.name, NAME, bold=True)
    yield Words(step.place, PLACE)
    energy = (step.designation, step.energy)
    if step.does == RELEASE:
        yield Words(" · ".join(filter(None, energy)), NOTE)
        yield Words(step.how, NOTE + 1, bold=True)
    else:
        yield Words(" · ".join(filter(None, (*energy, step.how))), NOTE)
        yield Words(step.besides, NOTE + 1, bold=True)


def _texts(shown: Placard, width: float) -> Iterator[Flowable]:
    yield PageBreak()
    for title, words in shown.texts:
        yield from heading(title, width, room=30 * mm)
        yield text(words or "Nothing is written.", width, size=PLACE)
    yield Spacer(1, 6 * mm)
    room = width - 2 * BOX_PAD
    rules = shown.local_rules or NO_LOCAL_RULES
    yield boxed(
        [text("Local rules that govern", room, size=17, bold=True), text(rules, room, size=PLACE)], width
    )


def _picture(shown: Placard, width: float, height: float) -> Iterator[Flowable]:
    """On a page of its own; one that is a little higher than the page is drawn smaller, so that it fits."""
    yield PageBreak()
    yield from heading("Energy picture", width)
    yield text("As the plant was described when this was printed, with nothing locked.", width, after=2 * mm)
    fits = width * (height - _ABOVE_PICTURE) / (shown.picture.height * min(UNIT, width / shown.picture.width))
    yield render(shown.picture, fits if _SMALLEST * width <= fits < width else width)
