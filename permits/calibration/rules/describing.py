"""What an officer may say of an axis and of a piece's features. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from permits.calibration.rules.axes import NONE, PAIR, UNDETERMINED
from permits.calibration.rules.lengths import Measure, Unit
from permits.calibration.rules.parameters import Parameter, Range
from permits.work.rules.refusal import Unmet

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
            yield Unmet("name-taken", f"Another axis is named {other.name}.", "Give each axis its own name.")
        if other.code == code and other.has_readings and other.unit is not tolerance.unit:
            yield Unmet(
                "unit-in-use",
                f"{other.name} has results in {other.unit}; in {tolerance.unit} they could not be compared.",
                "Take the axis out and describe a new one.",
            )
    if name.casefold() in VERDICTS or code.casefold() in VERDICTS:
        yield Unmet(
            "name-is-a-verdict", f"“{name}” is a verdict of the pre-check.", "Give the axis another name."
        )
    if tolerance.value <= 0:
        yield Unmet("no-tolerance", "The tolerance is not above zero.", "Give a size above zero.")
    if not ranges:
        yield Unmet(
            "no-parameter",
            "No parameter is described that a correction may change.",
            "Give the offset's limits, the scale's, or both.",
        )


def against_removing_axis(axis: Known) -> Iterator[Unmet]:
    if axis.open_in:
        yield Unmet(
            "axis-open",
            f"{axis.name} is open in the calibration job of {axis.open_in}.",
            "It is closed or abandoned there first.",
        )


def against_feature(depends: Mapping[str, Fraction]) -> Iterator[Unmet]:
    """A feature that depends on nothing tells nothing."""
    if not any(depends.values()):
        yield Unmet(
            "depends-on-nothing",
            "The feature depends on no axis.",
            "Say for at least one axis how far the feature moves when that axis is off by one unit.",
        )
