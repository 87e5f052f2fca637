"""A job on the demo plant's crosscut cell, under power, with axes, features and instruments described.

`Bench` is a Job of the records' tests with the few things more that calibration asks about.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any
from uuid import uuid4

from django.test import Client

from permits.calibration import actions
from permits.calibration import models as rows
from permits.calibration.actions import Who
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.parameters import Parameter, Range, range_from_record
from permits.ledger.models import Entry
from permits.people.actions import SETUP
from permits.people.models import Person, Site
from permits.plant.actions import import_plant
from permits.plant.models import Machine
from permits.plant.queries import machine_of
from permits.records.demo import approve_procedures, issue_tags
from permits.work.models import Permit
from tests.factories_plant import quillfen as plant_file
from tests.records import job as jobs

DUE = timedelta(days=180)
AXES = (
    ("angle", "Saw angle", "0.15 deg", ("0 deg", "60 deg"), ("-3 deg", "3 deg"), None, ("DP-11",)),
    (
        "length-1",
        "Length, short system",
        "0.5 mm",
        ("150 mm", "1500 mm"),
        ("-25 mm", "25 mm"),
        ("0.98", "1.02"),
        (),
    ),
    ("depth", "Depth stop", "1/32 in", ("4 in", "96 in"), ("-1/2 in", "1/2 in"), None, ()),
)
INSTRUMENTS = (
    ("DP-11", "Digital protractor", "0.05 deg", "0.01 deg"),
    ("ST-03", "Steel tape, 10 m, class I", "0.1 mm", "0.05 mm"),
    ("ST-09", "Steel tape, inches", "1/64 in", "1/64 in"),
)
FEATURES = (
    ("Squareness across 89 mm", "mm", {"angle": "1.55"}),
    ("Length, 1200 piece", "mm", {"length-1": "1", "angle": "0.4"}),
)


def range_of(low: str, high: str) -> Range:
    found = range_from_record(low, high)
    assert found is not None
    return found


def officer(site: Site) -> Who:
    site.head.refresh_from_db()
    return Who(by=Person.objects.get(sign_in="maud").author, at=site.head.last_at, key=uuid4())


def describe(site: Site) -> Machine:
    """The demo plant on the site; axes, instruments and features of its crosscut cell."""
    site.head.refresh_from_db()
    at = site.head.last_at
    import_plant(site=site, plant_file=plant_file(), by=SETUP, at=at)
    approve_procedures(site, at)
    issue_tags(site, at)
    cell = machine_of(site, "C1")
    for number, name, uncertainty, resolution in INSTRUMENTS:
        actions.save_instrument(
            site=site, number=number, name=name, expanded_uncertainty=from_record(uncertainty),
            coverage_factor=Decimal(2), resolution=from_record(resolution), due_on=(at + DUE).date(),
            who=officer(site),
        )  # fmt: skip
    for code, name, tolerance, nominal, offset, scale, allowed in AXES:
        ranges = {Parameter.OFFSET: range_of(*offset)}
        if scale:
            ranges[Parameter.SCALE] = range_of(*scale)
        actions.save_axis(
            machine=cell, code=code, name=name, tolerance=from_record(tolerance), nominal=range_of(*nominal),
            ranges=ranges, instruments=rows.Instrument.objects.filter(number__in=allowed), who=officer(site),
        )  # fmt: skip
    for name, unit, depends in FEATURES:
        actions.save_feature(
            machine=cell, name=name, unit=Unit(unit), digits=depends, who=officer(site),
            depends={code: Fraction(digits) for code, digits in depends.items()},
        )  # fmt: skip
    return cell


def axis(code: str) -> rows.Axis:
    return rows.Axis.objects.get(code=code, removed_at=None)


def instrument(number: str) -> rows.Instrument:
    return rows.Instrument.objects.get(number=number, removed_at=None)


def feature(name: str) -> rows.Feature:
    return rows.Feature.objects.get(name=name, removed_at=None)


def entries(site: Site, kind: str) -> list[dict[str, Any]]:
    """The data of every entry of a kind, the first one first."""
    found = Entry.objects.filter(head=site.head_id, kind=kind).order_by("number")
    return [json.loads(one.body)["data"] for one in found]


def written(site: Site) -> int:
    site.head.refresh_from_db()
    return site.head.number


@dataclass
class Bench(jobs.Job):
    """A permit under power; each act takes the next minute unless a key says that it was sent before."""

    @property
    def job(self) -> rows.Job:
        return rows.Job.objects.filter(permit=self.row).latest("pk")

    def opened(self, code: str = "length-1", number: str = "ST-03") -> Bench:
        self.open_job()
        return self.take_up(code, number)

    def take_up(self, code: str = "length-1", number: str = "ST-03", *, who: Who | None = None) -> Bench:
        actions.open_axis(
            site=self.site,
            job=self.job,
            axis=axis(code),
            instrument=instrument(number),
            who=who or self.who(),
        )
        return self

    def readings(self, *pieces: str, nominal: str = "1200 mm") -> Bench:
        for piece in pieces:
            actions.read_pieces(
                site=self.site, row=self.axis, pieces=[(from_record(nominal), from_record(piece))],
                who=self.who(),
            )  # fmt: skip
        return self

    def change(self, old: str = "12.5 mm", new: str = "10.5 mm", *, reason: str = "") -> Bench:
        actions.correct(
            site=self.site, row=self.axis, parameter=Parameter.OFFSET, old=from_record(old),
            new=from_record(new), reason=reason, who=self.who(),
        )  # fmt: skip
        return self

    def pre_check(self, *measured: tuple[str, str, str]) -> Bench:
        found = [(feature(name), from_record(off), from_record(u)) for name, off, u in measured]
        actions.pre_check(site=self.site, job=self.job, measured=found, who=self.who())
        return self

    def strike(self, n: int, why: str = "120 typed for 1200") -> Bench:
        actions.strike_piece(site=self.site, row=self.axis, n=n, why=why, who=self.who())
        return self


TOO_LONG = ("1202.0 mm", "1202.1 mm", "1201.9 mm", "1202.0 mm")
RIGHT = ("1200.0 mm", "1200.1 mm", "1199.9 mm", "1200.0 mm")


def bench(site: Site, start: datetime, *, sanction_hours: float = 4) -> Bench:
    """Under power some forty minutes after `start`."""
    found = Bench(site, start)
    jobs.checked(found)
    found.sanction(hours=sanction_hours - 0.1).begin().free().clear().ready()
    return found


def post(client: Client, path: str, **fields: Any) -> Any:
    """A form sent as a page that is up to date sends it, with a key of its own unless one is given."""
    return client.post(path, {"key": str(uuid4()), "seen": seen_at(path)} | fields)


def seen_at(path: str) -> int:
    """The last entry about the permit that an address names; 0 where it names none."""
    found = re.match(r"/permits/([^/]+)/", path)
    return Permit.objects.get(reference=found[1]).last_entry if found else 0


def in_days(days: int) -> date:
    return date.today() + timedelta(days=days)
