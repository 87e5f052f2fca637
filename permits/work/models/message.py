"""What people were told, in the app and by mail."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Index, Q, UniqueConstraint

from permits.work.models.columns import REF


class Message(models.Model):
    """What one person is told of one ledger entry; see rules.concerns. No part of what the ledger says.

    Written in the entry's transaction, and not touched by a replay: whether something was read or mailed is
    about the telling, not about the permit. `kind`, `by`: the entry's kind, and who did it ("": nobody).
    `mailed_at` stays empty for who has no address.
    """

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="+")
    person = models.CharField(max_length=REF)
    entry = models.BigIntegerField()
    kind = models.CharField(max_length=80)
    permit = models.CharField(max_length=16, blank=True)
    by = models.CharField(max_length=REF, blank=True)
    text = models.TextField()
    urgent = models.BooleanField()
    at = models.DateTimeField()
    read_at = models.DateTimeField(null=True)
    mailed_at = models.DateTimeField(null=True)
    mail_failures = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["site", "entry", "person"], name="one_message_per_entry_and_person"),
            CheckConstraint(condition=~Q(person="") & ~Q(text=""), name="a_message_tells_someone_something"),
            CheckConstraint(condition=~Q(person=F("by")), name="nobody_is_told_of_their_own_deed"),
        ]
        indexes = [
            Index(fields=["site", "person"], condition=Q(read_at=None), name="messages_unread"),
            Index(fields=["at"], condition=Q(mailed_at=None), name="messages_not_mailed"),
        ]

    def __str__(self) -> str:
        return self.text
