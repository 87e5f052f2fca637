"""What the officer has described: a machine's axes and features, the site's instruments."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q, QuerySet

from permits.calibration import models as rows
from permits.calibration.rules.lengths import Unit, from_record, printed
from permits.calibration.rules.parameters import range_from_record
from permits.calibration.rules.policy import Policy
from permits.calibration.store import is_overdue, live_axes, policy_of, ranges_of
from permits.people.models import Site
from permits.plant.models import Machine

__all__ = ["axes_of", "axis_of", "policy_of"]


@dataclass(frozen=True, slots=True)
class AxisLine:
    """An axis as the officer described it."""

    row: rows.Axis
    tolerance: str
    also: str
    nominal: str
    limits: list[tuple[str, str]]
    instruments: str


@dataclass(frozen=True, slots=True)
class FeatureLine:
    """A feature and, for each axis of the machine in order, how far it moves per unit ("" for not at all)."""

    row: rows.Feature
    depends: list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    row: rows.Instrument
    unit: str
    expanded_uncertainty: str
    resolution: str
    overdue: bool


def axes_of(machine: Machine) -> list[rows.Axis]:
    """The machine's axes in the officer's order."""
    return live_axes(machine)


def former_axes(machine: Machine) -> list[rows.Axis]:
    """Axes that were taken out; what they were found at and left at can still be read."""
    gone = rows.Axis.objects.filter(machine=machine, removed_at__isnull=False)
    return list(gone.order_by("name", "removed_at"))


def axis_of(machine: Machine, pk: int) -> rows.Axis | None:
    """An axis of the machine, in use or taken out."""
    return rows.Axis.objects.filter(machine=machine, pk=pk).select_related("machine__site").first()


def axis_lines(machine: Machine, policy: Policy) -> list[AxisLine]:
    return [axis_line(axis, policy) for axis in axes_of(machine)]


def axis_line(axis: rows.Axis, policy: Policy) -> AxisLine:
    tolerance = from_record(axis.tolerance)
    numbers = axis.instruments.order_by("number").values_list("number", flat=True)
    return AxisLine(
        row=axis,
        tolerance=f"±{printed(tolerance)}",
        also=policy.also(tolerance),
        nominal=str(range_from_record(axis.nominal_from, axis.nominal_to) or "any"),
        limits=[(parameter.value, str(limits)) for parameter, limits in ranges_of(axis).items()],
        instruments=", ".join(numbers) or f"any that reads {Unit(axis.unit)}",
    )


def features_of(machine: Machine) -> list[rows.Feature]:
    return list(rows.Feature.objects.filter(machine=machine, removed_at=None).order_by("pk"))


def feature_lines(machine: Machine) -> list[FeatureLine]:
    axes = axes_of(machine)
    return [
        FeatureLine(feature, [(axis.name, feature.depends.get(axis.code, "")) for axis in axes])
        for feature in features_of(machine)
    ]


def instruments_in_use(site: Site) -> QuerySet[rows.Instrument]:
    """Those of the site that were not taken out, for a form to choose from."""
    return rows.Instrument.objects.filter(site=site, removed_at=None).order_by("number")


def instruments_of(site: Site) -> list[rows.Instrument]:
    return list(instruments_in_use(site))


def instrument_for(axis: rows.Axis, site: Site) -> rows.Instrument | None:
    """The first instrument in use that may read the axis."""
    allowed = {one.pk for one in axis.instruments.all()}
    fitting = [one for one in instruments_of(site) if one.unit == axis.unit]
    return next((one for one in fitting if not allowed or one.pk in allowed), None)


def instrument_lines(site: Site, today: date) -> list[InstrumentLine]:
    return [
        InstrumentLine(
            row=one,
            unit=one.unit,
            expanded_uncertainty=printed(from_record(one.expanded_uncertainty)),
            resolution=printed(from_record(one.resolution)),
            overdue=is_overdue(one, today),
        )
        for one in instruments_of(site)
    ]


def machines_with_axes(site: Site) -> list[Machine]:
    """The site's machines, each with `described`: how many axes it has."""
    live = Count("axes", filter=Q(axes__removed_at=None))
    return list(Machine.objects.filter(site=site, removed_at=None).annotate(described=live).order_by("code"))
