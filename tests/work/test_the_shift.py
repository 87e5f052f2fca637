"""A shift as it is worked, through the pages: 06:00 to 14:00, four test cycles, every form and scan counted.

Odo holds the permit and has the phone; Hal helps and has none; Ola runs the line and keeps watch at the
outfeed; Maud issues from her desk, 400 m away. Eight points, two of them stores, three freed in each cycle.
An interaction is a submitted form or a scanned plate. The clock of the server is moved by hand.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest
from django.contrib.auth.hashers import make_password
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from permits.plant.actions import approve_procedure, draft_procedure, import_plant, issue_tags
from permits.plant.models import Node, Tag
from permits.plant.queries import machine_of
from permits.plant.rules.plantfile import Machine, PlantFile
from permits.records.replay import replay
from permits.work import queries
from permits.work.actions import perform
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules.decide import decide
from permits.work.rules.words import CHECK_ITEMS, Phase
from tests.factories_people import PIN, PersonFactory, Role, SiteFactory
from tests.factories_plant import CLERK, WRITTEN
from tests.work.reading_pages import page_of, send, text_of
from tests.work.small_plant import SIX, at
from tests.work.small_site import BEFORE, someone
from tests.work.test_rules_story import cell_of_eight_points

CELL = cell_of_eight_points()
FREED = ("Q1", "Q2", "Q3")
CYCLES = 4


@dataclass
class Clock:
    """The server's clock, moved by hand."""

    now: datetime = SIX

    def __call__(self) -> datetime:
        return self.now

    def pass_minutes(self, minutes: float) -> None:
        self.now += timedelta(minutes=minutes)


@pytest.fixture
def clock(monkeypatch) -> Clock:
    """Wherever the product asks what time it is, and where the sessions do, this clock answers."""
    reverse("work:home")  # every page's module is loaded before its clock is changed
    moved, real = Clock(), timezone.now
    for module in list(sys.modules.values()):
        if getattr(module, "__name__", "").startswith("permits.") and getattr(module, "now", None) is real:
            monkeypatch.setattr(module, "now", moved)
    monkeypatch.setattr(timezone, "now", moved)
    return moved


@dataclass
class Shift:
    """The shift's people at their devices; what they send and scan is counted, and the PINs typed."""

    clock: Clock
    site: object
    people: dict
    phones: dict[str, Client] = field(default_factory=dict)
    permit: str = ""
    interactions: int = 0
    pins: dict[str, int] = field(default_factory=dict)

    def phone(self, who: str) -> Client:
        if who not in self.phones:
            self.phones[who] = Client()
            self.phones[who].force_login(self.people[who])
        return self.phones[who]

    def sends(self, who: str, page: str, *, after: float = 1, helper: str = "", **fields):
        """One form sent on this person's phone, `after` so many minutes.

        `helper` acts on it with their own name and PIN.
        """
        self.clock.pass_minutes(after)
        if helper:
            fields |= {"sign_in": helper, "pin": PIN}
        if "pin" in fields:
            self.pins[helper or who] = self.pins.get(helper or who, 0) + 1
        answer = send(self.phone(who), f"/permits/{self.permit}/{page}/", **fields)
        assert answer.status_code == 302, (page, text_of(answer))
        self.interactions += 1

    def scans(self, who: str, point: str, *, minutes: float = 1) -> None:
        """One scanned plate, and the way on that the phone then shows."""
        self.clock.pass_minutes(minutes)
        plate = Tag.objects.get(site=self.site, node__code=point, withdrawn_at=None).token
        shown = self.phone(who).get(f"/T/{plate}")
        ways = [shown.context["step"], *shown.context["more"]]
        leads_on = [way.url for way in ways if "code=" in way.url]
        assert leads_on, (point, text_of(shown))
        self.phone(who).get(leads_on[0])
        self.interactions += 1

    def locks(self, who: str, point: str, padlock: str) -> None:
        """At the point: its plate is scanned, and the form that opens is sent."""
        plate = Tag.objects.get(site=self.site, node__code=point, withdrawn_at=None).token
        self.scans(who, point)
        answer = send(
            self.phone(who), f"/permits/{self.permit}/lock/?code={plate}", padlock=padlock, tag=f"T{padlock}",
            position="off",
        )  # fmt: skip
        assert answer.status_code == 302, text_of(answer)
        self.interactions += 1

    def releases(self, who: str, point: str) -> None:
        plate = Tag.objects.get(site=self.site, node__code=point, withdrawn_at=None).token
        self.scans(who, point)
        answer = send(self.phone(who), f"/permits/{self.permit}/release/?code={plate}", method="as written")
        assert answer.status_code == 302, text_of(answer)
        self.interactions += 1

    def reads_everything(self, who: str, *, minutes: float) -> None:
        """All readings of the machine, zero, on one page; the tester is carried over."""
        self.clock.pass_minutes(minutes)
        url = f"/permits/{self.permit}/verify/CUT/"
        page = page_of(self.phone(who).get(url))
        read = {name: "0" for name in page.posts if name.startswith("r") and "_" in name}
        tester = page.posts["instrument"][0] or "VT-07"
        answer = self.phone(who).post(
            url, page.posts | read | {"instrument": tester, "proven_before": "on", "proven_after": "on"}
        )
        assert answer.status_code == 302, text_of(answer)
        self.interactions += 1

    def asks(self, made: type, who: str, **fields) -> None:
        """A command of the calibration job, whose own pages are another room's; it counts as a form."""
        self.clock.pass_minutes(1)
        person = self.people[who]
        asked = made(permit=self.permit, by=person.ref, at=self.clock.now, **fields)
        perform(site=self.site, command=asked, by=person.author)
        self.interactions += 1

    def reads_a_piece(self, who: str) -> None:
        """A test piece is read: its form is calibration's, which first asks whether one may be taken now."""
        self.clock.pass_minutes(5)
        asked = c.TakeReading(permit=self.permit, by=self.people[who].ref, at=self.clock.now, job=1)
        assert decide(queries.settled(self.site, self.clock.now), asked) == []
        self.interactions += 1

    @property
    def phase(self) -> Phase:
        found = queries.look(self.site, self.permit, self.clock.now)
        assert found is not None
        return found.permit.phase


@pytest.fixture
def shift(db, clock) -> Shift:
    site = SiteFactory(code="SHIFT", name="Shift works", timezone="UTC")
    described = PlantFile(
        plant="Shift works", code="SHIFT", machines=(Machine("CUT", "Cutting cell"),), graph=CELL.graph
    )
    import_plant(site=site, plant_file=described, by=CLERK, at=BEFORE)
    people = {name: someone(site, name) for name in ("maud", "odo", "hal", "ola", "sig")}
    for person in people.values():
        person.pin = make_password(PIN)
        person.save(update_fields=["pin"])
    author, approver = (PersonFactory(site=site, site__role=Role.OFFICER) for _ in range(2))
    zones = CELL.procedures["CUT"].zones
    drafted = draft_procedure(
        machine=machine_of(site, "CUT"), zones=zones, texts=WRITTEN, by=author, at=BEFORE
    )
    approve_procedure(procedure=drafted, by=approver, at=BEFORE)
    points = [node for node in Node.objects.filter(site=site) if node.is_point]
    issue_tags(site=site, nodes=points, by=CLERK, at=BEFORE)
    return Shift(clock, site, people)


def begin_the_shift(shift: Shift) -> None:
    """From the request at six to the first isolation, everyone out and the test sanctioned."""
    odo, hal = shift.people["odo"], shift.people["hal"]
    shift.permit = "P-1"
    window = {"starts_at": at(0), "ends_at": at(8 * 60)}
    words = {"kind_of_work": "calibration", "reason": "boards run 2 mm long"}
    asked = c.RequestPermit(by=odo.ref, at=shift.clock.now, zones=("IN",), **words, **window)
    perform(site=shift.site, command=asked, by=odo.author)
    shift.sends("maud", "issue", holder=odo.ref, crew=[hal.ref], pin=PIN)
    shift.sends("odo", "accept", knows_energies="on", knows_hazards="on", knows_control="on", pin=PIN)
    shift.sends("odo", "tell", whom="line 3", how="in person", covers_tests="on")
    for n in range(1, 7):
        shift.locks("odo", f"Q{n}", f"10{n}")
    for store in ("C1", "C2"):
        shift.releases("odo", store)
    shift.reads_everything("odo", minutes=10)
    assert shift.phase is Phase.ISOLATED
    shift.sends("odo", "sign-on", helper="hal", padlock="202")
    in_order = {item: "ok" for item, _ in CHECK_ITEMS}
    found = page_of(shift.phone("odo").get("/permits/P-1/check/")).offers
    in_order = {item: found[item][0] for item in in_order}
    shift.sends("odo", "check", helper="hal", after=20, **in_order)
    shift.sends(
        "maud", "sanction", points=list(FREED), limits="manual, one board at a time", cycles=str(CYCLES),
        minutes="235", pin=PIN,
    )  # fmt: skip


def run_a_cycle(shift: Shift, *, proves: bool) -> int:
    """From the helper's sign-off to their sign-on; returns how many interactions it took, of everyone.

    `proves`: fresh pieces are judged in this cycle. Each further test piece is one form more, of the job.
    """
    before = shift.interactions
    shift.sends("odo", "sign-off", helper="hal")
    shift.sends("odo", "begin-cycle", tools_out="on", guards_on="on")
    shift.sends("odo", "remove-locks", points=list(FREED), after=4)
    areas = page_of(shift.phone("ola").get("/permits/P-1/confirm-clear/")).offers["areas"]
    shift.sends("ola", "confirm-clear", areas=areas, how="seen", one_place="on", watching="on")
    shift.sends("odo", "ready", pin=PIN)
    shift.reads_a_piece("odo")
    if proves:
        shift.asks(c.ProveAxis, "odo", job=1, axis="stop")
    shift.clock.pass_minutes(12)
    for point in FREED:
        shift.scans("odo", point)
    page = page_of(shift.phone("odo").get("/permits/P-1/re-isolate/"))
    again = {name: "on" for name in page.offers if name.startswith("released")}
    again |= {name: "off" for name in page.offers if name.startswith("position")}
    shift.sends("odo", "re-isolate", **again)
    shift.reads_everything("odo", minutes=3)
    assert shift.phase is Phase.ISOLATED
    shift.sends("odo", "sign-on", helper="hal", padlock="202")
    return shift.interactions - before


def end_the_shift(shift: Shift) -> None:
    shift.sends("odo", "sign-off", helper="hal")
    shift.sends(
        "odo", "hand-back", machine_whole="on", guards_on="on", tools_out="on", people_out="on", pin=PIN
    )
    points = page_of(shift.phone("odo").get("/permits/P-1/remove-locks/")).offers["points"]
    shift.sends("odo", "remove-locks", points=points, after=8)
    shift.sends("odo", "tell", whom="line 3", how="in person")
    areas = page_of(shift.phone("ola").get("/permits/P-1/confirm-clear/")).offers["areas"]
    shift.sends("ola", "confirm-clear", areas=areas, how="seen", one_place="on")
    shift.sends("odo", "re-energise", visual_check="on")
    shift.sends("odo", "close", pin=PIN)
    shift.sends("maud", "close", pin=PIN)


def test_a_shift_with_four_cycles(shift, capsys):
    begin_the_shift(shift)
    shift.asks(c.OpenJob, "odo", machine="CUT")
    cycles = []
    for n in range(CYCLES):
        cycles.append(run_a_cycle(shift, proves=n % 2 == 1))
        if n % 2 == 0:
            shift.asks(c.CorrectAxis, "odo", job=1, axis="stop")
    shift.asks(c.CloseJob, "odo", job=1)
    end_the_shift(shift)
    assert shift.phase is Phase.CLOSED
    assert shift.clock.now <= at(8 * 60), "it is done by two in the afternoon"
    assert max(cycles) <= 14, cycles
    assert shift.pins["odo"] <= 7, shift.pins
    with capsys.disabled():
        print(
            f"\nthe shift: cycles of {cycles} interactions, {shift.interactions} in all, PINs {shift.pins}, "
            f"done at {shift.clock.now:%H:%M}"
        )
    row = Permit.objects.get(site=shift.site)
    assert row.in_service
    call_command("verify_ledger", verbosity=0)
    assert replay(shift.site).differences == []


def test_what_is_carried_over_between_cycles_and_what_is_done_again(shift):
    """Carried over: notice, machine check, tester and limits, the sanction's terms; every test is anew."""
    begin_the_shift(shift)
    shift.asks(c.OpenJob, "odo", machine="CUT")
    run_a_cycle(shift, proves=False)
    found = queries.look(shift.site, "P-1", shift.clock.now)
    assert found is not None
    p = found.permit
    assert (len(p.notices), len(p.checks), p.checked) == (1, 1, True)
    assert p.sanction is not None
    assert (p.sanction.cycle, p.sanction.cycles, p.sanction.points) == (1, CYCLES, FREED)
    tests = {point: [v for v in p.verifications if v.point == point] for point in p.points}
    assert all(len(made) == 2 and made[0].void_at and not made[1].void_at for made in tests.values())
    assert {v.instrument for made in tests.values() for v in made} == {"VT-07"}
    assert all(found.void_at for found in p.confirmations), "who goes in voids every word that it is clear"
