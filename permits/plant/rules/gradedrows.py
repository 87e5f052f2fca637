"""What a plant file says of how surely its isolators isolate: grades, tag-only points, the site's demands."""

from __future__ import annotations

from collections.abc import Mapping

from permits.plant.rules.energy import Grade, Kind, Medium, TagOnly
from permits.plant.rules.rows import Nearest, Row, shown

GRADES = tuple(grade.value for grade in Grade)
_MEDIA = tuple(medium.value for medium in Medium)
_TAG_ONLY = ("measure",)


def grade_of(row: Row, kind: Kind | None, nearest: Nearest) -> Grade | None:
    """A node's grade, which only an isolator has."""
    grade = _grade(row, "grade", nearest)
    if grade is not None and kind not in (Kind.ISOLATOR, None):
        row.wrong("grade", f"stands on a node of kind {kind}", "a grade on an isolator only")
    return grade


def read_tag_only(row: Row, kind: Kind | None, nearest: Nearest, *, strict: bool) -> TagOnly | None:
    """What makes up for the lock at a point that takes none; only beside `lockable` false."""
    if "tag_only" not in row:
        return None
    inner = row.inner("tag_only", "an object with the measure, or to leave it out")
    if inner is None:
        return None
    if kind not in (Kind.ISOLATOR, None):
        row.wrong("tag_only", f"stands on a node of kind {kind}", "it on an isolator only")
    elif row.raw("lockable") is not False:
        wrong = "stands on a point that can be locked"
        row.wrong("tag_only", wrong, "lockable false beside it, or to leave it out: what can be locked is")
    inner.check_names(_TAG_ONLY, nearest, strict=strict)
    needed = "what is done besides the tag, such as 'handle taken off'"
    return TagOnly(inner.text("measure", longest=400, lines=True, required=needed))


def write_tag_only(tag_only: TagOnly) -> dict[str, str]:
    """A tag-only point's object as JSON values."""
    return {"measure": tag_only.measure}


def read_demands(top: Row, nearest: Nearest) -> dict[Medium, Grade]:
    """The least grade for each medium that has one. A medium that no one knows is wrong however strict."""
    if "demands" not in top:
        return {}
    row = top.inner("demands", 'an object of media and grades, such as {"pneumatic": "proved"}')
    if row is None:
        return {}
    for name in dict.fromkeys(row.value.repeated):
        row.wrong(name[:60], "the medium stands here more than once", "to give it once")
    found: dict[Medium, Grade] = {}
    for name in row.value:
        if name not in _MEDIA:
            right = _or_nearest(name, _MEDIA, nearest)
            row.wrong(name[:60], "is no medium", right)
        elif grade := _grade(row, name, nearest):
            found[Medium(name)] = grade
    return found


def written_demands(demands: Mapping[Medium, Grade]) -> dict[str, str]:
    """A site's demands as JSON values, media in order."""
    return {medium.value: grade.value for medium, grade in sorted(demands.items())}


def stored_demands(stored: Mapping[str, str]) -> dict[Medium, Grade]:
    """The demands that `written_demands` wrote, trusted without a check."""
    return {Medium(medium): Grade(grade) for medium, grade in stored.items()}


def _grade(row: Row, field: str, nearest: Nearest) -> Grade | None:
    if field not in row:
        return None
    value = row.raw(field)
    if isinstance(value, str) and value in GRADES:
        return Grade(value)
    right = _or_nearest(value, GRADES, nearest) if isinstance(value, str) else f"one of {', '.join(GRADES)}"
    row.wrong(field, f"is {shown(value)}", right)
    return None


def _or_nearest(word: str, known: tuple[str, ...], nearest: Nearest) -> str:
    right = f"one of {', '.join(known)}"
    near = nearest.to(word, known)
    return f"'{near}', if that was meant, or {right}" if near else right
