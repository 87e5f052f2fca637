"""The points of a plan on the printed form: what hangs there, and what has to be read, in names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from permits.plant.rules.energy import Node
from permits.plant.rules.stores.wording import duration
from permits.work.queries.look import clock
from permits.work.queries.states import node_of, point_line
from permits.work.rules import state
from permits.work.rules.proving import needs_qualified, test_of
from permits.work.rules.reaching import carries_lock
from permits.work.rules.words import Lock


@dataclass(frozen=True, slots=True)
class PaperLock:
    """A padlock, or a tag where no lock fits, that hangs when the form is printed."""

    padlock: str
    tag: str
    seen: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class PaperRelease:
    """How a store was made harmless, by whom and when."""

    how: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class PaperPoint:
    """A point of the plan.

    `plate`: its short code as printed on it, "" where none is issued; `how`: its device, its release, or what
    is done besides a tag; `holds`: own locks that hang; `others`: those of other permits, which stay;
    `release`: as it stands; `takes_lock`: a store whose release nobody can undo takes none.
    """

    number: int
    does: str
    designation: str
    name: str
    place: str
    plate: str
    how: str
    holds: tuple[PaperLock, ...]
    others: str
    release: PaperRelease | None
    takes_lock: bool


@dataclass(frozen=True, slots=True)
class PaperTest:
    """A test of one point. `pairs`: what is read, one blank each; `waits`: from when on a reading counts;
    `again`: how soon it has to be read again; `stands`: how the point stood when the form was printed."""

    number: int
    designation: str
    name: str
    plate: str
    quantity: str
    limit: str
    pairs: tuple[str, ...]
    proves_instrument: bool
    waits: str
    again: str
    stands: str


def hanging(now: state.Site, p: state.Permit) -> Iterator[tuple[str, str]]:
    """(point, what hangs there or was released) for each point of the plan at which there is something."""
    for point in p.points:
        found = [f"{said_of(now, lock)}{of_another(p, other)}" for other, lock in now.locks_on(point)]
        if was := paper_release(now, p, point):
            found.insert(0, f"released by {was.by}, {was.at}: {was.how}")
        if found:
            node = node_of(now, point)
            yield ", ".join(filter(None, (node.designation, node.name))), "; ".join(found)


def said_of(now: state.Site, lock: Lock) -> str:
    what = "tag" if lock.is_tag else "padlock"
    return f"{what} {lock.padlock} of {now.name(lock.owner)}, {clock(now, lock.applied_at)}"


def of_another(p: state.Permit, other: state.Permit) -> str:
    return "" if other.id == p.id else f" (for {other.id})"


def paper_release(now: state.Site, p: state.Permit, point: str) -> PaperRelease | None:
    found = p.release_of(point)
    return PaperRelease(found.method, now.name(found.by), clock(now, found.at)) if found else None


def paper_points(now: state.Site, p: state.Permit, plates: Mapping[str, str]) -> Iterator[PaperPoint]:
    locked = carries_lock(now, p)
    for number, point in enumerate(p.points, 1):
        node = node_of(now, point)
        does = "Release" if point in p.plan_release else "Tag" if node.tag_only else "Lock"
        others = [
            f"{said_of(now, lock)}{of_another(p, other)}"
            for other, lock in now.locks_on(point)
            if other.id != p.id
        ]
        yield PaperPoint(
            number=number,
            does=does,
            designation=node.designation,
            name=node.name,
            place=node.place,
            plate=plates.get(point, ""),
            how=how_of(node, does),
            holds=tuple(paper_lock(now, lock) for lock in p.hanging if lock.where == point),
            others="; ".join(others),
            release=paper_release(now, p, point),
            takes_lock=point in locked,
        )


def how_of(node: Node, does: str) -> str:
    if does == "Tag" and node.tag_only:
        return f"Takes a tag, not a lock. Do this as well: {node.tag_only.measure}"
    return (node.release.method if node.release else "") or node.device


def paper_lock(now: state.Site, lock: Lock) -> PaperLock:
    return PaperLock(
        padlock="no lock fits" if lock.is_tag else lock.padlock,
        tag=lock.padlock if lock.is_tag else lock.tag,
        seen=lock.position.value if lock.position else "",
        by=now.name(lock.owner),
        at=clock(now, lock.applied_at),
    )


def paper_tests(
    now: state.Site, p: state.Permit, plates: Mapping[str, str], at: datetime
) -> Iterator[PaperTest]:
    for number, point in enumerate(p.points, 1):
        node = node_of(now, point)
        test = test_of(node)
        yield PaperTest(
            number=number,
            designation=node.designation,
            name=node.name,
            plate=plates.get(point, ""),
            quantity=test.quantity,
            limit=f"{format(test.limit, 'f')} {test.unit}".strip(),
            pairs=test.combinations or ("",),
            proves_instrument=needs_qualified(node),
            waits=waits(now, p, node),
            again=again(now, node),
            stands=stands(now, p, point, at),
        )


def stands(now: state.Site, p: state.Permit, point: str, at: datetime) -> str:
    """How the point stands, and since when and until when a test of it holds."""
    word, latest = point_line(now, p, point, at).word, p.verification(point)
    if latest is None or not latest.is_good(at):
        return word
    until = f", until {clock(now, latest.lapses_at)}" if latest.lapses_at else ""
    return f"{word} since {clock(now, latest.at)}{until}"


def waits(now: state.Site, p: state.Permit, node: Node) -> str:
    """From when on a reading of a store counts; "" where at once."""
    if node.release is None or not node.release.wait_s:
        return ""
    words = f"Not before {duration(node.release.wait_s)} after the release."
    if found := p.release_of(node.id):
        then = clock(now, found.counts_from)
        words += f" Released {clock(now, found.at)}: a reading counts from {then} on."
    return words


def again(now: state.Site, node: Node) -> str:
    """How soon a store that can recharge is read again; "" where it cannot."""
    minutes = node.release.recheck_min if node.release else None
    if not minutes:
        return ""
    if now.policy.recheck_minutes:
        minutes = min(minutes, now.policy.recheck_minutes)
    return f"It can recharge: read it again within {minutes} min, every time."
