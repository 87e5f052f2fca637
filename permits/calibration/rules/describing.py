"""What an officer may say of an axis and of a piece's features. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from permits.calibration.rules.axes import NONE, PAIR, UNDETERMINED
from permits.calibration.rules.lengths import Measure, Unit
from permits.calibration.rules.parameters import Parameter, Range
from permits.work.rules.refusal import Unmet
from permits.work.rules.whom import job_of

VERDICTS = (PAIR, NONE, UNDETERMINED)


@dataclass(frozen=True, slots=True)
class Known:
    """An axis that the machine has already. `has_readings`: there are results in its unit."""

    code: str
    name: str
    order: int
    unit: Unit
    has_readings: bool = False
    open_in: str = ""
    """The permit whose job has it open, if any."""


def default_order(unit: Unit, others: Iterable[Known]) -> int:
    """An angle axis first (common practice), any other after those there are."""
    return 1 if unit is Unit.DEGREE else max((other.order for other in others), default=0) + 1


def against_axis(
    code: str, name: str, tolerance: Measure, ranges: Mapping[Parameter, Range], known: Iterable[Known]
) -> Iterator[Unmet]:
    """`known`: the machine's live axes, the one with this code among them where it is being changed."""
    for other in known:
        if other.code != code and other.name.casefold() == name.casefold():
            yield Unmet(
                "name-taken",
                f"Another axis is named {other.name}.",
                "You give each axis its own name, on this page.",
            )
        if other.code == code and other.has_readings and other.unit is not tolerance.unit:
            yield Unmet(
                "unit-in-use",
                f"{other.name} has results in {other.unit}; in {tolerance.unit} they could not be compared.",
                "You take the axis out, and describe a new one, under “Calibration”.",
            )
    if name.casefold() in VERDICTS or code.casefold() in VERDICTS:
        yield Unmet(
            "name-is-a-verdict",
            f"“{name}” is a verdict of the pre-check.",
            "You give the axis another name, on this page.",
        )
    if tolerance.value <= 0:
        yield Unmet(
            "no-tolerance",
            "The tolerance is not above zero.",
            "You give a size above zero, on this page.",
        )
    if not ranges:
        yield Unmet(
            "no-parameter",
            "No parameter is described that a correction may change.",
            "You give the offset's limits, the scale's, or both, on this page.",
        )


def against_removing_axis(axis: Known) -> Iterator[Unmet]:
    if axis.open_in:
        yield Unmet(
            "axis-open",
            f"{axis.name} is open in the calibration job of {axis.open_in}.",
            f"Whoever works under {axis.open_in} closes or abandons it first, {job_of(axis.open_in)}.",
        )


def against_feature(depends: Mapping[str, Fraction]) -> Iterator[Unmet]:
    """A feature that depends on nothing tells nothing."""
    if not any(depends.values()):
        yield Unmet(
            "depends-on-nothing",
            "The feature depends on no axis.",
            "You say for at least one axis, on this page, how far the feature moves when that axis is off by "
            "one unit.",
        )
