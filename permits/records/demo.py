"""The invented plant, made ready to try: plant, people, approved procedures, tags, one permit at work."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

from permits.calibration import actions as calibration
from permits.calibration.actions import Who
from permits.calibration.models import Axis, Instrument
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.parameters import Parameter, range_from_record
from permits.people.actions import SETUP, add_site, load_people
from permits.people.models import Person, Site
from permits.plant import actions as plant_actions
from permits.plant import queries as plant
from permits.plant.rules import plantfile
from permits.work.actions import perform
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules.proving import test_of
from permits.work.rules.words import Position, Reading
from permits.work.store import load

PLANT = "quillfen.json"
PEOPLE = "quillfen-people.json"

PROCEDURE = {
    "shutdown": (
        "Finish the running part. Stop in automatic, clear the line, park the axes, wait for standstill."
    ),
    "isolation": "Lock the points in the plan's order, each with your own padlock and a danger tag.",
    "release_text": "Release every store as its plate says. Keep props, pins and bleeds locked.",
    "verification": (
        "Prove the tester, test every point at the point of work, prove the tester again. "
        "Then try the controls."
    ),
    "restoration": (
        "Tools and people out, guards on. Locks off by their owners, in the reverse order. "
        "Tell everyone, look, start."
    ),
    "local_rules": (
        "The works' own energy-control procedure and the national rules come first. "
        "Invented for this demonstration."
    ),
}


@dataclass(frozen=True, slots=True)
class AxisToDescribe:
    """Ranges are "from, to"; `instruments`: the numbers of those that may read it."""

    code: str
    name: str
    tolerance: str
    nominal: tuple[str, str]
    offset: tuple[str, str]
    scale: tuple[str, str] | None = None
    instruments: tuple[str, ...] = ()


AXES = (
    AxisToDescribe(
        "angle", "Saw angle", "0.15 deg", ("0 deg", "60 deg"), ("-3 deg", "3 deg"), instruments=("DP-11",)
    ),
    AxisToDescribe(
        "length-1", "Length, short system", "0.5 mm", ("150 mm", "1500 mm"), ("-25 mm", "25 mm"),
        ("0.98", "1.02"), ("ST-03",),
    ),
    AxisToDescribe(
        "length-2", "Length, long system", "1 mm", ("1000 mm", "4900 mm"), ("-25 mm", "25 mm"),
        ("0.98", "1.02"), ("ST-03",),
    ),
    AxisToDescribe("height", "Height of cut", "0.5 mm", ("30 mm", "300 mm"), ("-10 mm", "10 mm")),
)  # fmt: skip
INSTRUMENTS = (
    ("DP-11", "Digital protractor", "0.05 deg", "0.01 deg"),
    ("ST-03", "Steel tape, 10 m, class I", "0.1 mm", "0.05 mm"),
    ("CP-20", "Digital caliper, 300 mm", "0.04 mm", "0.01 mm"),
)
FEATURES = (
    ("Squareness across 89 mm", "mm", {"angle": "1.55"}),
    ("Length, 1200 piece", "mm", {"length-1": "1", "angle": "0.4"}),
    ("Length, 2440 piece", "mm", {"length-2": "1", "angle": "0.4"}),
    ("Height, 235 piece", "mm", {"height": "1"}),
)
INVENTED = "invented for this demonstration"
EARLIER = {
    "length-1": (
        (330, "0.08", ""), (302, "0.05", ""), (275, "0.16", ""), (246, "0.12", ""), (219, "0.21", ""),
        (190, "0.27", "0.02"), (163, "0.06", ""), (134, "0.15", ""), (107, "0.13", ""), (79, "0.24", ""),
        (51, "0.29", ""), (24, "0.34", ""),
    ),
    "angle": (
        (328, "0.02", ""), (273, "-0.04", ""), (217, "0.05", ""), (161, "-0.01", ""), (105, "0.03", ""),
        (49, "0.00", ""),
    ),
}  # fmt: skip
"""Days before today, mean deviation as found, and as left ("" where nothing was adjusted)."""


@dataclass(frozen=True, slots=True)
class SignIn:
    """Who can sign in to the demonstration; never to a real plant."""

    name: str
    sign_in: str
    password: str
    pin: str
    note: str


def prepare(folder: Path, *, at: datetime) -> list[SignIn]:
    """Load the invented plant where it is not loaded yet, and say who can sign in. Safe to run again."""
    earlier = at - timedelta(hours=2)  # the plant was described before the work next door began
    people = json.loads((folder / PEOPLE).read_text(encoding="utf-8"))
    parsed = plantfile.parse((folder / PLANT).read_text(encoding="utf-8"))
    site = Site.objects.filter(code=parsed.code).first() or add_site(
        code=parsed.code, name=parsed.plant, timezone="Europe/London", by=SETUP, at=earlier
    )
    plant_actions.import_plant(site=site, plant_file=parsed, by=SETUP, at=earlier)
    load_people(site, people, SETUP, earlier)
    approve_procedures(site, earlier)
    issue_tags(site, earlier)
    describe_axes(site, earlier)
    if not Permit.objects.filter(site=site).exists():
        open_neighbours_permit(site, at)
    return [
        SignIn(one["name"], one["sign_in"], one["password"], one["pin"], one.get("note", ""))
        for one in people["people"]
    ]


def approve_procedures(site: Site, at: datetime) -> None:
    """One approved procedure a machine, written by one officer and approved by the other."""
    author, approver = Person.objects.get(sign_in="maud"), Person.objects.get(sign_in="torvald")
    graph = load(site).graph
    for machine in plant.machines(site):
        if plant.approved_procedure(machine) is None:
            zones = [zone.id for zone in graph.zones_of(machine.code)]
            drafted = plant_actions.draft_procedure(
                machine=machine, zones=zones, texts=PROCEDURE, by=author, at=at
            )
            plant_actions.approve_procedure(procedure=drafted, by=approver, at=at)


def issue_tags(site: Site, at: datetime) -> None:
    bare = [point.node for point in plant.points(site) if point.tag is None]
    if bare:
        by = Person.objects.get(sign_in="maud").author
        plant_actions.issue_tags(site=site, nodes=bare, by=by, at=at)


def describe_axes(site: Site, at: datetime) -> None:
    """The crosscut cell's axes, the angle axis first (common practice), and what pieces are measured with."""
    if Instrument.objects.filter(site=site).exists():
        return
    who = Who(by=Person.objects.get(sign_in="maud").author, at=at)
    cell = plant.machine_of(site, "C1")
    for number, name, uncertainty, resolution in INSTRUMENTS:
        calibration.save_instrument(
            site=site, number=number, name=name, expanded_uncertainty=from_record(uncertainty),
            coverage_factor=Decimal(2), resolution=from_record(resolution),
            due_on=(at + timedelta(days=180)).date(), who=who,
        )  # fmt: skip
    for order, one in enumerate(AXES, start=1):
        ranges = {Parameter.OFFSET: range_from_record(*one.offset)}
        if one.scale is not None:
            ranges[Parameter.SCALE] = range_from_record(*one.scale)
        calibration.save_axis(
            machine=cell, code=one.code, name=one.name, order=order, tolerance=from_record(one.tolerance),
            nominal=range_from_record(*one.nominal), ranges={k: v for k, v in ranges.items() if v},
            instruments=list(Instrument.objects.filter(site=site, number__in=one.instruments)), who=who,
        )  # fmt: skip
    for name, unit, depends in FEATURES:
        calibration.save_feature(
            machine=cell, name=name, unit=Unit(unit), digits=depends, who=who,
            depends={axis: Fraction(digits) for axis, digits in depends.items()},
        )  # fmt: skip
    for axis in Axis.objects.filter(machine=cell, code__in=EARLIER):
        for days, found, left in EARLIER[axis.code]:
            calibration.enter_earlier(
                axis=axis, on=(at - timedelta(days=days)).date(), source=INVENTED, who=who,
                as_found=from_record(f"{found} {axis.unit}"),
                as_left=from_record(f"{left} {axis.unit}") if left else None,
            )  # fmt: skip


def open_neighbours_permit(site: Site, at: datetime) -> None:
    """Someone is at work next door: on the transfer that the crosscut cell's outfeed conveyor feeds."""
    for command in neighbours_commands(site, at):
        person = Person.objects.get(ref=command.by)
        perform(site=site, command=command, by=person.author)


def neighbours_commands(site: Site, at: datetime) -> Iterator[c.Command]:
    """Eleni's permit on the stacker's transfer, from request to signed on, paced over the last hour."""
    eleni = Person.objects.get(sign_in="eleni").ref
    issuer = Person.objects.get(sign_in="szczesny").ref
    minute = Clock(at - timedelta(minutes=50))
    yield c.RequestPermit(
        by=eleni, at=minute(0), zones=("K4-TRANSFER",), kind_of_work="Repair",
        reason="Worn chain guide at the transfer", starts_at=minute(0), ends_at=minute(480),
    )  # fmt: skip
    permit = "P-1"
    yield c.IssuePermit(permit=permit, by=issuer, at=minute(4), holder=eleni)
    yield c.AcceptPermit(
        permit=permit, by=eleni, at=minute(6), knows_energies=True, knows_hazards=True, knows_control=True
    )
    yield c.TellAffected(
        permit=permit, by=eleni, at=minute(8), whom="operators of lines 3 and 4", how="in person"
    )
    graph, planned = load(site).graph, load(site).permits[permit]
    for number, point in enumerate(planned.points):
        padlock, tag = f"E-{31 + number}", f"{7101 + number}"
        if point in planned.plan_lock:
            yield c.ApplyLock(
                permit=permit, by=eleni, at=minute(10 + number), point=point, padlock=padlock, tag=tag,
                position=Position.OFF,
            )  # fmt: skip
        else:
            yield c.ReleaseStore(
                permit=permit, by=eleni, at=minute(10 + number), point=point, method="as on its plate",
                padlock=padlock, tag=tag,
            )  # fmt: skip
    machines = dict.fromkeys(graph[point].machine or "" for point in planned.points)
    for number, machine in enumerate(machines):
        yield c.VerifyMachine(
            permit=permit, by=eleni, at=minute(30 + number), machine=machine, instrument="VT-04",
            proven_before=True, proven_after=True,
            points=tuple(
                c.PointReadings(point=point, readings=tuple(
                    Reading(Decimal(0), test_of(graph[point]).unit, pair)
                    for pair in test_of(graph[point]).combinations or ("",)
                ))
                for point in planned.points if (graph[point].machine or "") == machine
            ),
        )  # fmt: skip
    yield c.SignOnCrew(permit=permit, by=eleni, at=minute(40), padlock="E-40")


class Clock:
    """Minutes after a moment."""

    def __init__(self, start: datetime) -> None:
        self.start = start

    def __call__(self, minutes: int) -> datetime:
        return self.start + timedelta(minutes=minutes)
