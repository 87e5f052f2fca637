"""The permit's tables: what the ledger says, in rows that can be searched. No decisions: those are in rules.

Each child row is one small value of `rules/words.py`, field by field; `n` is its place in the permit's tuple.
store.py keeps both alike.
"""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Index, Q, UniqueConstraint

from permits.work.rules.words import BOX, DefectState, HaltKind, Phase, Position, Seen, Stage

REF = 8  # a person's reference; persons are named as the ledger names them, not by a key
CODE = 64  # a node's id in the plant file

OPEN_PHASES = [phase.value for phase in Phase if not phase.is_over]


def chosen(enum: type) -> list[tuple[str, str]]:
    return [(one.value, one.value) for one in enum]  # type: ignore[attr-defined]


class SitePolicy(models.Model):
    """A site's own numbers; see rules.words.Policy for what each is for."""

    site = models.OneToOneField("people.Site", on_delete=models.PROTECT, related_name="policy")
    clear_minutes = models.PositiveSmallIntegerField(default=10)
    permit_hours = models.PositiveSmallIntegerField(default=12)
    test_hours = models.PositiveSmallIntegerField(default=4)
    own_issue = models.BooleanField(default=False)
    recheck_minutes = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            CheckConstraint(
                condition=Q(clear_minutes__range=(1, 60)), name="a_confirmation_holds_1_to_60_minutes"
            ),
            CheckConstraint(condition=Q(permit_hours__range=(1, 72)), name="a_permit_runs_1_to_72_hours"),
            CheckConstraint(condition=Q(test_hours__range=(1, 24)), name="a_sanction_runs_1_to_24_hours"),
            CheckConstraint(
                condition=Q(recheck_minutes__range=(0, 1440)), name="a_store_is_read_again_within_a_day"
            ),
        ]


class SiteStanding(models.Model):
    """What an officer declared for the whole site; see rules.state.Site. No row: nothing was ever declared.

    `emergency`, `paper`: {"by", "at", "why"} of rules.words.Declared, or null.
    """

    site = models.OneToOneField("people.Site", on_delete=models.PROTECT, related_name="standing")
    emergency = models.JSONField(null=True)
    paper = models.JSONField(null=True)


class Untold(models.Model):
    """A lock of this person was taken off while they were absent, and nobody has told them yet.

    The row goes when they are told: the ledger keeps both.
    """

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="+")
    person = models.CharField(max_length=REF)
    permit = models.CharField(max_length=16)

    class Meta:
        constraints = [UniqueConstraint(fields=["site", "person"], name="a_person_is_told_once")]


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


class Part(models.Model):
    """One thing of a permit, in order."""

    n = models.PositiveIntegerField()

    class Meta:
        abstract = True


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


class Acknowledgement(Part):
    permit = models.ForeignKey(Permit, on_delete=models.PROTECT, related_name="acknowledgements")
    notice = models.PositiveIntegerField()
    person = models.CharField(max_length=REF)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["permit", "n"], name="acknowledgement_has_its_place"),
            UniqueConstraint(
                fields=["permit", "notice", "person"], name="one_acknowledges_a_notice_once"
            ),
        ]


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
