"""The officer's descriptions: axes, the features that tell of them, how the site measures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from fractions import Fraction

from permits.calibration import models as rows
from permits.calibration.actions.who import Who, writing_for
from permits.calibration.rules import describing as rules
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.lengths import Measure, Unit, recorded
from permits.calibration.rules.parameters import Parameter, Range, setting_recorded
from permits.calibration.rules.policy import Policy
from permits.calibration.store import known, known_axes
from permits.ledger.pen import AlreadyDone
from permits.people.models import Site
from permits.plant.models import Machine
from permits.work.rules.refusal import refuse_if


def ends(limits: Range | None) -> tuple[str, str]:
    """Both ends as recorded; empty where there is no range."""
    return (setting_recorded(limits.low), setting_recorded(limits.high)) if limits else ("", "")


def save_axis(
    *,
    machine: Machine,
    code: str,
    name: str,
    tolerance: Measure,
    who: Who,
    order: int | None = None,
    nominal: Range | None = None,
    ranges: Mapping[Parameter, Range] | None = None,
    instruments: Sequence[rows.Instrument] = (),
) -> None:
    """Add an axis, or change the one with this code. Raises Refused.

    `order`: None puts an angle axis first and any other last. `nominal`: the sizes it cuts (None: any).
    `ranges`: what a correction may change; `instruments`: none where any that reads the unit will do.
    """
    ranges = ranges or {}
    with suppress(AlreadyDone), writing_for(machine.site, who) as pen:
        others = known_axes(machine)
        refuse_if(rules.against_axis(code, name, tolerance, ranges, others))
        if order is None:
            before = next((axis.order for axis in others if axis.code == code), None)
            order = before if before is not None else rules.default_order(tolerance.unit, others)
        nominal_from, nominal_to = ends(nominal)
        offset_lowest, offset_highest = ends(ranges.get(Parameter.OFFSET))
        scale_lowest, scale_highest = ends(ranges.get(Parameter.SCALE))
        fields = {
            "name": name, "order": order, "unit": tolerance.unit.value, "tolerance": recorded(tolerance),
            "nominal_from": nominal_from, "nominal_to": nominal_to,
            "offset_lowest": offset_lowest, "offset_highest": offset_highest,
            "scale_lowest": scale_lowest, "scale_highest": scale_highest,
        }  # fmt: skip
        axis, _ = rows.Axis.objects.update_or_create(
            machine=machine, code=code, removed_at=None, defaults=fields
        )
        axis.instruments.set(instruments)
        numbers = sorted(instrument.number for instrument in instruments)
        pen.write(Fact.AXIS_SAVED, machine.about, {"axis": code, "instruments": numbers, **fields})


def remove_axis(*, axis: rows.Axis, who: Who) -> None:
    """Take an axis out; what it was found at and left at stays. Raises Refused while a job has it open."""
    machine = axis.machine
    with suppress(AlreadyDone), writing_for(machine.site, who) as pen:
        axis.refresh_from_db()
        refuse_if(rules.against_removing_axis(known(axis)))
        if axis.removed_at is not None:  # someone else did it first: there is nothing to write
            raise AlreadyDone(0, 0)
        axis.removed_at = pen.at
        axis.save(update_fields=["removed_at"])
        pen.write(Fact.AXIS_REMOVED, machine.about, {"axis": axis.code, "name": axis.name})


def save_feature(
    *,
    machine: Machine,
    name: str,
    unit: Unit,
    depends: Mapping[str, Fraction],
    digits: Mapping[str, str],
    who: Who,
) -> None:
    """Add a feature of the machine's test pieces, or change the one with this name. Raises Refused.

    `depends`: by axis code, in `unit` per unit of the axis' error; `digits` the same as typed.
    """
    with suppress(AlreadyDone), writing_for(machine.site, who) as pen:
        refuse_if(rules.against_feature(depends))
        kept = {code: digits[code] for code, value in depends.items() if value}
        rows.Feature.objects.update_or_create(
            machine=machine, name=name, removed_at=None, defaults={"unit": unit.value, "depends": kept}
        )
        pen.write(Fact.FEATURE_SAVED, machine.about, {"feature": name, "unit": unit.value, "depends": kept})


def remove_feature(*, feature: rows.Feature, who: Who) -> None:
    machine = feature.machine
    with suppress(AlreadyDone), writing_for(machine.site, who) as pen:
        feature.refresh_from_db()
        if feature.removed_at is not None:
            raise AlreadyDone(0, 0)
        feature.removed_at = pen.at
        feature.save(update_fields=["removed_at"])
        pen.write(Fact.FEATURE_REMOVED, machine.about, {"feature": feature.name})


def save_policy(*, site: Site, policy: Policy, who: Who) -> None:
    """How the site measures from now on; what is recorded stays in the unit in which it was typed."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        fields = {
            "lengths": policy.lengths.value, "finest": policy.finest, "overdue": policy.overdue.value,
        }  # fmt: skip
        rows.MeasuringPolicy.objects.update_or_create(site=site, defaults=fields)
        pen.write(Fact.POLICY_SAVED, f"site:{site.code}", dict(fields))
