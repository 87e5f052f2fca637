"""What every form that changes the plant has: its key, and where the plant's own errors are shown."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any
from uuid import uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Submit
from django import forms

from permits.plant.rules.plantfile import PlantFileError, PlantFileErrors

_SENTENCES = {
    "is ": "This is ",
    "has ": "This has ",
    "stands ": "This stands ",
    "names ": "This names ",
    "gives ": "This gives ",
}


class KeyedForm(forms.Form):
    """A form that counts once however often it is sent.

    `seen` is a digest of what the page showed: where that has changed since, nothing is overwritten.
    """

    key = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={
            "required": "This page came without its number; open it again, then send it.",
            "invalid": "This page's number is damaged; open it again, then send it.",
        },
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        button: str,
        seen: str = "",
        initial: Mapping[str, Any] | None = None,
        auto_id: str = "id_%s",
    ) -> None:
        self.present = seen
        super().__init__(
            data, files, auto_id=auto_id, initial={"key": uuid4(), "seen": seen, **(initial or {})}
        )
        self.prepare()
        self.helper = FormHelper()
        self.helper.form_method = "post"
        self.helper.layout = Layout(*self.body(), "key", "seen")
        self.helper.add_input(Submit("submit", button))

    def prepare(self) -> None:
        """Fill choices and leave out fields that do not fit."""

    def body(self) -> list[Any]:
        """The layout of the form's own fields."""
        return [name for name in self.fields if name not in ("key", "seen")]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("seen") and cleaned["seen"] != self.present:
            raise forms.ValidationError(
                "Someone else changed this since the page was opened. Nothing of theirs is overwritten: "
                "open the page again, look at what stands there now, and change that."
            )
        return cleaned

    def field_of(self, error: PlantFileError) -> str | None:
        """The field that an error of the plant's is about; None where it is about none of this form's."""
        return None

    def show_errors(self, errors: PlantFileErrors) -> None:
        """Puts each error at its field; one about something else in full above the form."""
        for error in errors.errors:
            field = self.field_of(error)
            self.add_error(field, in_words(error) if field else str(error))


class SendForm(KeyedForm):
    """Nothing to fill in: one button."""


class WhyForm(KeyedForm):
    """A reason, kept in the ledger for ever."""

    why = forms.CharField(
        label="Why",
        max_length=200,
        help_text="Such as “worn off”. Kept for ever: no names.",
        error_messages={
            "required": "The reason is missing; such as “worn off” would be right.",
            "max_length": "The reason has %(show_value)s characters; 200 at most would be right.",
        },
    )


def in_words(error: PlantFileError) -> str:
    """What was wrong and what would be right, beside the field itself."""
    wrong = "is missing" if error.wrong == "is null" else error.wrong
    for begins, sentence in _SENTENCES.items():
        if wrong.startswith(begins):
            wrong = sentence + wrong.removeprefix(begins)
    return f"{wrong[0].upper()}{wrong[1:]}. Right would be {error.right}."


def is_taken(code: str, by: str) -> str:
    """What is said of a code that something else has; `by`: what that is called."""
    return f"{code} is already the code of {by}; a code of its own would be right."


def digest_of(row: Mapping[str, Any] | None) -> str:
    """A short digest of a row as a page shows it; "" for a new one."""
    return sha256(json.dumps(row, sort_keys=True).encode()).hexdigest()[:16] if row else ""


def text(
    label: str, *, most: int, example: str = "", help_text: str = "", required: bool = False
) -> forms.CharField:
    """One line of text. `example` is what would be right where it is missing."""
    return forms.CharField(
        label=label,
        max_length=most,
        required=required,
        help_text=help_text,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": f"{label} is missing; such as {example} would be right.",
            "max_length": f"This has %(show_value)s characters; {most} at most would be right.",
        },
    )


class LinesField(forms.CharField):
    """Several lines of text; browsers send their ends as two characters, the plant keeps one."""

    def __init__(self, *, label: str, most: int, rows: int = 3, help_text: str = "") -> None:
        super().__init__(
            label=label,
            max_length=most,
            required=False,
            help_text=help_text,
            widget=forms.Textarea(attrs={"rows": rows}),
            error_messages={
                "max_length": f"This has %(show_value)s characters; {most} at most would be right."
            },
        )

    def to_python(self, value: object) -> str:
        return (super().to_python(value) or "").replace("\r\n", "\n").replace("\r", "\n")


def code(*, example: str) -> forms.CharField:
    """A code of a machine or node: what is said of it in plans, tags and the ledger for ever."""
    field = text(
        "Code",
        most=64,
        example=example,
        help_text=f"Unique, such as {example}. It never changes: plans, tags and the ledger name it.",
        required=True,
    )
    field.widget.attrs |= {"autocapitalize": "none", "spellcheck": "false"}
    return field


def whole(label: str, *, initial: int | None, help_text: str = "", unit: str = "") -> forms.IntegerField:
    """A whole number; its bounds are the plant file's."""
    field = forms.IntegerField(
        label=label,
        required=False,
        initial=initial,
        help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={"invalid": f"This is not a whole number; such as {initial or 60} would be right."},
    )
    field.unit = unit  # type: ignore[attr-defined]  # the form pack prints it after the input
    return field
