"""One calibration at the crosscut cell, brought to a stage by commands at a real pace: for tests of pages."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import takewhile
from typing import Any
from uuid import uuid4

from django.utils.timezone import now

from permits.ledger.models import Entry, Head
from permits.people.models import Person, Site
from permits.work import queries
from permits.work.actions import perform
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules.isolating import measure_demanded
from permits.work.rules.proving import test_of as proof_of
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding, Position, Reading, Seen
from tests.kept import STILL_NEW_S, kept

ZONES = ("C1-INFEED", "C1-CHAMBER", "C1-OUTFEED")
FREED = ("C1-QB1", "C1-QB2", "C1-QB3")
STAGES = (
    "asked", "issued", "accepted", "told", "locked", "released", "proven", "signed_on", "checked",
    "signed_off", "sanctioned", "begun", "unlocked", "cleared", "live",
)  # fmt: skip
FRESH = ("cleared", "cleared_again")  # what is confirmed clear has to be so now
BACK = ("handed_back", "locks_off", "told_again", "cleared_again", "reenergised", "holder_closed", "closed")


class TheJob:
    """`to("told")` goes through every stage up to that one; stages of BACK follow from signed_off.

    `is_kept`: the first way to a stage is remembered for the next job.
    """

    def __init__(self, site: Site, *, begins: datetime, is_kept: bool = False) -> None:
        self.site, self.at, self.id, self.stage, self.is_kept = site, begins, "", "", is_kept
        self.padlock, self.finds = 0, ""  # what the machine check finds worn

    # ── what has come of it ─────────────────────────────────────────────────────────────────────────────

    @property
    def url(self) -> str:
        return f"/permits/{self.id}/"

    @property
    def row(self) -> Permit:
        return Permit.objects.get(site=self.site, reference=self.id)

    @property
    def seen(self) -> int:
        return self.row.last_entry

    def look(self) -> queries.Look:
        found = queries.look(self.site, self.id, now())
        assert found is not None
        return found

    def planned(self, do: str) -> list[str]:
        """The plan's points to lock, or to release, in its order."""
        return [point for what, point in self.look().permit.plan_order if what == do]

    def entries(self) -> list[Entry]:
        return list(Entry.objects.filter(head=self.site.head_id).order_by("number"))

    def typed(self, **fields: Any) -> dict[str, Any]:
        """What the browser posts with these fields, from a page that is up to date."""
        return {"key": str(uuid4()), "seen": queries.last_entry(self.site), **fields}

    # ── its stages ──────────────────────────────────────────────────────────────────────────────────────

    def to(self, stage: str) -> TheJob:
        order = (*STAGES[: STAGES.index("signed_off") + 1], *BACK) if stage in BACK else STAGES
        begun = order.index(self.stage) + 1 if self.stage else 0
        ahead = order[begun : order.index(stage) + 1]
        if self.is_kept and not self.stage:
            long_true = tuple(takewhile(lambda name: name not in FRESH, ahead))
            way = f"the job at {long_true[-1]}, finds {self.finds!r}"
            self.__dict__.update(kept(way, lambda: vars(self.through(long_true)), good_for=STILL_NEW_S))
            ahead = ahead[len(long_true) :]
        return self.through(ahead)

    def through(self, stages: Iterable[str]) -> TheJob:
        for name in stages:
            getattr(self, name)()
            self.stage = name
        return self

    def do(self, made: type, by: str, *, minutes: float = 1, **fields: Any) -> None:
        self.at += timedelta(minutes=minutes)
        last = Head.objects.values_list("last_at", flat=True).get(pk=self.site.head_id)
        person = Person.objects.get(sign_in=by)
        at = max(self.at, last or self.at)  # pages are sent now, and the job begins before
        command = made(permit=self.id, by=person.ref, at=at, **fields)
        perform(site=self.site, command=command, by=person.author)

    def asked(self) -> None:
        begins = self.at
        self.do(
            c.RequestPermit, "odo", zones=ZONES, kind_of_work="Calibration", reason="Boards run 2 mm long",
            starts_at=begins, ends_at=begins + timedelta(hours=10),
        )  # fmt: skip
        self.id = Permit.objects.filter(site=self.site).latest("number").reference

    def issued(self) -> None:
        crew = (Person.objects.get(sign_in="wim").ref,)
        self.do(c.IssuePermit, "szczesny", holder=Person.objects.get(sign_in="odo").ref, crew=crew)

    def accepted(self) -> None:
        self.do(c.AcceptPermit, "odo", knows_energies=True, knows_hazards=True, knows_control=True)

    def told(self) -> None:
        self.do(c.TellAffected, "odo", whom="operators of lines 3 and 4", how="in person", covers_tests=True)

    def locked(self) -> None:
        for point in self.planned("lock"):
            self.padlock += 1
            lock = {"padlock": f"O-{self.padlock}", "tag": f"T-{self.padlock}", "position": Position.OFF}
            if measure := measure_demanded(self.look().site, point):
                lock |= {"padlock": f"T-{self.padlock}", "tag": "", "measure_done": f"Done: {measure}"}
            self.do(c.ApplyLock, "odo", point=point, **lock)

    def released(self) -> None:
        for point in self.planned("release"):
            self.padlock += 1
            lock = {"padlock": f"O-{self.padlock}", "tag": f"T-{self.padlock}"}
            self.do(c.ReleaseStore, "odo", point=point, method="as on its plate", **lock)

    def proven(self) -> None:
        graph = self.look().site.graph
        points = tuple(
            c.PointReadings(
                point=point,
                readings=tuple(
                    Reading(Decimal(0), proof_of(graph[point]).unit, pair)
                    for pair in proof_of(graph[point]).combinations or ("",)
                ),
            )
            for point in self.look().permit.points
        )
        self.do(
            c.VerifyMachine, "odo", minutes=20, machine="C1", points=points, instrument="VT-07",
            proven_before=True, proven_after=True,
        )  # fmt: skip

    def signed_on(self) -> None:
        self.do(c.SignOnCrew, "odo", padlock="B-1")

    def checked(self) -> None:
        wrong = {"wear": self.finds} if self.finds else {}
        items = tuple(
            CheckItem(item, Finding.DEFECT if item in wrong else Finding.OK, wrong.get(item, ""))
            for item, _ in CHECK_ITEMS
        )
        self.do(c.RecordMachineCheck, "odo", items=items)

    def signed_off(self) -> None:
        self.do(c.SignOffCrew, "odo")

    def sanctioned(self) -> None:
        terms = {"limits": "Manual, one board at a time", "cycles": 3, "until": now() + timedelta(hours=1)}
        self.do(c.GiveSanction, "szczesny", points=FREED, **terms)

    def begun(self) -> None:
        self.do(c.BeginCycle, "odo", tools_out=True, guards_on=True)

    def unlocked(self) -> None:
        self.do(c.RemoveLocks, "odo", points=FREED)

    def cleared(self) -> None:
        self.at = now() - timedelta(minutes=4)
        self.do(c.ConfirmClear, "pia", areas=ZONES, how=Seen.SELF, one_place=True)

    def live(self) -> None:
        self.do(c.Ready, "odo", minutes=0.5)

    def another(self, zone: str, *, by: str = "ruben") -> str:
        """A second permit beside this one, asked for only; its reference."""
        ends = self.at + timedelta(hours=9)
        words = {"kind_of_work": "Cleaning", "reason": "Chips", "starts_at": self.at, "ends_at": ends}
        self.do(c.RequestPermit, by, zones=(zone,), **words)
        return Permit.objects.filter(site=self.site).latest("number").reference

    # ── and back to service ─────────────────────────────────────────────────────────────────────────────

    def handed_back(self) -> None:
        self.do(c.HandBack, "odo", machine_whole=True, guards_on=True, tools_out=True, people_out=True)

    def locks_off(self) -> None:
        self.do(c.RemoveLocks, "odo", points=self.look().permit.points)

    def told_again(self) -> None:
        self.do(c.TellAffected, "odo", whom="operators of lines 3 and 4", how="by radio")

    def cleared_again(self) -> None:
        self.cleared()

    def reenergised(self) -> None:
        self.do(c.Reenergise, "odo", minutes=0.5, visual_check=True)

    def holder_closed(self) -> None:
        self.do(c.SignClosed, "odo", minutes=0.5)

    def closed(self) -> None:
        self.do(c.SignClosed, "szczesny", minutes=0.5)
