"""What the page of rules can be narrowed to. Read from the address; nothing here changes anything."""

from __future__ import annotations

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms

from .wording import in_our_words


class FindRulesForm(forms.Form):
    """Words that a rule has to have."""

    text = forms.CharField(
        label="Words in a rule, its clause or its code",
        required=False,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "enterkeyhint": "search"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_our_words(self)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_class = "filters"
        self.helper.add_input(Submit("", "Show"))
