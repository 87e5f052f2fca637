"""One permit, as a row."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Index, Q, UniqueConstraint

from permits.work.models.columns import OPEN_PHASES, REF, chosen
from permits.work.rules.words import Phase


class Permit(models.Model):
    """One permit. `reference` is its id in rules and entries, such as P-17."""

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="permits")
    reference = models.CharField(max_length=16)
    number = models.PositiveIntegerField()
    phase = models.CharField(max_length=16, choices=chosen(Phase))
    zones = models.JSONField()
    keep_live = models.JSONField()
    kind_of_work = models.CharField(max_length=120)
    reason = models.TextField()
    requested_by = models.CharField(max_length=REF)
    requested_at = models.DateTimeField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    plan_lock = models.JSONField()
    plan_release = models.JSONField()
    plan_order = models.JSONField()
    proven_cheapest = models.BooleanField()
    issuer = models.CharField(max_length=REF, blank=True)
    holder = models.CharField(max_length=REF, blank=True)
    crew_named = models.JSONField()
    coordinator = models.CharField(max_length=REF, blank=True)
    next_holder = models.CharField(max_length=REF, blank=True)
    holder_gone = models.BooleanField(default=False)
    procedures = models.JSONField()
    own_issue = models.BooleanField()
    stopped_because = models.TextField(blank=True)
    stopped_path = models.JSONField()
    expired_at = models.DateTimeField(null=True)
    ever_signed_on = models.BooleanField()
    checked = models.BooleanField()
    reenergised_at = models.DateTimeField(null=True)
    in_service = models.BooleanField()
    out_of_use = models.BooleanField()
    ended_at = models.DateTimeField(null=True)
    last_entry = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["site", "number"], name="one_permit_per_site_and_number"),
            UniqueConstraint(fields=["site", "reference"], name="one_permit_per_site_and_reference"),
            CheckConstraint(
                condition=Q(phase__in=[p.value for p in Phase]), name="permit_phase_is_one_of_the_eight"
            ),
            CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="permit_ends_after_it_starts"),
            CheckConstraint(
                condition=Q(phase__in=OPEN_PHASES, ended_at=None)
                | (~Q(phase__in=OPEN_PHASES) & Q(ended_at__isnull=False)),
                name="a_permit_that_is_over_has_ended",
            ),
            CheckConstraint(
                condition=Q(phase__in=[Phase.REQUESTED.value, Phase.CANCELLED.value])
                | (~Q(issuer="") & ~Q(holder="")),
                name="a_permit_at_work_has_issuer_and_holder",
            ),
            CheckConstraint(
                condition=Q(issuer="") | Q(own_issue=True) | ~Q(issuer=F("holder")),
                name="issuer_and_holder_are_two_people_or_it_says_so",
            ),
        ]
        indexes = [
            Index(fields=["site", "phase"], name="permits_by_phase"),
            Index(fields=["site"], condition=Q(out_of_use=True), name="permits_out_of_use"),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def about(self) -> str:
        """How the ledger calls it."""
        return f"permit:{self.reference}"
