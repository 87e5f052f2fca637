"""Axes, instruments, jobs, pieces and corrections. Lengths are kept as typed, digits and unit, never as floats."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from permits.calibration.rules.job import AxisState, Parameter, Stage
from permits.calibration.rules.lengths import Unit
from permits.work.models import REF

MEASURE = 48  # "92 5/8 in", "-0.125 mm": see lengths.recorded


def chosen(enum: type) -> list[tuple[str, str]]:
    return [(one.value, one.value) for one in enum]  # type: ignore[attr-defined]


class Axis(models.Model):
    """An axis of a machine that can be corrected, in the officer's order (the angle axis first, as a rule)."""

    machine = models.ForeignKey("plant.Machine", on_delete=models.PROTECT, related_name="axes")
    code = models.CharField(max_length=32)
    name = models.CharField(max_length=120)
    order = models.PositiveSmallIntegerField()
    unit = models.CharField(max_length=4, choices=chosen(Unit))
    tolerance = models.CharField(max_length=MEASURE)
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["machine", "code"],
                condition=Q(removed_at=None),
                name="one_live_axis_per_machine_and_code",
            ),
            CheckConstraint(condition=~Q(code="") & ~Q(name=""), name="axis_has_code_and_name"),
            CheckConstraint(condition=Q(unit__in=[u.value for u in Unit]), name="axis_unit_is_known"),
        ]

    def __str__(self) -> str:
        return self.name


class Instrument(models.Model):
    """What pieces are measured with: uncertainty, coverage factor and resolution from its certificate."""

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="instruments")
    number = models.CharField(max_length=32)
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=4, choices=chosen(Unit))
    expanded_uncertainty = models.CharField(max_length=MEASURE)
    coverage_factor = models.DecimalField(max_digits=6, decimal_places=3)
    resolution = models.CharField(max_length=MEASURE)
    due_on = models.DateField()
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["site", "number"],
                condition=Q(removed_at=None),
                name="one_live_instrument_per_site_and_number",
            ),
            CheckConstraint(condition=Q(coverage_factor__gt=0), name="coverage_factor_is_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class Job(models.Model):
    """What a calibration job measured and changed; `number` is its number within the permit."""

    permit = models.ForeignKey("work.Permit", on_delete=models.PROTECT, related_name="calibration_jobs")
    number = models.PositiveSmallIntegerField()
    machine = models.ForeignKey("plant.Machine", on_delete=models.PROTECT, related_name="jobs")
    settings_before = models.CharField(max_length=200)
    settings_after = models.CharField(max_length=200, blank=True)
    reference_board = models.CharField(max_length=200)
    test_piece = models.CharField(max_length=200)
    opened_by = models.CharField(max_length=REF)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "number"], name="one_job_per_permit_and_number"),
            CheckConstraint(
                condition=Q(closed_at=None) | Q(closed_at__gte=F("opened_at")), name="job_closed_after_opened"
            ),
        ]


class AxisWork(models.Model):
    """The work on one axis in one job; only one is open at a time."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="works")
    axis = models.ForeignKey(Axis, on_delete=models.PROTECT, related_name="works")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="works")
    state = models.CharField(max_length=12, choices=chosen(AxisState))
    corrections = models.PositiveSmallIntegerField(default=0)
    proven = models.PositiveSmallIntegerField(default=0)
    opened_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["job"], condition=Q(state=AxisState.OPEN.value), name="one_open_axis_per_job"
            ),
            CheckConstraint(condition=Q(proven__lte=F("corrections")), name="only_corrections_are_proven"),
            CheckConstraint(
                condition=Q(state=AxisState.OPEN.value, ended_at=None)
                | (~Q(state=AxisState.OPEN.value) & Q(ended_at__isnull=False)),
                name="axis_work_that_is_over_has_ended",
            ),
        ]


class Piece(models.Model):
    """One reading on one test piece. `corrections`: how many corrections of this axis came before it."""

    work = models.ForeignKey(AxisWork, on_delete=models.PROTECT, related_name="pieces")
    n = models.PositiveSmallIntegerField()
    stage = models.CharField(max_length=12, choices=chosen(Stage))
    corrections = models.PositiveSmallIntegerField()
    nominal = models.CharField(max_length=MEASURE)
    measured = models.CharField(max_length=MEASURE)
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["work", "n"], name="piece_has_its_place"),
            CheckConstraint(
                condition=Q(stage=Stage.AS_FOUND.value, corrections=0)
                | Q(stage=Stage.AS_LEFT.value, corrections__gte=1),
                name="a_piece_is_as_left_after_a_correction",
            ),
        ]


class Correction(models.Model):
    """A changed machine parameter, old and new value. `override`: why it was changed against the readings."""

    work = models.ForeignKey(AxisWork, on_delete=models.PROTECT, related_name="changes")
    n = models.PositiveSmallIntegerField()
    parameter = models.CharField(max_length=8, choices=chosen(Parameter))
    old = models.CharField(max_length=MEASURE)
    new = models.CharField(max_length=MEASURE)
    override = models.TextField(blank=True)
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["work", "n"], name="correction_has_its_place"),
            CheckConstraint(condition=~Q(old=F("new")), name="a_correction_changes_something"),
        ]
