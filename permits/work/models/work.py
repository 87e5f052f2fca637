"""Who is inside and what was looked at, said, sanctioned and signed under a permit."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from permits.work.models.columns import CODE, REF, chosen
from permits.work.models.part import Part
from permits.work.models.permit import Permit
from permits.work.rules.words import DefectState, HaltKind, Seen, Stage


class CrewSignOn(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="crew")
    person = models.CharField(max_length=REF)
    padlock = models.CharField(max_length=32, blank=True)
    on_at = models.DateTimeField()
    off_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="sign_on_has_its_place"),
            UniqueConstraint(
                fields=["permit", "person"],
                condition=Q(off_at=None),
                name="one_is_signed_on_once_under_a_permit",
            ),
            CheckConstraint(
                condition=Q(off_at=None) | Q(off_at__gte=F("on_at")), name="signed_off_after_signed_on"
            ),
        ]


class Notice(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="notices")
    stage = models.CharField(max_length=24, choices=chosen(Stage))
    whom = models.TextField()
    how = models.TextField()
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    covers_tests = models.BooleanField()

    class Meta:
        constraints = [UniqueConstraint(fields=["permit", "n"], name="notice_has_its_place")]


class Acknowledgement(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="acknowledgements")
    notice = models.PositiveIntegerField()
    person = models.CharField(max_length=REF)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="acknowledgement_has_its_place"),
            UniqueConstraint(fields=["permit", "notice", "person"], name="one_acknowledges_a_notice_once"),
        ]


class MachineCheck(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="checks")
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    items = models.JSONField()

    class Meta:
        constraints = [UniqueConstraint(fields=["permit", "n"], name="check_has_its_place")]


class Defect(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="defects")
    item = models.CharField(max_length=32)
    what = models.TextField()
    found_by = models.CharField(max_length=REF)
    found_at = models.DateTimeField()
    state = models.CharField(max_length=16, choices=chosen(DefectState))
    ended_by = models.CharField(max_length=REF, blank=True)
    ended_at = models.DateTimeField(null=True)
    how = models.TextField(blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="defect_has_its_place"),
            CheckConstraint(
                condition=Q(state=DefectState.OPEN.value, ended_at=None)
                | (~Q(state=DefectState.OPEN.value) & Q(ended_at__isnull=False) & ~Q(ended_by="")),
                name="a_settled_defect_says_who_and_when",
            ),
        ]


class Confirmation(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="confirmations")
    area = models.CharField(max_length=CODE)
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    how = models.CharField(max_length=8, choices=chosen(Seen))
    watching = models.BooleanField()
    void_at = models.DateTimeField(null=True)
    seen_by = models.CharField(max_length=REF, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="confirmation_has_its_place"),
            UniqueConstraint(
                fields=["permit", "area"],
                condition=Q(void_at=None),
                name="one_standing_confirmation_per_permit_and_area",
            ),
        ]


class Sanction(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="sanctions")
    points = models.JSONField()
    limits = models.TextField()
    cycles = models.PositiveSmallIntegerField()
    until = models.DateTimeField()
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    cycle = models.PositiveSmallIntegerField(default=0)
    ready_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    why_ended = models.TextField(blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="sanction_has_its_place"),
            UniqueConstraint(
                fields=["permit"], condition=Q(ended_at=None), name="one_sanction_in_force_per_permit"
            ),
            CheckConstraint(condition=Q(cycle__lte=F("cycles")), name="no_more_cycles_than_sanctioned"),
        ]


class JobSeen(Part):
    """A calibration job as the permit sees it; what it measured is in the calibration room."""

    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="jobs")
    number = models.PositiveIntegerField()
    machine = models.CharField(max_length=CODE)
    opened_at = models.DateTimeField()
    unproven = models.JSONField()
    proven = models.JSONField()
    closed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="job_has_its_place"),
            UniqueConstraint(fields=["permit"], condition=Q(closed_at=None), name="one_open_job_per_permit"),
        ]


class Signature(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="signatures")
    person = models.CharField(max_length=REF)
    meaning = models.CharField(max_length=160)
    at = models.DateTimeField()

    class Meta:
        constraints = [UniqueConstraint(fields=["permit", "n"], name="signature_has_its_place")]


class Halt(Part):
    """A stop, suspension or emergency of one permit; see rules.words.Halt."""

    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="halts")
    kind = models.CharField(max_length=16, choices=chosen(HaltKind))
    by = models.CharField(max_length=REF, blank=True)
    at = models.DateTimeField()
    why = models.TextField()
    lifted_by = models.CharField(max_length=REF, blank=True)
    lifted_at = models.DateTimeField(null=True)
    how_lifted = models.TextField(blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="halt_has_its_place"),
            CheckConstraint(
                condition=Q(lifted_at=None, lifted_by="")
                | (Q(lifted_at__gte=F("at")) & ~Q(lifted_by="") & ~Q(how_lifted="")),
                name="a_lifted_halt_says_who_and_how",
            ),
        ]
