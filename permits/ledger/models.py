"""The ledger's tables: one head per site, its entries in order, and receipts of requests already carried out.

Entries and receipts are append-only and a head moves only forward: triggers.py makes the database refuse
anything else.
"""

from django.db import models
from django.db.models import CheckConstraint, F, Index, Q, UniqueConstraint

from permits.ledger.author import LONGEST as BY_LENGTH
from permits.ledger.body import GENESIS

KIND_LENGTH = 80
ABOUT_LENGTH = 160


class Head(models.Model):
    """Where a ledger stands: its last entry's number, digest and time. The row that each command locks."""

    name = models.CharField(max_length=80, unique=True)
    number = models.BigIntegerField(default=0)
    digest = models.CharField(max_length=64, default=GENESIS)
    last_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(number__gte=0), name="head_number_is_not_negative"),
            CheckConstraint(
                condition=Q(number=0, digest=GENESIS, last_at=None)
                | (Q(number__gt=0, last_at__isnull=False) & ~Q(digest=GENESIS)),
                name="head_without_entries_is_at_genesis",
            ),
        ]


class Entry(models.Model):
    """One fact. `body` is the canonical JSON that was hashed; the other columns repeat it for searching."""

    head = models.ForeignKey(Head, on_delete=models.PROTECT, related_name="entries")
    number = models.BigIntegerField()
    kind = models.CharField(max_length=KIND_LENGTH)
    about = models.CharField(max_length=ABOUT_LENGTH)
    by = models.CharField(max_length=BY_LENGTH)
    at = models.DateTimeField()
    body = models.TextField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["head", "number"], name="one_entry_per_number"),
            UniqueConstraint(fields=["head", "previous"], name="one_child_per_entry"),
            UniqueConstraint(fields=["head", "digest"], name="one_entry_per_digest"),
            CheckConstraint(condition=Q(number__gte=1), name="entries_count_from_one"),
        ]
        indexes = [
            Index(fields=["head", "about", "number"], name="entries_about"),
            Index(fields=["head", "kind", "number"], name="entries_of_kind"),
        ]


class Receipt(models.Model):
    """A request that was carried out, its first and last entry beside it, so that a repeat counts once.

    `content` is the digest of what was sent (sent.py), so that nothing else passes for a repeat; "" where no
    page sent it, or before that was kept. `at` is the last entry's time.
    """

    head = models.ForeignKey(Head, on_delete=models.PROTECT, related_name="receipts")
    key = models.UUIDField()
    content = models.CharField(max_length=64, default="")
    first = models.BigIntegerField()
    last = models.BigIntegerField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["head", "key"], name="one_receipt_per_request"),
            CheckConstraint(
                condition=Q(first__gte=1) & Q(last__gte=F("first")), name="receipt_names_its_entries"
            ),
        ]
