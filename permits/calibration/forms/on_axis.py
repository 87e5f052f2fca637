"""Forms of the work on one axis: a piece, a reading taken back, a correction, its end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from permits.calibration.forms.asking import CHOOSE, MeasureField, OnPermitForm, digits, shown, words
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.parameters import Parameter


class WorkForm(OnPermitForm):
    """About one axis at work."""

    work = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages={"required": "This page came without its axis; open it again, then send it."},
    )


class PieceForm(WorkForm):
    def __init__(self, data: Any = None, *, unit: Unit, initial: dict[str, Any] | None = None) -> None:
        self.measured_in = unit
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        self.fields["nominal"] = MeasureField(label="Nominal", unit=self.measured_in)
        self.fields["measured"] = MeasureField(label="Measured", unit=self.measured_in)
        self.fields["measured"].widget.attrs["data-keys-first"] = ""


class StrikeForm(WorkForm):
    piece = forms.TypedChoiceField(
        label="Piece",
        coerce=int,
        choices=(),
        error_messages={
            "required": "No piece is chosen.",
            "invalid_choice": "This piece's reading cannot be taken back any more; choose one of the list.",
        },
    )
    why = words("What was entered wrong", help_text="Such as: 120 typed for 1,200. It stays in the record.")

    def __init__(self, data: Any = None, *, pieces: list[tuple[int, str]], initial: Any = None) -> None:
        self.pieces = pieces
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        self.fields["piece"].choices = self.pieces  # type: ignore[attr-defined]


class CorrectionForm(WorkForm):
    """`limits`: (parameter, its limits in words) of what may change. `justified`: the readings ask for it."""

    parameter = forms.ChoiceField(
        label="Parameter",
        choices=(),
        error_messages={
            "required": "No parameter is chosen.",
            "invalid_choice": "This is no parameter that a correction of the axis may change.",
        },
    )
    reason = forms.CharField(
        label="Why it is adjusted although the readings do not ask for it",
        required=False,
        max_length=500,
        help_text="Only then; it stays in the record as an exception.",
    )

    field_order = ("key", "seen", "work", "parameter", "old", "new", "reason")

    def __init__(
        self,
        data: Any = None,
        *,
        unit: Unit,
        limits: Sequence[tuple[Parameter, str]],
        justified: bool = False,
        initial: Any = None,
    ) -> None:
        self.measured_in, self.limits, self.justified = unit, limits, justified
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        choices = [(p.value, f"{p.value}, {limits}") for p, limits in self.limits]
        self.fields["parameter"].choices = choices  # type: ignore[attr-defined]
        self.fields["old"] = digits(
            "Value before", missing="What the parameter was is missing; read it in the machine."
        )
        self.fields["new"] = digits(
            "Value now", missing="What the parameter is now is missing; read it in the machine."
        )
        if [p for p, _ in self.limits] == [Parameter.OFFSET]:
            for name in ("old", "new"):
                self.fields[name].unit = shown(self.measured_in)  # type: ignore[attr-defined]
        if self.justified and not self.is_bound:
            self.fields["reason"].widget = forms.HiddenInput()
        self.order_fields(self.field_order)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "parameter" not in cleaned:
            return cleaned
        for name in ("old", "new"):
            if cleaned["parameter"] == Parameter.SCALE:
                cleaned[f"{name}_read"] = self.read_factor(name)
            else:
                cleaned[f"{name}_read"] = self.read(name, self.measured_in, signed=True)
        return cleaned


class EndAxisForm(WorkForm):
    how = forms.ChoiceField(
        label="This axis is",
        choices=[("close", "done: close it"), ("abandon", "given up: abandon it")],
        widget=forms.RadioSelect,
        error_messages=CHOOSE,
        initial="close",
    )
