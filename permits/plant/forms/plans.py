"""Trying a plan: which zones, and what is to stay live."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout, Submit
from django import forms

from permits.plant.forms.choosing import node_choices
from permits.plant.rules.energy import Graph, Node


@dataclass(frozen=True, slots=True)
class Pin:
    """A point with its two tick boxes."""

    code: str
    name: str
    where: str
    pinned: bool
    forbidden: bool


@dataclass(frozen=True, slots=True)
class Pins:
    """The points that an officer may pin or forbid; `open`: some are, or something is wrong with that."""

    points: list[Pin]
    errors: list[str]
    open: bool


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
    pin = forms.MultipleChoiceField(
        label="In every plan",
        required=False,
        error_messages={"invalid_choice": "%(value)s is no point of the list; one of it would be right."},
    )
    forbid = forms.MultipleChoiceField(
        label="In no plan",
        required=False,
        error_messages={"invalid_choice": "%(value)s is no point of the list; one of it would be right."},
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
        points: Sequence[Node] = (),
    ) -> None:
        zones = [(zone.id, zone.name) for zone in graph.zones_of(machine)]
        super().__init__(data, initial={"zone": [id for id, _ in zones], "asked": "1"})
        self.fields["zone"].choices = zones  # type: ignore[attr-defined]
        self.fields["keep"].choices = node_choices(keepable, names, kinds=False)  # type: ignore[attr-defined]
        self.points = list(points)
        for field in ("pin", "forbid"):
            self.fields[field].choices = [(node.id, node.name) for node in points]  # type: ignore[attr-defined]
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.disable_csrf = True
        opened = " open" if self["keep"].value() else ""
        pins = [HTML('{% include "plant/_pins.html" with pins=form.pins only %}')] if self.points else []
        self.helper.layout = Layout(
            "asked",
            "zone",
            HTML(f'<details class="field"{opened}><summary>Something must stay live</summary>'),
            "keep",
            HTML("</details>"),
            *pins,
        )
        self.helper.add_input(Submit("", "Compute the plan"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        both = sorted(set(cleaned.get("pin", ())) & set(cleaned.get("forbid", ())))
        if both:
            names = {node.id: node.name for node in self.points}
            for id in both:
                self.add_error(
                    "pin", f"{names[id]} is ticked twice; in every plan or in none would be right."
                )
        return cleaned

    @property
    def pins(self) -> Pins:
        pinned, forbidden = (set(self[field].value() or ()) for field in ("pin", "forbid"))
        errors = [str(error) for field in ("pin", "forbid") for error in self.errors.get(field, ())]
        points = [
            Pin(
                node.id,
                node.name,
                ", ".join(filter(None, (node.kind.value, node.designation or node.id))),
                node.id in pinned,
                node.id in forbidden,
            )
            for node in self.points
        ]
        return Pins(points, errors, bool(pinned or forbidden or errors))
