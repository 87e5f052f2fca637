"""Axes, instruments, jobs, pieces, corrections. Lengths are kept as typed, digits and unit, no floats."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from permits.calibration.rules.copies import Copy
from permits.calibration.rules.job import AxisState, Stage
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.parameters import Parameter
from permits.calibration.rules.policy import FINEST, Overdue
from permits.work.models import OPEN_PHASES, REF

MEASURE = 48  # "92 5/8 in", "-0.125 mm": see lengths.recorded
SHA256 = 64
UNITS = [unit.value for unit in Unit]


def chosen(enum: type) -> list[tuple[str, str]]:
    return [(one.value, one.value) for one in enum]  # type: ignore[attr-defined]


def both_or_neither(one: str, other: str, name: str) -> CheckConstraint:
    """Two texts are both there or both empty."""
    return CheckConstraint(
        condition=Q(**{one: "", other: ""}) | (~Q(**{one: ""}) & ~Q(**{other: ""})), name=name
    )


class MeasuringPolicy(models.Model):
    """How a site measures; see rules.policy.Policy for what each choice is for. No row: its defaults."""

    site = models.OneToOneField("people.Site", on_delete=models.PROTECT, related_name="measuring")
    lengths = models.CharField(max_length=4, choices=chosen(Unit))
    finest = models.PositiveSmallIntegerField()
    overdue = models.CharField(max_length=12, choices=chosen(Overdue))

    class Meta:
        constraints = [
            CheckConstraint(
                condition=Q(lengths__in=[Unit.MM.value, Unit.INCH.value]), name="a_site_measures_in_mm_or_in"
            ),
            CheckConstraint(condition=Q(finest__in=FINEST), name="finest_fraction_is_known"),
            CheckConstraint(condition=Q(overdue__in=[o.value for o in Overdue]), name="overdue_is_known"),
        ]


class Axis(models.Model):
    """An axis of a machine that can be corrected, in the officer's order (the angle axis first, as a rule).

    `nominal_from`, `nominal_to`: the sizes it cuts. The limits of offset and scale say what a correction may
    change, and how far; a parameter without limits is not to be changed. `instruments`: empty where any that
    reads the unit will do.
    """

    machine = models.ForeignKey("plant.Machine", on_delete=models.PROTECT, related_name="axes")
    code = models.CharField(max_length=32)
    name = models.CharField(max_length=120)
    order = models.PositiveSmallIntegerField()
    unit = models.CharField(max_length=4, choices=chosen(Unit))
    tolerance = models.CharField(max_length=MEASURE)
    nominal_from = models.CharField(max_length=MEASURE, blank=True, default="")
    nominal_to = models.CharField(max_length=MEASURE, blank=True, default="")
    offset_lowest = models.CharField(max_length=MEASURE, blank=True, default="")
    offset_highest = models.CharField(max_length=MEASURE, blank=True, default="")
    scale_lowest = models.CharField(max_length=MEASURE, blank=True, default="")
    scale_highest = models.CharField(max_length=MEASURE, blank=True, default="")
    instruments: models.ManyToManyField[Instrument, models.Model] = models.ManyToManyField(
        "Instrument", related_name="axes", blank=True
    )
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["machine", "code"],
                condition=Q(removed_at=None),
                name="one_live_axis_per_machine_and_code",
            ),
            UniqueConstraint(
                fields=["machine", "name"],
                condition=Q(removed_at=None),
                name="one_live_axis_per_machine_and_name",
            ),
            CheckConstraint(condition=~Q(code="") & ~Q(name=""), name="axis_has_code_and_name"),
            CheckConstraint(condition=Q(unit__in=UNITS), name="axis_unit_is_known"),
            both_or_neither("nominal_from", "nominal_to", "nominal_range_has_two_ends"),
            both_or_neither("offset_lowest", "offset_highest", "offset_limits_have_two_ends"),
            both_or_neither("scale_lowest", "scale_highest", "scale_limits_have_two_ends"),
        ]

    def __str__(self) -> str:
        return self.name


class Feature(models.Model):
    """A feature of the machine's test pieces, and how far it moves when an axis is off by one unit.

    `depends`: axis code → digits, in the feature's unit per unit of the axis ("1.2"); not named counts as 0.
    """

    machine = models.ForeignKey("plant.Machine", on_delete=models.PROTECT, related_name="features")
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=4, choices=chosen(Unit))
    depends = models.JSONField()
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["machine", "name"],
                condition=Q(removed_at=None),
                name="one_live_feature_per_machine_and_name",
            ),
            CheckConstraint(condition=~Q(name=""), name="feature_has_a_name"),
            CheckConstraint(condition=Q(unit__in=UNITS), name="feature_unit_is_known"),
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


class EarlierResult(models.Model):
    """A result from before this record was kept, entered from paper: what an axis was found at and left at.

    `as_left`: empty where nothing was adjusted. `source`: the book and page, or the file, that it comes from.
    """

    axis = models.ForeignKey(Axis, on_delete=models.PROTECT, related_name="earlier")
    on = models.DateField()
    as_found = models.CharField(max_length=MEASURE)
    as_left = models.CharField(max_length=MEASURE, blank=True)
    source = models.CharField(max_length=200)
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["axis", "on"], name="one_earlier_result_per_axis_and_day"),
            CheckConstraint(condition=~Q(source=""), name="earlier_result_has_a_source"),
        ]


class Job(models.Model):
    """What a calibration job measured and changed; `number` is its number within the permit.

    The copies of the settings: where each is, in words or as a file's name; digest and size of a file shown.
    """

    permit = models.ForeignKey("work.Permit", on_delete=models.PROTECT, related_name="calibration_jobs")
    number = models.PositiveSmallIntegerField()
    machine = models.ForeignKey("plant.Machine", on_delete=models.PROTECT, related_name="jobs")
    settings_before = models.CharField(max_length=200)
    settings_before_sha256 = models.CharField(max_length=SHA256, blank=True, default="")
    settings_before_size = models.BigIntegerField(null=True, blank=True)
    settings_after = models.CharField(max_length=200, blank=True)
    settings_after_sha256 = models.CharField(max_length=SHA256, blank=True, default="")
    settings_after_size = models.BigIntegerField(null=True, blank=True)
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
            CheckConstraint(
                condition=Q(closed_at=None) | ~Q(settings_after=""), name="closed_job_has_settings_after"
            ),
        ]

    @property
    def before(self) -> Copy:
        return Copy(self.settings_before, self.settings_before_sha256, self.settings_before_size)

    @property
    def after(self) -> Copy:
        return Copy(self.settings_after, self.settings_after_sha256, self.settings_after_size)


class PreCheck(models.Model):
    """What the features of first pieces said before an axis was opened, as measured and as it was asked.

    `features`: [{feature, deviation, standard_uncertainty, depends: {axis code: digits}}, …];
    `axes`: [{axis (its code), name}, …] in the officer's order. Both as the entry has them.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="pre_checks")
    n = models.PositiveSmallIntegerField()
    features = models.JSONField()
    axes = models.JSONField()
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()

    class Meta:
        constraints = [UniqueConstraint(fields=["job", "n"], name="pre_check_has_its_place")]


class AxisWorkQuerySet(models.QuerySet["AxisWork"]):
    def at_work(self) -> AxisWorkQuerySet:
        """Open, and its permit too: a permit closed as not proven leaves its axis as it is, for ever."""
        return self.filter(state=AxisState.OPEN.value, job__permit__phase__in=OPEN_PHASES)


class AxisWork(models.Model):
    """The work on one axis in one job; only one is open at a time.

    Tolerance and the instrument's certificate are kept as they were when the axis was opened: what was
    decided then does not change with a new certificate. `owed_at_opening`: the permit since whose closing the
    axis owed its as-left check then, or ""; `proven_as_found`: it was closed uncorrected, and that was the
    check (see rules.owing).
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="works")
    axis = models.ForeignKey(Axis, on_delete=models.PROTECT, related_name="works")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="works")
    tolerance = models.CharField(max_length=MEASURE)
    expanded_uncertainty = models.CharField(max_length=MEASURE)
    coverage_factor = models.DecimalField(max_digits=6, decimal_places=3)
    resolution = models.CharField(max_length=MEASURE)
    state = models.CharField(max_length=12, choices=chosen(AxisState))
    corrections = models.PositiveSmallIntegerField(default=0)
    proven = models.PositiveSmallIntegerField(default=0)
    owed_at_opening = models.CharField(max_length=16, blank=True, default="")
    proven_as_found = models.BooleanField(default=False)
    opened_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = AxisWorkQuerySet.as_manager()

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
            CheckConstraint(
                condition=Q(proven_as_found=False)
                | (Q(state=AxisState.CLOSED.value, corrections=0) & ~Q(owed_at_opening="")),
                name="proven_as_found_is_owed_uncorrected_and_closed",
            ),
        ]


class Piece(models.Model):
    """One reading on one test piece. `corrections`: how many corrections of this axis came before it.

    `overdue`: the instrument was out of date, and the site takes that down instead of refusing it.
    `struck_at`: the reading was entered wrong and counts for nothing; `struck_why` says what was wrong.
    """

    work = models.ForeignKey(AxisWork, on_delete=models.PROTECT, related_name="pieces")
    n = models.PositiveSmallIntegerField()
    stage = models.CharField(max_length=12, choices=chosen(Stage))
    corrections = models.PositiveSmallIntegerField()
    nominal = models.CharField(max_length=MEASURE)
    measured = models.CharField(max_length=MEASURE)
    overdue = models.BooleanField(default=False)
    by = models.CharField(max_length=REF)
    at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_why = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        constraints = [
            UniqueConstraint(fields=["work", "n"], name="piece_has_its_place"),
            CheckConstraint(
                condition=Q(struck_at=None, struck_why="") | (Q(struck_at__isnull=False) & ~Q(struck_why="")),
                name="a_struck_piece_says_why",
            ),
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
