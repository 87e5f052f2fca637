"""Trying a plan: which zones, and what is to stay live."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout, Submit
from django import forms

from permits.plant.forms.choosing import node_choices
from permits.plant.rules.energy import Graph, Node


class PlanForm(forms.Form):
    """Asked by GET, so that a plan has an address. Not asked, it is for all zones of the machine."""

    zone = forms.MultipleChoiceField(
        label="Zones",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "No zone is named; tick every zone that a body part will be in.",
            "invalid_choice": "%(value)s is no zone of this machine; one of the list would be right.",
        },
    )
    keep = forms.MultipleChoiceField(
        label="Must stay live",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        error_messages={"invalid_choice": "%(value)s is no node of the list; one of it would be right."},
    )
    asked = forms.CharField(widget=forms.HiddenInput, required=False, initial="1")

    def __init__(
        self,
        data: Any = None,
        *,
        graph: Graph,
        machine: str,
        keepable: Iterable[Node],
        names: Mapping[str, str],
    ) -> None:
        zones = [(zone.id, zone.name) for zone in graph.zones_of(machine)]
        super().__init__(data, initial={"zone": [id for id, _ in zones], "asked": "1"})
        self.fields["zone"].choices = zones  # type: ignore[attr-defined]
        self.fields["keep"].choices = node_choices(keepable, names, kinds=False)  # type: ignore[attr-defined]
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.disable_csrf = True
        opened = " open" if self["keep"].value() else ""
        self.helper.layout = Layout(
            "asked",
            "zone",
            HTML(f'<details class="field"{opened}><summary>Something must stay live</summary>'),
            "keep",
            HTML("</details>"),
        )
        self.helper.add_input(Submit("", "Compute the plan"))
