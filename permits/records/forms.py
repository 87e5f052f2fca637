"""What the records pages can be filtered by. Read from the address; nothing here changes anything."""

from __future__ import annotations

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms

from permits.records.queries import Wanted, kinds_of_exceptions
from permits.work.queries import PHASES

NO_DATE = "“%(value)s” is no date; a day such as 2026-11-25 would be right."


class DayField(forms.DateField):
    """A calendar day of the site."""

    def __init__(self, *, label: str) -> None:
        super().__init__(
            label=label,
            required=False,
            input_formats=["%Y-%m-%d"],
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        )

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except forms.ValidationError:
            raise forms.ValidationError(NO_DATE, params={"value": value}, code="invalid") from None


class Filter(forms.Form):
    """Two days that something lies between."""

    since = DayField(label="From")
    until = DayField(label="To")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_class = "filters"
        self.helper.add_input(Submit("", "Show"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        since, until = cleaned.get("since"), cleaned.get("until")
        if since and until and until < since:
            self.add_error(
                "until", f"The last day is before the first; {since} or a later day would be right."
            )
        return cleaned

    @property
    def wanted(self) -> Wanted:
        """What is asked for, once the form is valid."""
        known = {name: value for name, value in self.cleaned_data.items() if value}
        return Wanted(**known)


class SearchForm(Filter):
    text = forms.CharField(
        label="Search",
        required=False,
        max_length=200,
        widget=forms.TextInput(
            attrs={
                "type": "search",
                "autocomplete": "off",
                "placeholder": "number, reason, machine, zone, person",
            }
        ),
    )
    phase = forms.ChoiceField(
        label="Phase",
        required=False,
        choices=[("", "any"), *((phase.value, words) for phase, (_, words) in PHASES.items())],
        error_messages={"invalid_choice": "There is no phase “%(value)s”; one of the list would be right."},
    )
    only_exceptions = forms.BooleanField(label="With exceptions only", required=False)

    field_order = ("text", "phase", "since", "until", "only_exceptions")


class ExceptionsForm(Filter):
    kind = forms.ChoiceField(
        label="Kind",
        required=False,
        choices=[("", "any"), *((what.value, what.words) for what in kinds_of_exceptions())],
        error_messages={"invalid_choice": "There is no kind “%(value)s”; one of the list would be right."},
    )

    field_order = ("kind", "since", "until")
