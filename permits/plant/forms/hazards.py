"""Where stored energy starts to hurt at a site: lines that an officer may draw tighter than published."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms

from permits.plant.forms.asking import KeyedForm, digest_of, text
from permits.plant.rules.hazardrows import written_hazard_lines
from permits.plant.rules.plantfile import PlantFileError
from permits.plant.rules.rows import plain
from permits.plant.rules.stores.lines import LINES, Line, SiteLines

_GROUPS: Mapping[str, tuple[str, ...]] = {
    "Capacitors": ("shock_v", "shock_j", "reflex_v", "reflex_j", "heat_j"),
    "Gas": ("gas_gauge_pa",),
    "Hot surfaces": ("burn_cooler_by_k",),
}


class HazardLinesForm(KeyedForm):
    """A number, or none, for each line. `there`: the lines that the site draws now."""

    def __init__(self, data: Any = None, *, there: SiteLines) -> None:
        initial = written_hazard_lines(there)
        super().__init__(data, button="Save", seen=digest_of(initial) or "none", initial=initial)

    def prepare(self) -> None:
        for line in LINES.values():
            self.fields[line.name] = _number(line)

    def body(self) -> list[Any]:
        return [
            Fieldset(title, *(Row(*names[at : at + 2]) for at in range(0, len(names), 2)))
            for title, names in _GROUPS.items()
        ]

    def field_of(self, error: PlantFileError) -> str | None:
        name = error.field.removeprefix("hazard_lines.")
        return name if error.field.startswith("hazard_lines.") and name in LINES else None

    def lines(self) -> dict[str, str]:
        """As in a plant file; a line that is left empty is left out: it is the published one."""
        return {name: self.cleaned_data[name] for name in LINES if self.cleaned_data[name]}


def _number(line: Line) -> forms.CharField:
    published = f"Published: {plain(line.published)} {line.unit}. {line.meaning} {line.source}."
    field = text(line.label, most=30, help_text=published)
    field.widget.attrs |= {"inputmode": "decimal"}
    field.unit = line.unit  # type: ignore[attr-defined]  # the form pack prints it after the input
    return field
