"""What hangs, was released and was tested at a permit's points."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Index, Q, UniqueConstraint

from permits.work.models.columns import CODE, REF, chosen
from permits.work.models.part import Part
from permits.work.models.permit import Permit
from permits.work.rules.words import BOX, Position


class Lock(Part):
    """One person's padlock on one point, or on the group box; see rules.words.Lock."""

    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="locks")
    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="+")
    where = models.CharField(max_length=CODE)
    padlock = models.CharField(max_length=32)
    owner = models.CharField(max_length=REF)
    applied_at = models.DateTimeField()
    tag = models.CharField(max_length=32, blank=True)
    position = models.CharField(max_length=16, null=True, choices=chosen(Position))  # noqa: DJ001 - a store's lock has none
    typed = models.BooleanField(default=False)
    removed_at = models.DateTimeField(null=True)
    measure_done = models.TextField(blank=True)

    class Meta:
        constraints = [
            CheckConstraint(
                condition=Q(measure_done="") | ~Q(where=BOX),
                name="a_measure_stands_at_a_point_not_on_the_box",
            ),
            UniqueConstraint(fields=["permit", "n"], name="lock_has_its_place"),
            UniqueConstraint(
                fields=["site", "padlock"],
                condition=Q(removed_at=None),
                name="one_padlock_is_in_one_place",
            ),
            UniqueConstraint(
                fields=["permit", "where", "owner"],
                condition=Q(removed_at=None),
                name="one_live_lock_per_person_and_point",
            ),
            CheckConstraint(
                condition=Q(removed_at=None) | Q(removed_at__gte=F("applied_at")),
                name="lock_removed_after_applied",
            ),
            CheckConstraint(condition=~Q(padlock=""), name="a_lock_has_a_number"),
            CheckConstraint(condition=Q(where=BOX) | ~Q(tag=""), name="a_point_lock_has_a_danger_tag"),
        ]
        indexes = [Index(fields=["site", "where"], name="locks_by_point")]


class StoreRelease(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="releases")
    point = models.CharField(max_length=CODE)
    method = models.TextField()
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    counts_from = models.DateTimeField()
    undone_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="release_has_its_place"),
            UniqueConstraint(
                fields=["permit", "point"],
                condition=Q(undone_at=None),
                name="one_live_release_per_permit_and_store",
            ),
            CheckConstraint(
                condition=Q(counts_from__gte=F("at")), name="a_reading_counts_from_the_release_on"
            ),
        ]


class Verification(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="verifications")
    point = models.CharField(max_length=CODE)
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    method = models.CharField(max_length=16)
    readings = models.JSONField()
    limit = models.DecimalField(max_digits=18, decimal_places=6)
    unit = models.CharField(max_length=16, blank=True)
    instrument = models.CharField(max_length=80, blank=True)
    passed = models.BooleanField()
    counts = models.BooleanField()
    fed = models.BooleanField()
    lapses_at = models.DateTimeField(null=True)
    void_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [UniqueConstraint(fields=["permit", "n"], name="verification_has_its_place")]
