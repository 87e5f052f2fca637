"""The plant's tables: machines, energy nodes, links, procedures, tags. No decisions: those are in rules."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from permits.plant.rules.energy import Grade, Kind, Medium
from permits.plant.rules.noderows import LONGEST_ID
from permits.plant.rules.procedures import State

_LIVE = Q(removed_at=None)


class PlantState(models.Model):
    """Which version of its energy graph a site has, and what belongs to the plant as a whole.

    `digest`: SHA-256 of the canonical plant file (`store.digest_of`). It names what the rows say, so a
    compiled graph can be kept under it. As in the plant file: `demands`, the least grade by medium;
    `tag_out`, whether a tag with its extra measure may stand for a lock where no lock fits; `hazard_lines`,
    the lines above which stored energy can hurt that the site drew tighter than the published ones.
    """

    site = models.OneToOneField("people.Site", on_delete=models.PROTECT, related_name="plant_state")
    version = models.PositiveBigIntegerField(default=0)
    digest = models.CharField(max_length=64)
    plant = models.CharField(max_length=120)
    note = models.TextField(blank=True)
    demands = models.JSONField(default=dict, blank=True)
    tag_out = models.BooleanField(default=False)
    hazard_lines = models.JSONField(default=dict, blank=True)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [CheckConstraint(condition=Q(version__gte=1), name="plant_version_starts_at_1")]


class LiveQuerySet(models.QuerySet[Any]):
    """Rows that may have been taken out of the plant and are kept for what was written about them."""

    def live(self) -> LiveQuerySet:
        return self.filter(removed_at=None)


class Machine(models.Model):
    """A machine of a site. `code` is its id in the plant file."""

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="machines")
    code = models.CharField(max_length=LONGEST_ID)
    name = models.CharField(max_length=120)
    designation = models.CharField(max_length=120, blank=True)
    place = models.CharField(max_length=200, blank=True)
    hazards = models.TextField(blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = LiveQuerySet.as_manager()

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["site", "code"], condition=_LIVE, name="one_live_machine_per_site_and_code"
            ),
            CheckConstraint(condition=~Q(code=""), name="machine_has_a_code"),
            CheckConstraint(condition=~Q(name=""), name="machine_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def about(self) -> str:
        """How the ledger calls it."""
        return f"machine:{self.code}"


class Node(models.Model):
    """A node of a site's energy graph. `code` is its id in the plant file and in the graph.

    `lockable` is what the plant file says; whether it counts as isolation is said by the graph as demanded
    (`store.graph_of`). `test`, `release`, `physics` and `tag_only` are the objects of the plant file;
    `rules.energy.Node` says what every column means.
    """

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="nodes")
    code = models.CharField(max_length=LONGEST_ID)
    kind = models.CharField(max_length=16, choices=[(kind.value, kind.value) for kind in Kind])
    label = models.CharField(max_length=120, blank=True)
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, related_name="nodes", null=True, blank=True
    )
    effort = models.PositiveBigIntegerField(default=1)
    lockable = models.BooleanField(default=True)
    releasable = models.BooleanField(default=True)
    sequence = models.IntegerField(default=0)
    designation = models.CharField(max_length=120, blank=True)
    place = models.CharField(max_length=200, blank=True)
    medium = models.CharField(
        max_length=16, blank=True, choices=[(medium.value, medium.value) for medium in Medium]
    )
    magnitude = models.CharField(max_length=120, blank=True)
    device = models.CharField(max_length=120, blank=True)
    test = models.JSONField(null=True, blank=True)
    release = models.JSONField(null=True, blank=True)
    physics = models.JSONField(null=True, blank=True)
    danger_area = models.BooleanField(default=False)
    outfeed = models.BooleanField(default=False)
    grade = models.CharField(
        max_length=16, blank=True, choices=[(grade.value, grade.value) for grade in Grade], default=""
    )
    out_of_service = models.BooleanField(default=False)
    tag_only = models.JSONField(null=True, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = LiveQuerySet.as_manager()

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["site", "code"], condition=_LIVE, name="one_live_node_per_site_and_code"
            ),
            CheckConstraint(condition=~Q(code=""), name="node_has_a_code"),
            CheckConstraint(
                condition=Q(kind__in=[k.value for k in Kind]), name="node_kind_is_one_of_the_five"
            ),
            CheckConstraint(
                condition=Q(medium__in=["", *(m.value for m in Medium)]),
                name="node_medium_is_a_known_one_or_none",
            ),
            CheckConstraint(condition=Q(effort__gte=1, effort__lt=2**53), name="node_effort_is_positive"),
            CheckConstraint(
                condition=Q(kind=Kind.ZONE.value) | Q(danger_area=False, outfeed=False),
                name="only_a_zone_is_a_danger_area_or_an_outfeed",
            ),
            CheckConstraint(
                condition=Q(kind__in=[Kind.ISOLATOR.value, Kind.STORE.value]) | Q(test__isnull=True),
                name="only_a_point_has_a_test",
            ),
            CheckConstraint(
                condition=Q(kind=Kind.STORE.value) | Q(release__isnull=True),
                name="only_a_store_has_a_release",
            ),
            CheckConstraint(
                condition=Q(kind=Kind.STORE.value) | Q(physics__isnull=True),
                name="only_a_store_has_physics",
            ),
            CheckConstraint(
                condition=Q(grade__in=["", *(g.value for g in Grade)]),
                name="node_grade_is_a_known_one_or_none",
            ),
            CheckConstraint(
                condition=Q(kind=Kind.ISOLATOR.value)
                | Q(grade="", out_of_service=False, tag_only__isnull=True),
                name="only_an_isolator_is_graded_or_out_of_service",
            ),
            CheckConstraint(
                condition=Q(lockable=False) | Q(tag_only__isnull=True),
                name="only_a_point_that_takes_no_lock_is_tag_only",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """What a person calls it: its label, or its code where it has none."""
        return self.label or self.code

    @property
    def is_point(self) -> bool:
        """An isolator or a store: it carries a tag."""
        return self.kind in (Kind.ISOLATOR.value, Kind.STORE.value)

    @property
    def about(self) -> str:
        """How the ledger calls it."""
        return f"point:{self.code}" if self.is_point else f"node:{self.code}"


class Link(models.Model):
    """Energy passes from one node to another of the same site, and back as well where `both` is set.

    Rows are deleted when a link goes: nothing refers to one, and the ledger's entry keeps what it was.
    """

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="links")
    source = models.ForeignKey(Node, on_delete=models.PROTECT, related_name="links_out")
    target = models.ForeignKey(Node, on_delete=models.PROTECT, related_name="links_in")
    both = models.BooleanField(default=False)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["source", "target"], name="one_link_per_source_and_target"),
            CheckConstraint(condition=~Q(source=F("target")), name="link_joins_two_different_nodes"),
        ]


class Procedure(models.Model):
    """One revision of a machine's written energy-control procedure, with the plan it was written for.

    `zones`, `lock` and `release` are lists of node codes, `order` a list of {"do", "point"}. `flaws` is empty
    while the plan isolates the zones; since a change of the plant ended that it lists {"id", "path"}: a zone
    with the path by which energy reaches it, or with no path a zone or point that is gone. `keep_live` are
    the nodes that have to stay live; one that does not is a flaw as well (`rules.procedures.as_stored`).
    `choice`: null where the plan is the computed one, else {"pinned", "forbidden"}, lists of node codes: what
    the officer who chose the plan asked for.
    """

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="procedures")
    revision = models.PositiveIntegerField()
    state = models.CharField(max_length=16, choices=[(state.value, state.value) for state in State])
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="procedures_written"
    )
    written_at = models.DateTimeField()
    approver = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="procedures_approved",
        null=True,
        blank=True,
    )
    approved_at = models.DateTimeField(null=True, blank=True)
    zones = models.JSONField()
    lock = models.JSONField()
    release = models.JSONField()
    order = models.JSONField()
    effort = models.PositiveBigIntegerField()
    flaws = models.JSONField(default=list, blank=True)
    keep_live = models.JSONField(default=list, blank=True)
    choice = models.JSONField(null=True, blank=True)
    shutdown = models.TextField(blank=True)
    isolation = models.TextField(blank=True)
    release_text = models.TextField(blank=True)
    verification = models.TextField(blank=True)
    restoration = models.TextField(blank=True)
    local_rules = models.TextField(blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["machine", "revision"], name="one_procedure_per_machine_and_revision"),
            UniqueConstraint(
                fields=["machine"],
                condition=Q(state=State.APPROVED.value),
                name="one_approved_procedure_per_machine",
            ),
            CheckConstraint(condition=Q(revision__gte=1), name="procedure_revisions_count_from_1"),
            CheckConstraint(
                condition=Q(state__in=[s.value for s in State]), name="procedure_state_is_one_of_the_three"
            ),
            CheckConstraint(
                condition=Q(state=State.DRAFT.value, approver=None, approved_at=None)
                | (~Q(state=State.DRAFT.value) & Q(approver__isnull=False, approved_at__isnull=False)),
                name="procedure_names_its_approver_once_approved",
            ),
            CheckConstraint(
                condition=Q(approver=None) | ~Q(approver=F("author")),
                name="procedure_is_not_approved_by_its_author",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.machine.name}, revision {self.revision}"

    @property
    def holds(self) -> bool:
        """Approved, and its plan still isolates its zones: a permit may be issued from it."""
        return self.state == State.APPROVED.value and not self.flaws

    @property
    def about(self) -> str:
        """How the ledger calls it."""
        return f"procedure:{self.machine.code}/{self.revision}"


class Tag(models.Model):
    """A printed code that leads to a point. Issued anew, the earlier one is withdrawn and still found."""

    site = models.ForeignKey("people.Site", on_delete=models.PROTECT, related_name="tags")
    node = models.ForeignKey(Node, on_delete=models.PROTECT, related_name="tags")
    token = models.CharField(max_length=16, unique=True)
    short_code = models.CharField(max_length=7)
    reissue = models.PositiveIntegerField(default=0)
    issued_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            UniqueConstraint(fields=["node"], condition=Q(withdrawn_at=None), name="one_live_tag_per_node"),
            UniqueConstraint(fields=["site", "short_code"], name="one_tag_per_site_and_short_code"),
            UniqueConstraint(fields=["node", "reissue"], name="one_tag_per_node_and_reissue"),
            CheckConstraint(
                condition=Q(withdrawn_at=None) | Q(withdrawn_at__gte=F("issued_at")),
                name="tag_is_withdrawn_after_it_is_issued",
            ),
            CheckConstraint(
                condition=~Q(token="") & ~Q(short_code=""), name="tag_has_a_token_and_a_short_code"
            ),
        ]

    @property
    def about(self) -> str:
        """How the ledger calls it."""
        return f"tag:{self.short_code}"
