"""What belongs to a site as a whole: its numbers, what it is under, who is still to be told."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from permits.work.models.columns import CODE, REF


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
        constraints = [
            UniqueConstraint(fields=["site", "person", "permit"], name="a_person_is_told_of_a_permit_once")
        ]


class OutOfUse(models.Model):
    """A machine that is out of use, and what was left open on it; see rules.words.OutOfUse.

    The row goes when it is proven: the ledger keeps both.
    """

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="+")
    machine = models.CharField(max_length=CODE)
    permit = models.CharField(max_length=16)
    axes = models.JSONField()
    defects = models.JSONField()
    any_axis = models.BooleanField()

    class Meta:
        constraints = [
            UniqueConstraint(fields=["site", "machine"], name="a_machine_is_out_of_use_once"),
        ]
