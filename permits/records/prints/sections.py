"""The sections of a printed record: exceptions first, then the story's tables, last the entries in order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reportlab.platypus import Flowable

from permits.records import listings
from permits.records.listings import MONO, Column, Listing, Pairs
from permits.records.prints.parts import Sheet, box, facts, gap, heading, said, table
from permits.records.story import Raised, Story, StoryLine

DIGITS = 16
"""How much of each entry's digest is printed; the file of entries has the whole of it."""

HOW_TO_CHECK = (
    "Numbers between these belong to other matters of the site. A digest is SHA-256 over one zero byte and "
    "the entry's text; each text names the digest before it, so that none can be changed or left out unseen. "
    "The file of entries, at the address below, holds the texts and whole digests."
)


def tables(on: Sheet, parts: Iterable[Listing | Pairs]) -> list[Flowable]:
    """The tables under their headings; one without rows says what that means, or is left out."""
    flow: list[Flowable] = []
    for part in parts:
        if isinstance(part, Pairs):
            flow += [*heading(on, part.title), *facts(on, part.pairs)]
        elif part.rows:
            flow += [*heading(on, part.title), *table(on, part.columns, part.rows)]
            flow += said(on, part.note, "small") if part.note else []
        elif part.empty:
            flow += [*heading(on, part.title), *said(on, part.empty, "cell"), gap()]
    return flow


def scope(story: Story, on: Sheet) -> list[Flowable]:
    return [*heading(on, "Scope"), *facts(on, listings.scope(story))]


def exceptions(story: Story, on: Sheet) -> list[Flowable]:
    """What went otherwise than it should, before anything else."""
    flow = heading(on, "Exceptions")
    if not story.exceptions:
        return [*flow, *box(on, [[("bold", "None is recorded.")]], heavy=False)]
    head = ("bold", counted(story.exceptions))
    return [*flow, *box(on, [[head], *map(said_of, story.exceptions)], heavy=True)]


def counted(found: Sequence[Raised]) -> str:
    still = sum(one.is_open for one in found)
    first = f"{still} still open and first, then the gravest" if still else "gravest first"
    return f"{len(found)} exception{'' if len(found) == 1 else 's'}, {first}"


def said_of(one: Raised) -> list[tuple[str, str]]:
    return [
        ("strong", f"Entry {one.number}, {one.time}: {one.word}"),
        ("cell", listings.sentence(one)),
    ]


def what_of(line: StoryLine) -> str:
    device = f" (on the device of {line.device})" if line.device else ""
    late = line.late[:1].upper() + line.late[1:]
    return "\n".join(filter(None, (line.what + device, late)))


def entries(story: Story, on: Sheet) -> list[Flowable]:
    """Every entry in its order, and the last one's digest in full."""
    columns = (
        Column("No.", 0.8), Column("Time", 2), Column("What happened", 9),
        Column("Kind, start of digest", 2.9, MONO),
    )  # fmt: skip
    rows = [
        (
            str(one.number),
            story.clock.short(one.at),
            what_of(one),
            f"{one.kind}\n{one.digest[:DIGITS]}",
        )
        for one in story.lines
    ]
    return [
        *heading(on, f"{story.entries}, in their order"),
        *table(on, columns, rows),
        *said(on, f"Entry {story.last} has the digest", "cell"),
        *said(on, story.last_digest, "mono"),
        gap(),
        *said(on, HOW_TO_CHECK, "small"),
    ]
