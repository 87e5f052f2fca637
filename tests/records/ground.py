"""The demo plant described on a site, ready for a permit and a calibration job."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from permits.calibration import actions as calibration
from permits.calibration.actions import Who
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.parameters import Parameter, Range
from permits.people.actions import SETUP
from permits.people.models import Person, Site
from permits.plant.actions import import_plant
from permits.plant.queries import machine_of
from permits.records.demo import approve_procedures, issue_tags
from tests.factories_plant import quillfen as plant_file

AXES = (
    ("angle", "Saw angle", "0.15 deg", "-5 deg", "5 deg"),
    ("length-1", "Length, short system", "0.5 mm", "-20 mm", "20 mm"),
    ("length-2", "Length, long system", "1 mm", "-20 mm", "20 mm"),
)
FEATURES = (
    ("Length of a short piece", {"length-1": "1"}),
    ("Length of a long piece", {"length-2": "1"}),
)
INSTRUMENTS = (
    ("DP-11", "Digital protractor", "0.05 deg", "0.01 deg"),
    ("ST-03", "Steel tape, 10 m, class I", "0.1 mm", "0.05 mm"),
)


def describe(site: Site) -> None:
    """The demo plant on the site: machines, approved procedures, tags, axes and instruments."""
    site.head.refresh_from_db()
    at = site.head.last_at
    import_plant(site=site, plant_file=plant_file(), by=SETUP, at=at)
    approve_procedures(site, at)
    issue_tags(site, at)
    describe_axes(site, at)


def describe_axes(site: Site, at: datetime) -> None:
    """Axes of the crosscut cell with what a correction may change, features of its pieces, instruments."""
    who = Who(by=Person.objects.get(sign_in="maud").author, at=at)
    cell = machine_of(site, "C1")
    for order, (code, name, tolerance, low, high) in enumerate(AXES, start=1):
        offset = Range(from_record(low), from_record(high))
        calibration.save_axis(
            machine=cell, code=code, name=name, order=order, tolerance=from_record(tolerance), who=who,
            ranges={Parameter.OFFSET: offset},
        )  # fmt: skip
    for name, depends in FEATURES:
        calibration.save_feature(
            machine=cell, name=name, unit=Unit.MM, depends={code: Fraction(d) for code, d in depends.items()},
            digits=depends, who=who,
        )  # fmt: skip
    for number, name, uncertainty, resolution in INSTRUMENTS:
        calibration.save_instrument(
            site=site, number=number, name=name, expanded_uncertainty=from_record(uncertainty),
            coverage_factor=Decimal(2), resolution=from_record(resolution),
            due_on=(at + timedelta(days=180)).date(), who=who,
        )  # fmt: skip
