"""A machine: what people call it, where it stands, what it can do to a person."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from crispy_forms.layout import Row
from django import forms

from permits.plant.forms.asking import KeyedForm, LinesField, code, digest_of, is_taken, text
from permits.plant.rules.plantfile import PlantFileError

FIELDS = ("name", "designation", "place", "hazards")


class MachineForm(KeyedForm):
    """A new machine, or one that there is (`present`, a row of the plant file)."""

    id = code(example="C1")
    name = text("Name", most=120, example="Crosscut cell", required=True, help_text="What people call it.")
    designation = text("Designation", most=120, help_text="After IEC 81346, such as =L3.C1.")
    place = text("Place", most=200, help_text="Where it stands.")
    hazards = LinesField(
        label="Hazards",
        most=2000,
        help_text="What it can do to a person, in words: what coasts, falls, is thrown, stays live.",
    )

    def __init__(
        self,
        data: Any = None,
        *,
        row: Mapping[str, Any] | None = None,
        taken: Mapping[str, str] | None = None,
        button: str,
    ) -> None:
        self.row_there, self.taken = row, taken or {}
        super().__init__(data, button=button, seen=digest_of(row), initial=row)

    def prepare(self) -> None:
        self.fields["id"].disabled = self.row_there is not None

    def body(self) -> list[Any]:
        return [Row("id", "name"), Row("designation", "place"), "hazards"]

    def clean_id(self) -> str:
        id: str = self.cleaned_data["id"]
        if self.row_there is None and id in self.taken:
            raise forms.ValidationError(is_taken(id, f"the machine {self.taken[id]}"))
        return id

    def field_of(self, error: PlantFileError) -> str | None:
        return error.field if error.row.startswith("machines[") and error.field in self.fields else None

    def row(self) -> dict[str, Any]:
        """The machine as a row of the plant file."""
        given = {field: self.cleaned_data[field] for field in FIELDS if self.cleaned_data[field]}
        return {"id": self.cleaned_data["id"]} | given
