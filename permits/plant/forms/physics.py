"""What a store holds, in figures read off plates and data sheets: the fields of its kind, with units."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Row
from django import forms

from permits.plant.forms.asking import KeyedForm, digest_of, in_words, text
from permits.plant.pages.stores import FIGURES, Figure
from permits.plant.rules.plantfile import PlantFileError, PlantFileErrors
from permits.plant.rules.rows import plain, shown
from permits.plant.rules.stores.gas import Model
from permits.plant.rules.stores.kinds import KINDS

_MOST = 30
_ON_THE_PAGE = {"see the units in their names": "see the units beside them"}


class PhysicsForm(KeyedForm):
    """The figures of one kind of store. `row`: the node as it is, a row of the plant file."""

    def __init__(self, data: Any = None, *, store: str, row: Mapping[str, Any], button: str) -> None:
        self.store, self.row_there = store, row
        there = row.get("physics") or {}
        initial = {**_defaults(store), **(there if there.get("kind") == store else {})}
        super().__init__(data, button=button, seen=digest_of(row), initial=initial)

    def prepare(self) -> None:
        needed = {field.name for field in fields(KINDS[self.store]) if field.default is _NO_DEFAULT}
        for figure in FIGURES[self.store]:
            self.fields[figure.name] = _number(figure, required=figure.name in needed)
        if self.store == "receiver":
            self.fields["model"] = forms.ChoiceField(
                label="How its energy is computed",
                required=False,
                choices=[("", "by the model that gives the most"), *((m.value, _model(m)) for m in Model)],
                error_messages={
                    "invalid_choice": "%(value)s is no model of the list; one of it would be right."
                },
            )

    def body(self) -> list[Any]:
        names = [figure.name for figure in FIGURES[self.store]]
        rows: list[Any] = [Row(*names[at : at + 2]) for at in range(0, len(names), 2)]
        return rows + (["model"] if "model" in self.fields else [])

    def row(self) -> dict[str, Any]:
        """The node as a row of the plant file, with the physics that was given."""
        given = {name: self.cleaned_data[name] for name in self._members if self.cleaned_data[name]}
        return {**self.row_there, "physics": {"kind": self.store, **given}}

    def field_of(self, error: PlantFileError) -> str | None:
        name = error.field.removeprefix("physics.")
        return name if self._is_own(error) and name in self._members else None

    def show_errors(self, errors: PlantFileErrors) -> None:
        """Each error at its field, what is said of the store as a whole above them, in the page's words."""
        for error in errors.errors:
            if not self._is_own(error):
                self.add_error(None, str(error))
            elif error.field.startswith("physics"):
                self.add_error(self.field_of(error), self._said(error))
            else:
                self.add_error(None, f"{error.field} of this point: {self._said(error)}")

    @property
    def _members(self) -> list[str]:
        return [name for name in self.fields if name not in ("key", "seen")]

    def _is_own(self, error: PlantFileError) -> bool:
        return error.row.endswith(f"(id {shown(self.row_there['id'])})")

    def _said(self, error: PlantFileError) -> str:
        words = in_words(error)
        for name in self._members:
            words = re.sub(rf"\b{name}\b", f"“{self.fields[name].label}”", words)
        for in_a_file, here in _ON_THE_PAGE.items():
            words = words.replace(in_a_file, here)
        return words


_NO_DEFAULT = fields(KINDS["raised"])[0].default


def _defaults(store: str) -> dict[str, str]:
    """What is assumed where nothing is said, shown in its field."""
    return {
        field.name: plain(field.default)
        for field in fields(KINDS[store])
        if isinstance(field.default, Decimal)
    }


def _number(figure: Figure, *, required: bool) -> forms.CharField:
    field = text(
        figure.label,
        most=_MOST,
        help_text=figure.help_text,
        example=figure.example,
        required=required,
    )
    field.widget.attrs |= {"inputmode": "decimal"}
    field.unit = figure.unit  # type: ignore[attr-defined]  # the form pack prints it after the input
    return field


def _model(model: Model) -> str:
    return f"by {model.words} model"
