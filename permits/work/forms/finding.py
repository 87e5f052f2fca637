"""The short code of a plate, typed by hand."""

from __future__ import annotations

from crispy_forms.helper import FormHelper
from django import forms

from permits.work.forms.asking import plate_code
from permits.work.forms.wording import in_our_words


class FindForm(forms.Form):
    code = plate_code(
        "Short code on the plate", help_text="Such as ABC-DEF-7; the last character checks the others."
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        in_our_words(self)
        self.helper = FormHelper()
        self.helper.form_tag, self.helper.disable_csrf = False, True  # the page has both
