"""A link: from which node energy passes to which, and whether it can pass back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from permits.plant.forms.asking import KeyedForm
from permits.plant.forms.choosing import node_field
from permits.plant.rules.energy import Graph
from permits.plant.rules.plantfile import PlantFileError

FIELDS = {"from": "source", "to": "target", "both": "both"}


class LinkForm(KeyedForm):
    """A new link, or one that there is: the two ends say which."""

    source = forms.CharField()
    target = forms.CharField()
    both = forms.BooleanField(
        label="Energy can pass back as well (a board that is back-fed, a cylinder that is pushed)",
        required=False,
    )

    def __init__(
        self,
        data: Any = None,
        *,
        graph: Graph,
        names: Mapping[str, str],
        initial: Mapping[str, Any] | None = None,
        button: str,
    ) -> None:
        self.graph, self.names = graph, names
        super().__init__(data, button=button, initial=initial)

    def prepare(self) -> None:
        self.fields["source"] = node_field("Energy comes from", self.graph, self.names)
        self.fields["target"] = node_field("It goes to", self.graph, self.names)

    def body(self) -> list[Any]:
        return ["source", "target", "both"]

    def field_of(self, error: PlantFileError) -> str | None:
        return FIELDS.get(error.field) if error.row.startswith("links[") else None

    def row(self) -> dict[str, Any]:
        """The link as a row of the plant file."""
        given = self.cleaned_data
        return {"from": given["source"], "to": given["target"]} | ({"both": True} if given["both"] else {})
