"""The officer's forms: an axis, and a feature of the test pieces that tells of axes."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms

from permits.calibration import models as rows
from permits.calibration.forms.asking import KeyedForm, digits, shown, unit_field, words
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.members import SIGNED_DECIMAL
from permits.calibration.rules.parameters import Parameter, Range


class AxisForm(KeyedForm):
    """An axis; `changing`: one that is there, whose short name stays."""

    code = forms.SlugField(
        label="Short name",
        max_length=32,
        help_text="Such as angle or length-1.",
        error_messages={
            "required": "The short name is empty; a word such as angle or length-1 would be right.",
            "invalid": "Only letters, digits, hyphens and underscores: angle or length-1 would be right.",
        },
    )
    name = words("Name", longest=120)
    unit = unit_field("Unit")
    order = forms.IntegerField(
        label="Place in the order",
        required=False,
        min_value=1,
        max_value=99,
        help_text="Left empty, an angle axis comes first (common practice) and any other last.",
        error_messages={
            "invalid": "This is no whole number; 1 for the first axis would be right.",
            "min_value": "The first place is 1.",
            "max_value": "The last place is 99.",
        },
    )
    tolerance = digits(
        "Tolerance, plus or minus",
        missing="The tolerance is missing; how far a size may be off either way, such as 0.5.",
    )
    nominal_from = digits("Sizes it cuts, from")
    nominal_to = digits("to")
    offset_lowest = digits("Offset, lowest")
    offset_highest = digits("Offset, highest")
    scale_lowest = digits("Scale, lowest", help_text="A factor, 1 changes nothing.")
    scale_highest = digits("Scale, highest")
    instruments = forms.ModelMultipleChoiceField(
        queryset=rows.Instrument.objects.none(),
        label="Instruments that may read it",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: any that reads the unit.",
        error_messages={
            "invalid_choice": "One of these is no longer in use; choose from the list as it is now.",
            "invalid_pk_value": "One of these is no instrument; choose from the list.",
        },
    )

    def __init__(
        self, data: Any = None, *, instruments: Any, changing: rows.Axis | None = None, unit: Unit = Unit.MM
    ) -> None:
        self.instruments, self.changing = instruments, changing
        super().__init__(data, initial=as_typed(changing) if changing else {"unit": unit.value})

    def prepare(self) -> None:
        self.fields["instruments"].queryset = self.instruments  # type: ignore[attr-defined]
        if self.changing is not None:
            del self.fields["code"]

    def body(self) -> list[Any]:
        own = [] if self.changing is not None else ["code"]
        return [
            Row(*own, "name"),
            Row("unit", "tolerance", "order"),
            Fieldset("Pieces", Row("nominal_from", "nominal_to")),
            Fieldset(
                "What a correction may change, and how far",
                Row("offset_lowest", "offset_highest"),
                Row("scale_lowest", "scale_highest"),
            ),
            Fieldset("Instruments", "instruments"),
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "unit" not in cleaned:
            return cleaned
        unit = Unit(cleaned["unit"])
        tolerance = self.read("tolerance", unit)
        if tolerance is not None and tolerance.value <= 0:
            self.add_error("tolerance", "The tolerance is zero; a size above zero would be right.")
        cleaned["tolerance_read"] = tolerance
        sizes = self.read("nominal_from", unit), self.read("nominal_to", unit)
        cleaned["nominal"] = self.range_of("nominal_from", "nominal_to", sizes)
        ends = self.read("offset_lowest", unit, signed=True), self.read("offset_highest", unit, signed=True)
        offset = self.range_of("offset_lowest", "offset_highest", ends)
        factors = self.read_factor("scale_lowest"), self.read_factor("scale_highest")
        scale = self.range_of("scale_lowest", "scale_highest", factors)
        ranges: dict[Parameter, Range] = {}
        if offset is not None:
            ranges[Parameter.OFFSET] = offset
        if scale is not None:
            ranges[Parameter.SCALE] = scale
        if not ranges and not self.errors:
            self.add_error("offset_lowest", "Give the limits of the offset, of the scale, or of both.")
        cleaned["ranges"] = ranges
        return cleaned


def as_typed(axis: rows.Axis) -> dict[str, Any]:
    """An axis for its form: digits as the officer typed them, without the unit."""
    texts = ("tolerance", "nominal_from", "nominal_to", "offset_lowest", "offset_highest")
    found: dict[str, Any] = {name: getattr(axis, name).rpartition(" ")[0] for name in texts}
    return found | {
        "name": axis.name, "unit": axis.unit, "order": axis.order, "scale_lowest": axis.scale_lowest,
        "scale_highest": axis.scale_highest, "instruments": list(axis.instruments.all()),
    }  # fmt: skip


class FeatureForm(KeyedForm):
    """A feature of the test pieces and how far it moves with each axis."""

    name = words("Feature of the test piece", help_text="Such as squareness, length at 1,200.", longest=120)
    unit = unit_field("Its deviation is read in")

    def __init__(self, data: Any = None, *, axes: Sequence[rows.Axis], initial: Any = None) -> None:
        self.axes = axes
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        for axis in self.axes:
            self.fields[f"axis-{axis.pk}"] = digits(f"Per {shown(Unit(axis.unit))} of {axis.name}")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        typed: dict[str, str] = {}
        for axis in self.axes:
            name = f"axis-{axis.pk}"
            text = cleaned.get(name, "").strip()
            if text and not SIGNED_DECIMAL.fullmatch(text):
                self.add_error(name, f"“{text}” is no number; a decimal such as 1.2 or -0.4 would be right.")
            elif text:
                typed[axis.code] = text
        cleaned["digits"] = typed
        cleaned["depends"] = {code: Fraction(text) for code, text in typed.items()}
        if not any(cleaned["depends"].values()) and not self.errors:
            self.add_error(None, "The feature depends on no axis; say for at least one how far it moves.")
        return cleaned
