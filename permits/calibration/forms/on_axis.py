"""Forms of the work on one axis: pieces read, a reading taken back, a correction, its end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from crispy_forms.layout import HTML, Div
from django import forms

from permits.calibration.forms.asking import CHOOSE, MeasureField, OnPermitForm, digits, shown, words
from permits.calibration.rules.lengths import Measure, Unit
from permits.calibration.rules.parameters import Parameter


class WorkForm(OnPermitForm):
    """About one axis at work."""

    work = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages={"required": "This page came without its axis; open it again, then send it."},
    )


MOST_PIECES = 6  # at once; more go on the next form
IN_SIGHT = 2  # as many as an axis needs at least; further ones unfold one by one
FOLD = '<details class="more-pieces"{}><summary>Add a piece</summary>'


class PieceForm(WorkForm):
    """The pieces that are read now, each a line of two fields; lines below the first may stay empty.

    A line without a nominal size has that of the line above it. `unproven`: a correction waits for fresh
    pieces, and these may be judged with the same form.
    """

    def __init__(
        self,
        data: Any = None,
        *,
        unit: Unit,
        unproven: bool = False,
        initial: dict[str, Any] | None = None,
    ) -> None:
        self.measured_in, self.unproven = unit, unproven
        super().__init__(data, initial=initial)

    def prepare(self) -> None:
        self.fields["nominal"] = MeasureField(label="Nominal", unit=self.measured_in)
        self.fields["measured"] = MeasureField(label="Measured", unit=self.measured_in)
        for n in range(2, MOST_PIECES + 1):
            for name, label in ((f"nominal-{n}", f"Nominal {n}"), (f"measured-{n}", f"Measured {n}")):
                self.fields[name] = MeasureField(label=label, unit=self.measured_in, required=False)
            self.fields[f"nominal-{n}"].widget.attrs["placeholder"] = "as above"
        if self.unproven:
            self.fields["judging"] = forms.BooleanField(
                label="These are all: judge the correction by them",
                required=False,
                help_text="Where they do not settle it they are recorded, and nothing is judged yet.",
            )

    def body(self) -> list[Any]:
        in_sight = [line(n) for n in range(1, IN_SIGHT + 1)]
        folded: list[Any] = []
        for n in range(IN_SIGHT + 1, MOST_PIECES + 1):  # each fold stands in the one before it
            folded += [HTML(FOLD.format(" open" if self.is_typed(n) else "")), line(n)]
        ends = HTML("</details>" * (MOST_PIECES - IN_SIGHT))
        return [*in_sight, *folded, ends, *(["judging"] if self.unproven else [])]

    def is_typed(self, n: int) -> bool:
        """Was something typed in this line, or in one further down?"""
        below = [name for m in range(n, MOST_PIECES + 1) for name in names(m)]
        return self.is_bound and any(self.data.get(name) for name in below)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        pieces: list[tuple[Measure, Measure]] = []
        above: Measure | None = None
        for n in range(1, MOST_PIECES + 1):
            nominal, measured = (cleaned.get(name) for name in names(n))
            if measured is None:
                if nominal is not None and n > 1 and names(n)[1] not in self.errors:
                    self.add_error(names(n)[1], "What this piece measured is missing; or clear its nominal.")
                continue
            above = nominal or above
            if above is not None:
                pieces.append((above, measured))
        cleaned["pieces"] = pieces
        return cleaned


def names(n: int) -> tuple[str, str]:
    """The fields of line `n` of a PieceForm."""
    return ("nominal", "measured") if n == 1 else (f"nominal-{n}", f"measured-{n}")


def line(n: int) -> Div:
    return Div(*names(n), css_class="pair")


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
