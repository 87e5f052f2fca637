"""Printing tags: on which paper, how large, of which machine; and which tags a list shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Row, Submit
from django import forms
from django.urls import reverse

from permits.plant.forms.asking import KeyedForm
from permits.plant.pages.tags import SHARED
from permits.plant.prints.page import Paper
from permits.plant.tags import SIZES

_SIZES = {
    "small": "small, 60 × 30 mm: beside a breaker",
    "medium": "medium, 92 × 48 mm: read at arm's length",
    "large": "large, 188 × 80 mm: read from a step away",
}


class SheetForm(forms.Form):
    """How to print the tags of a list, by GET."""

    paper = forms.ChoiceField(label="Paper", choices=[(paper.value, paper.value) for paper in Paper])
    size = forms.ChoiceField(label="Size of a tag", choices=[(size, _SIZES[size]) for size in SIZES])
    machine = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *, machine: str = "") -> None:
        begun = {"paper": "A4", "size": "medium", "machine": machine}
        super().__init__(auto_id="id_sheet_%s", initial=begun)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_action = reverse("plant:tag-sheet")
        self.helper.disable_csrf = True
        self.helper.layout = Layout("machine", Row("paper", "size"))
        self.helper.add_input(Submit("", "Print (PDF)", css_id="print-tags"))


class IssueForm(KeyedForm):
    """Issues the tags that are missing: those of a machine, or of the whole site."""

    machine = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)


class TagFilterForm(forms.Form):
    """Whose tags the list shows, by GET."""

    machine = forms.ChoiceField(label="Points of", required=False)

    def __init__(self, data: Any = None, *, machines: Sequence[tuple[str, str]]) -> None:
        super().__init__(data)
        self.fields["machine"].choices = machine_choices(machines)  # type: ignore[attr-defined]
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_class = "filters"
        self.helper.disable_csrf = True
        self.helper.add_input(Submit("", "Show", css_class="quiet", css_id="show-tags"))


def machine_choices(machines: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    return [
        ("", "the whole site"),
        *((code, f"{name} ({code})") for code, name in machines),
        (SHARED, "no machine: shared"),
    ]
