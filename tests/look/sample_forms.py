"""Forms with every kind of control and layout object that the product's forms use; invented."""

from decimal import Decimal
from typing import Any

from crispy_forms.bootstrap import AppendedText, FieldWithButtons, InlineRadios
from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, ButtonHolder, Column, Div, Field, Fieldset, Hidden, Layout, Row, Submit
from django import forms


class PointForm(forms.Form):
    """Every kind of control that the product's forms use."""

    name = forms.CharField(help_text="As people at the machine call it.")
    lock_number = forms.CharField(label="Number of your padlock", help_text="The number stamped on its body.")
    machine = forms.ChoiceField(choices=[("", "Choose…"), ("c", "Crosscut cell"), ("d", "Drilling station")])
    position = forms.ChoiceField(
        label="Position you see",
        widget=forms.RadioSelect,
        choices=[("off", "Off"), ("closed", "Closed"), ("inserted", "Inserted")],
    )
    told = forms.MultipleChoiceField(
        label="Who was told",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[("Line 3", [("a", "Ivo Brandal"), ("b", "Nela Quist")]), ("Line 4", [("c", "Sava Orme")])],
    )
    radio = forms.BooleanField(label="Seen by radio, not with my own eyes", required=False)
    reason = forms.CharField(widget=forms.Textarea, required=False, label="Reason")
    starts_at = forms.DateTimeField(
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}), label="From"
    )
    ends_at = forms.SplitDateTimeField(label="Until", required=False)
    file = forms.FileField(required=False, label="Plant file")
    cycles = forms.IntegerField(label="Cycles", min_value=1)
    pressure = forms.DecimalField(label="Pressure", decimal_places=2)
    code = forms.CharField(label="Short code", help_text="Printed beside the square code.")
    way = forms.ChoiceField(widget=forms.RadioSelect, choices=[("s", "Scanned"), ("t", "Typed")], label="How")
    key = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_id = "point-form"
        self.helper.layout = Layout(
            Fieldset("Point", "name", "machine", "position", "told", "radio"),
            Fieldset(
                "Lock",
                Row(Column("lock_number"), Column("cycles")),
                Row("starts_at", "ends_at"),
                AppendedText("pressure", "bar"),
                InlineRadios("way"),
                FieldWithButtons("code", Submit("look", "Find", css_class="quiet")),
                Field("reason", rows=3),
                "file",
                HTML("<p class='help'>Nothing is sent before you press the button.</p>"),
            ),
            "key",
            Hidden("step", "1"),
            ButtonHolder(
                Submit("save", "Lock this point"),
                Submit("later", "Not now", css_class="quiet"),
                Submit("stop", "Call a stop", css_class="danger"),
            ),
        )


class ReadingsForm(forms.Form):
    """All readings of a machine on one page; each field says its unit."""

    PAIRS = ("L1–L2", "L1–L3", "L2–L3", "L1–N", "L2–N", "L3–N", "L1–PE", "L2–PE", "L3–PE", "N–PE")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, pair in enumerate(self.PAIRS):
            one = self.fields[f"volts_{number}"] = forms.DecimalField(label=pair, max_value=Decimal(1000))
            one.unit = "V"  # type: ignore[attr-defined]
        air = self.fields["air"] = forms.DecimalField(label="Pressure at the drain", decimal_places=2)
        air.unit = "bar"  # type: ignore[attr-defined]
        air.help_text = "Passes at 0.05 bar or less."
        self.helper = FormHelper()
        self.helper.form_id = "readings-form"
        self.helper.layout = Layout(
            Div(HTML("<h3>=L3.C1-QB1 Main disconnector</h3>"), *self.fields, css_class="readings"),
            ButtonHolder(Submit("record", "Record all readings")),
        )


class PinForm(forms.Form):
    """What a signature asks for."""

    pin = forms.CharField(label="Your PIN", widget=forms.PasswordInput(attrs={"inputmode": "numeric"}))
