"""The officer's form for the site's own numbers: one field for each, with its range in our own words."""

from __future__ import annotations

import json
from typing import Any
from uuid import uuid4

from crispy_forms.helper import FormHelper
from django import forms

from permits.work.forms.asking import whole_number
from permits.work.forms.wording import in_our_words
from permits.work.rules.policy import SETTINGS, Setting, as_data
from permits.work.rules.words import Policy

WARNING = "Each permit that one person both issues and holds is an exception in the records."


class PolicyForm(forms.Form):
    """`policy`: the site's numbers as they are. `shown`, hidden: what they were on the page that was sent."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    shown = forms.CharField(widget=forms.HiddenInput, max_length=400)

    def __init__(self, data: Any = None, *, policy: Policy) -> None:
        now = as_data(policy)
        super().__init__(data, initial={"key": uuid4(), "shown": json.dumps(now), **now})
        for setting in SETTINGS:
            self.fields[setting.field] = field_of(setting)
        in_our_words(self)
        self.helper = FormHelper()
        self.helper.form_tag, self.helper.disable_csrf = False, True  # the page has both

    def clean_shown(self) -> Policy:
        """What the officer saw; a page that was tampered with is told so."""
        try:
            return Policy(**json.loads(self.cleaned_data["shown"]))
        except (ValueError, TypeError):
            raise forms.ValidationError(self.fields["shown"].error_messages["invalid"]) from None

    @property
    def chosen(self) -> Policy:
        return Policy(**{setting.field: self.cleaned_data[setting.field] for setting in SETTINGS})

    def shows(self, policy: Policy) -> None:
        """The page that is about to be shown is up to date; what was typed stays."""
        self.data = self.data.copy()  # type: ignore[attr-defined]  # what was posted is immutable
        self.data["shown"] = json.dumps(as_data(policy))  # type: ignore[index]


def field_of(setting: Setting) -> forms.Field:
    """A number with its unit and range, or a box to tick; what it is for stands beneath."""
    if setting.is_switch:
        return forms.BooleanField(label=setting.name, required=False, help_text=setting.what_for)
    field = whole_number(
        setting.name, least=setting.least, most=setting.most, initial=setting.default, unit=setting.unit
    )
    zero = f" 0 means {setting.zero}." if setting.zero else ""
    usual = f"Range: {setting.range}. Default: {setting.default}."
    field.help_text = f"{setting.what_for} {usual}{zero}"
    return field
