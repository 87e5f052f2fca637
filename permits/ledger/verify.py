"""Recomputes a ledger from its raw entries and names the first bad one. Reads in one pass, takes no lock.

What it can't see by itself: an owner of the database who rewrote everything from some entry on, head row and
all. Only a digest kept elsewhere, such as on a printed record, helps against that: `kept`.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final, NamedTuple

from django.db import DatabaseError
from django.db.models import Max, OuterRef, Subquery

from permits.ledger.body import GENESIS, MEMBERS, VERSION, body_digest, time_text
from permits.ledger.canonical import canonical
from permits.ledger.models import Entry, Head, Receipt

_TYPES: Final = dict.fromkeys(MEMBERS, str) | {"data": dict, "number": int, "v": int}
CHUNK: Final = 1000
"""Rows held in memory at a time."""
_UNREADABLE: Final = (DatabaseError, ValueError, TypeError, AttributeError)
"""What the database or Django raises for a value that can't be of its column's type."""
_COLUMNS: Final = ("number", "kind", "about", "by", "at", "body", "previous", "digest")


@dataclass(frozen=True, slots=True)
class Verdict:
    """`entries` were found sound, from the first one on; `first_bad` numbers the first that is not."""

    ok: bool
    entries: int
    first_bad: int | None
    what: str


class Row(NamedTuple):
    """An entry as it lies in the database, whatever lies there."""

    number: int
    kind: str
    about: str
    by: str
    at: datetime
    body: str
    previous: str
    digest: str


class _Bad(Exception):
    def __init__(self, number: int | None, what: str, sound: int | None = None) -> None:
        super().__init__(what)
        self.number = number
        self.what = what
        self.sound = sound
        """How many entries are sound, where that is not all before this one."""


@dataclass(slots=True)
class _Place:
    """Where the reading stands: the last sound entry."""

    number: int = 0
    digest: str = GENESIS
    at: datetime | None = None


def verify(head: Head, kept: Mapping[int, str] | None = None) -> Verdict:
    """Check every entry of `head`: order, chain, digests, canonical form, columns; then head row, receipts.

    `kept`: by entry number, digests, or their first digits, that were kept elsewhere; each is compared.
    Entries may be appended meanwhile. Never raises for what it finds in the rows.
    """
    place, kept = _Place(), kept or {}
    try:
        before = _head(head.pk)
        for row in _rows(before):
            _check(row, place, before)
            if row.number == before.number and row.digest != before.digest:
                raise _Bad(row.number, "the head row has another digest: the entry or the head was replaced")
            _check_kept(row, kept)
            place = _Place(row.number, row.digest, row.at)
        _check_end(place, before)
        _check_receipts(place, before)
        _check_all_kept(place, kept)
    except _Bad as bad:
        sound = place.number if bad.number is None else min(place.number, max(bad.number - 1, 0))
        sound = sound if bad.sound is None else bad.sound
        return Verdict(ok=False, entries=sound, first_bad=bad.number, what=bad.what)
    return Verdict(ok=True, entries=place.number, first_bad=None, what="every entry is sound")


def _check_kept(row: Row, kept: Mapping[int, str]) -> None:
    """Raise _Bad where the entry's digest is not the one kept. What is before it was hashed into it."""
    if row.digest.startswith(kept.get(row.number, "")):
        return
    agreed = max((number for number in kept if number < row.number), default=0)
    since = f"an entry from {agreed + 1} on" if agreed + 1 < row.number else "it"
    raise _Bad(row.number, f"it has not the digest that was kept: {since} was written anew", sound=agreed)


def _check_all_kept(place: _Place, kept: Mapping[int, str]) -> None:
    if beyond := [number for number in kept if number > place.number]:
        what = f"the tail is missing: the digest of entry {min(beyond)} was kept, {place.number} are there"
        raise _Bad(place.number + 1, what)


def _head(pk: int) -> Head:
    try:
        head = Head.objects.get(pk=pk)
    except (Head.DoesNotExist, *_UNREADABLE) as error:
        raise _Bad(None, f"the head row can't be read: {error}") from None
    if not (isinstance(head.number, int) and isinstance(head.name, str) and isinstance(head.digest, str)):
        raise _Bad(None, "the head row holds values of wrong types")
    return head


def _rows(head: Head) -> Iterator[Row]:
    """The rows by number; from where one can't be read on, singly, so that it can be named."""
    last: int | None = None
    trouble: Exception | None = None
    for size in (CHUNK, 1):
        rows = Entry.objects.filter(head_id=head.pk).order_by("number", "pk").values_list(*_COLUMNS)
        if last is not None:
            rows = rows.filter(number__gt=last)
        try:
            for values in rows.iterator(chunk_size=size):
                row = Row(*values)
                yield row
                last = row.number
            return
        except _UNREADABLE as error:
            trouble = error
    raise _Bad((last or 0) + 1, f"the row can't be read: {trouble}")


def _check(row: Row, place: _Place, head: Head) -> None:
    """Raise _Bad unless `row` is the sound successor of `place`."""
    number = place.number + 1
    for name, value in row._asdict().items():
        right = {"number": int, "at": datetime}.get(name, str)
        if not isinstance(value, right):
            raise _Bad(number, f"column {name} holds a {type(value).__name__} instead of a {right.__name__}")
    if row.number > number:
        gap = (
            f"entry {number} is" if row.number == number + 1 else f"entries {number} to {row.number - 1} are"
        )
        raise _Bad(number, f"{gap} missing: the next one there is entry {row.number}")
    if row.number < number:
        raise _Bad(
            row.number, f"there is a second entry {row.number}" if row.number > 0 else "numbers begin with 1"
        )
    _check_body(row, head)
    if row.previous != place.digest:
        raise _broken_link(row, place, head)
    if place.at is not None and row.at < place.at:
        raise _Bad(number, f"its time {time_text(row.at)} is before that of entry {place.number}")


def _check_body(row: Row, head: Head) -> None:
    body = _bytes(row)
    if body_digest(body) != row.digest:
        if body_digest(body) == _followed(row.number, head):
            raise _Bad(
                row.number, "column digest differs from its body's digest, which the next entry follows"
            )
        raise _Bad(row.number, "it was changed: its body doesn't have the digest beside it")
    members = _parsed(row)
    if members.keys() != MEMBERS:
        odd = ", ".join(sorted(members.keys() ^ MEMBERS))
        raise _Bad(row.number, f"its body has other members than an entry has: {odd}")
    for name, right in _TYPES.items():
        if type(members[name]) is not right:
            raise _Bad(row.number, f"{name} in its body is {members[name]!r}, which is no {right.__name__}")
    if members["v"] != VERSION:
        raise _Bad(
            row.number, f"its body is of version {members['v']!r}; this program reads version {VERSION}"
        )
    if members["ledger"] != head.name:
        raise _Bad(row.number, f"it belongs to the ledger {members['ledger']!r}, not to {head.name!r}")
    if members["number"] != row.number:
        raise _Bad(row.number, f"entries were reordered: in its place stands entry {members['number']!r}")
    for name in ("kind", "about", "by", "previous"):
        if members[name] != getattr(row, name):
            raise _Bad(
                row.number,
                f"column {name} differs: {getattr(row, name)!r} beside {members[name]!r} in its body",
            )
    if members["at"] != time_text(row.at):
        raise _Bad(row.number, f"column at differs: {time_text(row.at)} beside {members['at']!r} in its body")


def _bytes(row: Row) -> bytes:
    try:
        return row.body.encode("utf-8")
    except UnicodeEncodeError as error:
        raise _Bad(row.number, f"it was changed: its body is no Unicode text ({error.reason})") from None


def _parsed(row: Row) -> dict[str, object]:
    """The members of a body that is canonical JSON; raises _Bad for one that isn't."""
    try:
        value = json.loads(row.body, object_pairs_hook=_members, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise _Bad(row.number, f"its body is no JSON that an entry could have: {error}") from None
    if not isinstance(value, dict):
        raise _Bad(row.number, f"its body is a JSON {type(value).__name__}, not an object")
    try:
        again = canonical(value)
    except (ValueError, TypeError, RecursionError) as error:
        raise _Bad(row.number, f"its body has no canonical form: {error}") from None
    if again != _bytes(row):
        raise _Bad(row.number, "its body is not in canonical form (RFC 8785)")
    return value


def _members(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise ValueError("a member name occurs twice")
    return members


def _refuse_constant(text: str) -> object:
    raise ValueError(f"{text} is no JSON number")


def _followed(number: int, head: Head) -> str:
    """The digest which the next entry after `number`, or else the head row, says it follows."""
    following = (
        Entry.objects.filter(head_id=head.pk, number=number + 1).values_list("previous", flat=True).first()
    )
    return head.digest if following is None else following


def _broken_link(row: Row, place: _Place, head: Head) -> _Bad:
    """Which of two entries that don't fit is bad: the later is genuine if what comes after it fits it."""
    if place.number > 0 and row.digest == _followed(row.number, head):
        return _Bad(place.number, f"it was replaced: entry {row.number} follows another entry {place.number}")
    return _Bad(row.number, "it doesn't follow the entry before it: it was changed, replaced or reordered")


def _check_end(place: _Place, before: Head) -> None:
    """The head row against the last entry. It is read again: it may have moved on."""
    now = _head(before.pk)
    if place.number < before.number:
        counts = f"the head row counts {before.number} entries, {place.number} are there"
        raise _Bad(place.number + 1, f"the tail is missing: {counts}")
    if place.number > now.number:
        raise _Bad(now.number + 1, f"it lies beyond the head row, which counts {now.number} entries")
    if place.number == now.number and (place.digest, place.at) != (now.digest, now.last_at):
        raise _Bad(place.number, "the head row holds another digest or time than the last entry")


def _check_receipts(place: _Place, head: Head) -> None:
    """None names an entry that is missing, or another's; each has the time of its last entry."""
    last = Entry.objects.filter(head_id=OuterRef("head_id"), number=OuterRef("last")).values("at")[:1]
    receipts = Receipt.objects.filter(head_id=head.pk)
    rows = receipts.order_by("first", "pk").annotate(due=Subquery(last))
    before = 0
    try:
        promised = receipts.aggregate(last=Max("last"))["last"]
        if promised is not None and promised > _head(head.pk).number:
            raise _Bad(place.number + 1, f"the tail is missing: a receipt names entry {promised}")
        for begins, ends, at, due in rows.values_list("first", "last", "at", "due").iterator(CHUNK):
            if begins <= before:
                raise _Bad(None, f"two receipts name entry {begins}: one of them was made up or changed")
            if at != due:
                raise _Bad(None, f"the receipt of entry {ends} has another time than that entry")
            before = ends
    except _UNREADABLE as error:
        raise _Bad(None, f"a receipt can't be read: {error}") from None
