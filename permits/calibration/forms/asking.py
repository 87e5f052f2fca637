"""What every form here has: a key so that it counts once, fields for lengths, factors and copies."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from pathlib import PurePath
from typing import Any
from uuid import uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.core.files.uploadedfile import UploadedFile

from permits.calibration.rules.copies import Copy
from permits.calibration.rules.lengths import Measure, NotALength, Unit, accepted_forms, parse
from permits.calibration.rules.parameters import Range, Setting, parse_factor

LONGEST = 40
LARGEST_COPY = 200 * 2**20  # bytes: far more than a machine's settings, and hashed in a second


class MeasureField(forms.CharField):
    """A length or an angle, exact and as typed, in one unit."""

    def __init__(self, *, label: str, unit: Unit = Unit.MM, signed: bool = False, **more: Any) -> None:
        self.measured_in, self.signed = unit, signed
        super().__init__(
            label=label,
            max_length=LONGEST,
            widget=forms.TextInput(attrs=typing(unit)),
            error_messages={
                "required": f"{label} is missing. Accepted: {accepted_forms(unit, signed=signed)}."
            },
            **more,
        )
        self.unit = shown(unit)  # the form pack prints it after the input

    def clean(self, value: Any) -> Measure | None:  # type: ignore[override]
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse(text, self.measured_in, signed=self.signed)
        except NotALength as wrong:
            raise forms.ValidationError(str(wrong)) from None


def typing(unit: Unit) -> dict[str, str]:
    """Attributes of a field for a length: no guessing, and the keyboard that has what is needed."""
    return {
        "autocomplete": "off",
        "spellcheck": "false",
        "inputmode": "text" if unit is Unit.INCH else "decimal",
    }


def shown(unit: Unit) -> str:
    return "°" if unit is Unit.DEGREE else unit.value


class KeyedForm(forms.Form):
    """A form whose request counts once however often it is sent."""

    key = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={
            "required": "This page came without its number; open it again, then send it.",
            "invalid": "This page's number is damaged; open it again, then send it.",
        },
    )

    def __init__(
        self, data: Any = None, files: Any = None, *, initial: Mapping[str, Any] | None = None
    ) -> None:
        # several of these stand on one page: their fields must not share ids
        ids = f"id_{type(self).__name__.removesuffix('Form').lower()}_%s"
        super().__init__(data, files, auto_id=ids, initial={"key": uuid4(), **(initial or {})})
        self.prepare()
        self.helper = FormHelper()
        self.helper.form_tag = False
        if body := self.body():
            self.helper.layout = Layout(*(name for name in self.fields if self[name].is_hidden), *body)

    def body(self) -> list[Any]:
        """The layout of what is seen, where the fields do not simply follow one another."""
        return []

    def prepare(self) -> None:
        """Fill choices and fields that depend on what is asked about."""

    def read(self, name: str, unit: Unit, *, signed: bool = False) -> Measure | None:
        """A text field as a measure in `unit`; notes the error beneath the field where it is none."""
        typed = self.cleaned_data.get(name, "")
        if not typed:
            return None
        try:
            return parse(typed, unit, signed=signed)
        except NotALength as wrong:
            self.add_error(name, str(wrong))
            return None

    def read_factor(self, name: str) -> Setting | None:
        typed = self.cleaned_data.get(name, "")
        if not typed:
            return None
        try:
            return parse_factor(typed)
        except NotALength as wrong:
            self.add_error(name, str(wrong))
            return None

    def range_of(self, low: str, high: str, ends: tuple[Setting | None, Setting | None]) -> Range | None:
        """Both ends as a range; notes what is wrong where one is missing or they are the wrong way round."""
        if low in self.errors or high in self.errors or ends == (None, None):
            return None
        first, last = ends
        if first is None or last is None:
            self.add_error(low if first is None else high, "Only one end is given; both or neither.")
            return None
        if first.value >= last.value:
            self.add_error(high, "This end is not above the other one.")
            return None
        return Range(first, last)


class OnPermitForm(KeyedForm):
    """About work under a permit: carries the site's last entry that its page could show."""

    seen = forms.IntegerField(
        widget=forms.HiddenInput,
        required=False,
        error_messages={"invalid": "What this page showed is damaged; open it again, then send it."},
    )

    def shows(self, entry: int) -> None:
        """The page that is about to be shown is up to date with this entry."""
        self.data = self.data.copy()  # type: ignore[attr-defined]  # what was posted is immutable
        self.data["seen"] = str(entry)  # type: ignore[index]


class JustKeyForm(KeyedForm):
    """A button."""


CHOOSE = {
    "required": "Nothing is chosen; choose one of these.",
    "invalid_choice": "This is no choice here; choose one of these.",
}
"""What is said of a few choices that are all in sight."""


def words(label: str, *, help_text: str = "", required: bool = True, longest: int = 200) -> forms.CharField:
    """A few words on one line."""
    return forms.CharField(
        label=label,
        max_length=longest,
        help_text=help_text,
        required=required,
        error_messages={"required": f"{label} is empty; a few words would be right."},
    )


def digits(label: str, *, help_text: str = "", missing: str = "") -> forms.CharField:
    """A text that `KeyedForm.read` or `read_factor` turns into a value once the unit is known.

    `missing`: what is said where it is empty; without it, it may be.
    """
    return forms.CharField(
        label=label,
        max_length=LONGEST,
        help_text=help_text,
        required=bool(missing),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": missing},
    )


def copy_of(form: KeyedForm, text: str, file: str) -> Copy | None:
    """The copy that was named, or whose file was attached; notes what is wrong where neither will do."""
    named: str = form.cleaned_data.get(text, "")
    shown_file: UploadedFile | None = form.cleaned_data.get(file)
    if file in form.errors or text in form.errors:
        return None
    if shown_file is None:
        if not named:
            form.add_error(text, "Say where the copy is, or attach the file.")
            return None
        return Copy(named)
    name = named or PurePath(shown_file.name or "settings").name
    if (shown_file.size or 0) > LARGEST_COPY:
        form.add_error(file, f"The file is larger than {LARGEST_COPY // 2**20} MiB; name the copy instead.")
        return None
    digest = sha256()
    for chunk in shown_file.chunks():
        digest.update(chunk)
    return Copy(name[:200], digest.hexdigest(), shown_file.size)


UNITS = [(unit.value, {"mm": "mm", "in": "inch", "deg": "degree"}[unit.value]) for unit in Unit]


def unit_field(label: str) -> forms.ChoiceField:
    wrong = "This is no unit here; mm, inch or degree would be right."
    return forms.ChoiceField(
        label=label, choices=UNITS, error_messages={"invalid_choice": wrong, "required": wrong}
    )
