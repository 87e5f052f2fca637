"""Forms of a calibration job and of what it needs; lengths are read as people write them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any
from uuid import uuid4

from crispy_forms.helper import FormHelper
from django import forms

from permits.calibration import models as rows
from permits.calibration.rules.job import Parameter
from permits.calibration.rules.lengths import Measure, NotALength, Unit, accepted_forms, parse


class MeasureField(forms.CharField):
    """A length or an angle, exact and as typed, in one unit."""

    def __init__(self, *, label: str, unit: Unit = Unit.MM, signed: bool = False, **more: Any) -> None:
        self.measured_in, self.signed = unit, signed
        attrs = {
            "autocomplete": "off",
            "spellcheck": "false",
            "inputmode": "text" if unit is Unit.INCH else "decimal",
        }
        super().__init__(
            label=label,
            max_length=40,
            widget=forms.TextInput(attrs=attrs),
            error_messages={
                "required": f"{label} is missing. Accepted: {accepted_forms(unit, signed=signed)}."
            },
            **more,
        )
        self.unit = unit.value  # the form pack prints it after the input

    def clean(self, value: Any) -> Measure | None:  # type: ignore[override]
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse(text, self.measured_in, signed=self.signed)
        except NotALength as wrong:
            raise forms.ValidationError(str(wrong)) from None


class KeyedForm(forms.Form):
    """A form whose request counts once however often it is sent."""

    key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, initial: dict[str, Any] | None = None) -> None:
        super().__init__(data, initial={"key": uuid4(), **(initial or {})})
        self.prepare()
        self.helper = FormHelper()
        self.helper.form_tag = False

    def prepare(self) -> None:
        """Fill choices."""


def text(label: str, *, help_text: str = "", required: bool = True) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=200,
        help_text=help_text,
        required=required,
        error_messages={"required": f"{label} is empty; a few words would be right."},
    )


class OpenJobForm(KeyedForm):
    machine = forms.ChoiceField(label="Machine", choices=())
    settings_before = text(
        "Copy of the machine's settings, saved now",
        help_text="The file's name and where it is kept. Never over an older one.",
    )
    reference_board = text("Reference board", help_text="The board with one true edge.")
    test_piece = text("Test piece", help_text="What is cut and read, and its size.")

    def __init__(self, data: Any = None, *, machines: list[tuple[str, str]]) -> None:
        self.machines = machines
        super().__init__(data)

    def prepare(self) -> None:
        self.fields["machine"].choices = self.machines  # type: ignore[attr-defined]


class OpenAxisForm(KeyedForm):
    axis = forms.ModelChoiceField(queryset=rows.Axis.objects.none(), label="Axis", empty_label=None)
    instrument = forms.ModelChoiceField(
        queryset=rows.Instrument.objects.none(), label="Measured with", empty_label=None
    )

    def __init__(self, data: Any = None, *, axes: Any, instruments: Any) -> None:
        self.axes, self.instruments = axes, instruments
        super().__init__(data)

    def prepare(self) -> None:
        self.fields["axis"].queryset = self.axes  # type: ignore[attr-defined]
        self.fields["instrument"].queryset = self.instruments  # type: ignore[attr-defined]


class PieceForm(KeyedForm):
    def __init__(self, data: Any = None, *, unit: Unit, initial: dict[str, Any] | None = None) -> None:
        self.measured_in = unit
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        self.fields["nominal"] = MeasureField(label="Nominal", unit=self.measured_in)
        self.fields["measured"] = MeasureField(label="Measured", unit=self.measured_in)


class CorrectionForm(KeyedForm):
    parameter = forms.ChoiceField(label="Parameter", choices=[(p.value, p.value) for p in Parameter])
    reason = forms.CharField(
        label="Why it is adjusted although the readings do not ask for it",
        required=False,
        max_length=500,
        help_text="Only then; it stays in the record as an exception.",
    )

    field_order = ("key", "parameter", "old", "new", "reason")

    def __init__(self, data: Any = None, *, unit: Unit) -> None:
        self.measured_in = unit
        super().__init__(data)

    def prepare(self) -> None:
        self.fields["old"] = MeasureField(label="Value before", unit=self.measured_in, signed=True)
        self.fields["new"] = MeasureField(label="Value now", unit=self.measured_in, signed=True)
        self.order_fields(self.field_order)


class EndAxisForm(KeyedForm):
    how = forms.ChoiceField(
        label="This axis is",
        choices=[("close", "done: close it"), ("abandon", "given up: abandon it")],
        widget=forms.RadioSelect,
        initial="close",
    )


class CloseJobForm(KeyedForm):
    settings_after = text(
        "Copy of the machine's settings, saved again",
        help_text="A new file; the one from before stays as it is.",
    )


class JustKeyForm(KeyedForm):
    """A button."""


class AxisForm(KeyedForm):
    code = forms.SlugField(label="Short name", max_length=32, help_text="Such as angle or length-1.")
    name = text("Name")
    order = forms.IntegerField(
        label="Place in the order",
        min_value=1,
        max_value=99,
        help_text="The angle axis comes first, as a rule: the others depend on it.",
    )
    unit = forms.ChoiceField(label="Unit", choices=[(u.value, u.value) for u in Unit])
    tolerance = forms.CharField(label="Tolerance, plus or minus", max_length=40)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "tolerance" in cleaned and "unit" in cleaned:
            try:
                cleaned["tolerance"] = parse(cleaned["tolerance"], Unit(cleaned["unit"]))
            except NotALength as wrong:
                self.add_error("tolerance", str(wrong))
            else:
                if cleaned["tolerance"].value <= 0:
                    self.add_error("tolerance", "The tolerance is zero; a size above zero would be right.")
        return cleaned


class InstrumentForm(KeyedForm):
    number = text("Number on the instrument")
    name = text("What it is", help_text="Such as steel tape, digital protractor.")
    unit = forms.ChoiceField(label="Reads in", choices=[(u.value, u.value) for u in Unit])
    expanded_uncertainty = forms.CharField(
        label="Expanded uncertainty U, from its certificate", max_length=40
    )
    coverage_factor = forms.DecimalField(
        label="Coverage factor k", min_value=Decimal("0.001"), max_digits=6, decimal_places=3, initial=2
    )
    resolution = forms.CharField(label="Resolution", max_length=40)
    due_on = forms.DateField(
        label="Calibration due on",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"required": "The date is missing; it stands on the calibration label."},
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in ("expanded_uncertainty", "resolution"):
            if name in cleaned and "unit" in cleaned:
                try:
                    cleaned[name] = parse(cleaned[name], Unit(cleaned["unit"]))
                except NotALength as wrong:
                    self.add_error(name, str(wrong))
        return cleaned
