"""The officer's forms: an instrument with its certificate, an earlier result, how the site measures."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Row
from django import forms

from permits.calibration.forms.asking import CHOOSE, KeyedForm, MeasureField, digits, unit_field, words
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.policy import FINEST, Overdue, Policy


class InstrumentForm(KeyedForm):
    number = words("Number on the instrument", longest=32)
    name = words("What it is", help_text="Such as steel tape, digital protractor.", longest=120)
    unit = unit_field("Reads in")
    expanded_uncertainty = digits(
        "Expanded uncertainty U, from its certificate",
        missing="U is missing; it stands on the certificate, with its coverage factor k.",
    )
    coverage_factor = forms.DecimalField(
        label="Coverage factor k",
        min_value=Decimal("0.001"),
        max_digits=6,
        decimal_places=3,
        initial=2,
        error_messages={
            "required": "The coverage factor is missing; it stands beside U on the certificate, mostly 2.",
            "invalid": "This is no number; a decimal such as 2 or 1.96 would be right.",
            "min_value": "The coverage factor is not above zero; it stands beside U on the certificate.",
        },
    )
    resolution = digits(
        "Resolution",
        help_text="The smallest step that it shows.",
        missing="The resolution is missing; the smallest step that the instrument shows.",
    )
    due_on = forms.DateField(
        label="Calibration due on",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={
            "required": "The date is missing; it stands on the calibration label.",
            "invalid": "This is no date; year, month and day as 2027-05-31 would be right.",
        },
    )

    def body(self) -> list[Any]:
        factors = Row("coverage_factor", "resolution")
        return [Row("number", "name"), "unit", "expanded_uncertainty", factors, "due_on"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "unit" in cleaned:
            for name in ("expanded_uncertainty", "resolution"):
                cleaned[f"{name}_read"] = self.read(name, Unit(cleaned["unit"]))
        return cleaned


class EarlierForm(KeyedForm):
    """A result taken over from paper."""

    on = forms.DateField(
        label="Day of the calibration",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={
            "required": "The day is missing.",
            "invalid": "This is no date; year, month and day as 2026-05-31 would be right.",
        },
    )
    source = words("Where it is written", help_text="The book and page, or the file.")

    field_order = ("key", "on", "as_found", "as_left", "source")

    def __init__(self, data: Any = None, *, unit: Unit) -> None:
        self.measured_in = unit
        super().__init__(data)

    def prepare(self) -> None:
        self.fields["as_found"] = MeasureField(
            label="Mean deviation as found", unit=self.measured_in, signed=True
        )
        self.fields["as_left"] = MeasureField(
            label="Mean deviation as left",
            unit=self.measured_in,
            signed=True,
            required=False,
            help_text="Empty where nothing was adjusted.",
        )
        self.order_fields(self.field_order)


class PolicyForm(KeyedForm):
    lengths = forms.ChoiceField(
        label="Lengths",
        choices=[(Unit.MM.value, "Millimetres"), (Unit.INCH.value, "Inches, with fractions")],
        widget=forms.RadioSelect,
        error_messages=CHOOSE,
        help_text="New axes begin with it, and lengths in the other one are shown converted, marked as such. "
        "What was typed stays as it was typed.",
    )
    finest = forms.TypedChoiceField(
        label="Finest fraction on the phone's keys",
        choices=[(one, f"1/{one} in") for one in FINEST],
        coerce=int,
        widget=forms.RadioSelect,
        error_messages=CHOOSE,
    )
    overdue = forms.ChoiceField(
        label="A reading with an instrument whose calibration is out of date",
        choices=[
            (Overdue.REFUSED.value, "is refused"),
            (Overdue.RECORDED.value, "is taken, and is an exception in the record (site policy)"),
        ],
        widget=forms.RadioSelect,
        error_messages=CHOOSE,
    )

    def __init__(self, data: Any = None, *, policy: Policy) -> None:
        initial = {
            "lengths": policy.lengths.value, "finest": policy.finest, "overdue": policy.overdue.value,
        }  # fmt: skip
        super().__init__(data, initial=initial)

    @property
    def policy(self) -> Policy:
        read = self.cleaned_data
        return Policy(Unit(read["lengths"]), read["finest"], Overdue(read["overdue"]))
