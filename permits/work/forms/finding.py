"""The short code of a plate, typed by hand."""

from __future__ import annotations

from crispy_forms.helper import FormHelper
from django import forms


class FindForm(forms.Form):
    code = forms.CharField(
        label="Short code on the plate",
        max_length=80,
        help_text="Such as ABC-DEF-7; the last character checks the others.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={"required": "The code is missing; it stands beside the square code on the plate."},
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.helper = FormHelper()
        self.helper.form_tag = False
