"""The one way to change anything: `writing` opens the transaction, locks the head and hands out the pen."""

import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta

from django.db import Error, transaction

from permits.ledger import outcome
from permits.ledger.author import CLOCK, Author
from permits.ledger.body import body_bytes, body_digest, refuse_odd_text, refuse_unkept, utc
from permits.ledger.gate import gate
from permits.ledger.models import ABOUT_LENGTH, KIND_LENGTH, Entry, Head
from permits.ledger.sent import AlreadyDone, Key, SentOtherwise, done, keep_receipt

__all__ = [
    "CLOCK",
    "AlreadyDone",
    "Author",
    "Key",
    "NothingWritten",
    "Pen",
    "SentOtherwise",
    "done",
    "open_ledger",
    "writing",
]


class NothingWritten(Exception):
    """A block of `writing` ended without an entry: a change that nobody could account for was rolled back."""


class Pen:
    """Writes entries at the end of one ledger, in one transaction. Made by `writing`, useless after it."""

    def __init__(self, head: Head, *, by: Author, at: datetime, waited: timedelta = timedelta()) -> None:
        self.by = by
        self.head_id: int = head.pk
        self.at: datetime = at if head.last_at is None else max(at, utc(head.last_at))
        """The transaction's time in UTC: never below the last entry, even when the clock was set back."""
        self.behind: timedelta = max(self.at - at - waited, timedelta())
        """How far the clock is behind the last entry. Whoever only `waited` for their turn is not."""
        self._head = head
        self._closed = False

    @property
    def next_number(self) -> int:
        """The number that the next entry will have."""
        return self._head.number + 1

    def write(
        self, kind: str, about: str, data: Mapping[str, object], *, at: datetime | None = None
    ) -> Entry:
        """Append one entry and return it.

        `kind` is what happened, `about` what it happened to (such as "permit:P-17"), `data` the rest: str,
        bool, None, integers below 2^53, lists and dicts. `at` is for what fell due before now; a time before
        the last entry becomes the last entry's. Raises ValueError or TypeError, naming the place, for what
        could not be read back as it was hashed, for a naive `at` and for one after `self.at`.
        """
        if self._closed:
            raise RuntimeError("the pen's transaction has ended; write inside the block of writing()")
        refuse_odd_text("kind", kind, KIND_LENGTH)
        refuse_odd_text("about", about, ABOUT_LENGTH)
        if not isinstance(data, dict):
            raise TypeError(f"data is a {type(data).__name__}; it has to be a dict")
        refuse_unkept(data)
        head = self._head
        moment = self._moment(at)
        body = body_bytes(
            ledger=head.name,
            number=head.number + 1,
            previous=head.digest,
            kind=kind,
            about=about,
            by=self.by.ref,
            by_digest=self.by.digest,
            device=self.by.device,
            at=moment,
            data=data,
        )
        entry = Entry.objects.create(
            head=head,
            number=head.number + 1,
            kind=kind,
            about=about,
            by=self.by.ref,
            at=moment,
            body=body.decode("utf-8"),
            previous=head.digest,
            digest=body_digest(body),
        )
        head.number, head.digest, head.last_at = entry.number, entry.digest, moment
        return entry

    def _moment(self, at: datetime | None) -> datetime:
        if at is None:
            return self.at
        moment = utc(at)
        if moment > self.at:
            raise ValueError(
                f"{moment.isoformat()} is after now, {self.at.isoformat()}; an entry can't be ahead of it"
            )
        # A clock that ran ahead once must not stop the ledger; `data` can hold the due time as it was.
        return moment if self._head.last_at is None else max(moment, utc(self._head.last_at))


_this_thread = threading.local()


@contextmanager
def writing(head_id: int, *, by: Author, at: datetime, key: Key | None = None) -> Iterator[Pen]:
    """Open the one write transaction on ledger `head_id`, as `by`, at the aware time `at`; yield its pen.

    `key` makes a request count once however often it is sent. Raises, before the block runs, AlreadyDone
    where this very request was carried out, SentOtherwise where its key was used for another; NothingWritten
    where the block wrote no entry; RuntimeError inside another transaction or block; ValueError for a naive
    `at`; Head.DoesNotExist for an unknown ledger; GateShut where no turn came. All is rolled back then.
    """
    moment, begun = utc(at), time.monotonic()
    if getattr(_this_thread, "busy", False):
        raise RuntimeError("writing() inside writing(); an action used by another takes its pen")
    outcome.nothing_kept()
    with gate() as turn:
        _this_thread.busy = True

        def leave() -> None:
            _this_thread.busy = False
            if turn is not None:
                turn.end()

        try:
            with transaction.atomic(durable=True):
                # The first hook: mail and whatever else waits for the commit must not keep others waiting.
                transaction.on_commit(leave)
                head = Head.objects.select_for_update().get(pk=head_id)
                if key is not None and (before := done(head_id, key)):
                    raise AlreadyDone(*before)
                pen = Pen(head, by=by, at=moment, waited=timedelta(seconds=time.monotonic() - begun))
                first = pen.next_number
                try:
                    yield pen
                finally:
                    pen._closed = True
                _advance(head, first, key=key)
                outcome.commit_begins()
        except Error as error:
            outcome.note_commit(error)
            raise
        finally:
            leave()


def _advance(head: Head, first: int, *, key: Key | None) -> None:
    if head.number < first:
        raise NothingWritten("the block ended without an entry; whatever changes, an entry has to say so")
    Head.objects.filter(pk=head.pk).update(number=head.number, digest=head.digest, last_at=head.last_at)
    if key is not None:
        keep_receipt(head, key, first=first)


def open_ledger(name: str) -> Head:
    """Begin a new, empty ledger. `name` is in every entry's body and never changes.

    Raises ValueError for a name that is taken, empty or too long. May be called inside a transaction.
    """
    refuse_odd_text("a ledger's name", name, Head._meta.get_field("name").max_length or 0)
    if Head.objects.filter(name=name).exists():
        raise ValueError(f"there is a ledger named {name!r} already; a new one needs a name of its own")
    return Head.objects.create(name=name)
