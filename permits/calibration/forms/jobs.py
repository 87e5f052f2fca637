"""Forms of a calibration job on the phone. Each names what it is about: an old page hits no other axis."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from crispy_forms.layout import Div
from django import forms

from permits.calibration import models as rows
from permits.calibration.forms.asking import MeasureField, OnPermitForm, copy_of, words
from permits.calibration.rules.copies import Copy
from permits.calibration.rules.lengths import Measure, Unit

NO_AXIS = "This is no axis of the machine any more; choose one of the list."
NO_INSTRUMENT = "This is no instrument in use any more; choose one of the list."
FILE_HELP = "Its SHA-256 and size are recorded; the file itself stays with you."


def attached(label: str) -> forms.FileField:
    return forms.FileField(
        label=label,
        required=False,
        help_text=FILE_HELP,
        error_messages={"empty": "The file is empty; a saved copy of the settings is not."},
    )


def offer_axes(
    field: forms.Field, axes: Sequence[rows.Axis], called: Callable[[rows.Axis], str] = str
) -> None:
    """These axes and no others, in the order given, after what the field offers for none."""
    assert isinstance(field, forms.ModelChoiceField)
    field.queryset = rows.Axis.objects.filter(pk__in=[axis.pk for axis in axes]).select_related("machine")
    none = [("", field.empty_label)] if field.empty_label else []
    field.choices = [*none, *((axis.pk, called(axis)) for axis in axes)]


def instrument_if_any(label: str, *, none: str, help_text: str = "") -> forms.ModelChoiceField:
    """An instrument that an axis is opened with at once; `none` says that it is not opened yet."""
    return forms.ModelChoiceField(
        queryset=rows.Instrument.objects.none(),
        label=label,
        required=False,
        empty_label=none,
        help_text=help_text,
        error_messages={"invalid_choice": NO_INSTRUMENT},
    )


def with_machine(axis: rows.Axis) -> str:
    return f"{axis.machine}: {axis}"


class OpenJobForm(OnPermitForm):
    machine = forms.ChoiceField(
        label="Machine",
        choices=(),
        error_messages={
            "required": "No machine is chosen.",
            "invalid_choice": "This is no machine of the permit; choose one of the list.",
        },
    )
    settings_before = words(
        "Copy of the machine's settings, saved now",
        help_text="Its name and where it is kept. Never over an older one.",
        required=False,
    )
    settings_before_file = attached("Or attach that file")
    reference_board = words("Reference board", help_text="The board with one true edge.")
    test_piece = words("Test piece", help_text="What is cut and read, and its size.")
    axis = forms.ModelChoiceField(
        queryset=rows.Axis.objects.none(),
        label="Axis to begin with",
        required=False,
        empty_label="Not known yet",
        help_text="Opens with the job. Not known: a pre-check tells.",
        error_messages={"invalid_choice": NO_AXIS},
    )
    instrument = instrument_if_any("Measured with", none="Not chosen yet")

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        machines: list[tuple[str, str]],
        axes: Sequence[rows.Axis] = (),
        instruments: Any = None,
        initial: Any = None,
    ) -> None:
        self.machines, self.axes, self.instruments = machines, axes, instruments
        super().__init__(data, files, initial=initial)

    def prepare(self) -> None:
        self.fields["machine"].choices = self.machines  # type: ignore[attr-defined]
        if not self.axes:
            del self.fields["axis"], self.fields["instrument"]
            return
        offer_axes(self.fields["axis"], self.axes, str if len(self.machines) == 1 else with_machine)
        self.fields["instrument"].queryset = self.instruments  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["copy"] = copy_of(self, "settings_before", "settings_before_file")
        axis, instrument = cleaned.get("axis"), cleaned.get("instrument")
        if axis is not None and "machine" in cleaned and axis.machine.code != cleaned["machine"]:
            self.add_error("axis", f"This is an axis of {axis.machine}; choose one of the machine above.")
        if axis is not None and instrument is None and "instrument" not in self.errors:
            self.add_error("instrument", "No instrument is chosen; the axis opens with one.")
        return cleaned

    @property
    def copy(self) -> Copy:
        found: Copy = self.cleaned_data["copy"]
        return found


class JobForm(OnPermitForm):
    """About one job of the permit, by its number."""

    job = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages={"required": "This page came without its job; open it again, then send it."},
    )


class PreCheckForm(JobForm):
    """Deviation and standard uncertainty of each feature; those that were not measured stay empty."""

    instrument = instrument_if_any(
        "Open the axis that they name, measured with",
        none="Not yet: see first what they say",
        help_text="Only where they name one axis.",
    )

    def __init__(
        self,
        data: Any = None,
        *,
        features: Sequence[rows.Feature],
        instruments: Any = None,
        initial: Any = None,
    ) -> None:
        self.features, self.instruments = features, instruments
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        self.fields["instrument"].queryset = self.instruments  # type: ignore[attr-defined]
        for feature in self.features:
            unit = Unit(feature.unit)
            self.fields[f"deviation-{feature.pk}"] = MeasureField(
                label=f"{feature.name}: deviation", unit=unit, signed=True, required=False
            )
            self.fields[f"uncertainty-{feature.pk}"] = MeasureField(
                label="± its standard uncertainty", unit=unit, required=False
            )

    def body(self) -> list[Any]:
        measured = [
            Div(f"deviation-{feature.pk}", f"uncertainty-{feature.pk}", css_class="readings")
            for feature in self.features
        ]
        return [*measured, "instrument"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        measured: list[tuple[rows.Feature, Measure, Measure]] = []
        for feature in self.features:
            names = f"deviation-{feature.pk}", f"uncertainty-{feature.pk}"
            deviation, uncertainty = (cleaned.get(name) for name in names)
            if any(name in self.errors for name in names) or (deviation is None and uncertainty is None):
                continue
            if deviation is None:
                wrong = f"The deviation of {feature} is missing; 0 if the feature is right."
                self.add_error(names[0], wrong)
            elif uncertainty is None or uncertainty.value == 0:
                wrong = f"How sure is {feature}? A standard uncertainty above zero would be right."
                self.add_error(names[1], wrong)
            else:
                measured.append((feature, deviation, uncertainty))
        if not measured and not self.errors:
            self.add_error(None, "No feature was measured; enter at least one deviation and how sure it is.")
        cleaned["measured"] = measured
        return cleaned


class OpenAxisForm(JobForm):
    axis = forms.ModelChoiceField(
        queryset=rows.Axis.objects.none(),
        label="Axis",
        empty_label=None,
        error_messages={
            "required": "No axis is chosen.",
            "invalid_choice": NO_AXIS,
        },
    )
    instrument = forms.ModelChoiceField(
        queryset=rows.Instrument.objects.none(),
        label="Measured with",
        empty_label=None,
        error_messages={
            "required": "No instrument is chosen.",
            "invalid_choice": NO_INSTRUMENT,
        },
    )

    def __init__(
        self, data: Any = None, *, axes: Sequence[rows.Axis], instruments: Any, initial: Any = None
    ) -> None:
        self.axes, self.instruments = axes, instruments
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        offer_axes(self.fields["axis"], self.axes)
        self.fields["instrument"].queryset = self.instruments  # type: ignore[attr-defined]


class CloseJobForm(JobForm):
    settings_after = words(
        "Copy of the machine's settings, saved again",
        help_text="A new file; the one from before stays as it is.",
        required=False,
    )
    settings_after_file = attached("Or attach that file")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["copy"] = copy_of(self, "settings_after", "settings_after_file")
        return cleaned

    @property
    def copy(self) -> Copy:
        found: Copy = self.cleaned_data["copy"]
        return found
