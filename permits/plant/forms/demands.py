"""Which grade of isolator a site demands for each medium, and whether a tag may stand for a lock."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from crispy_forms.layout import Row
from django import forms

from permits.plant.forms.asking import KeyedForm, digest_of
from permits.plant.rules.energy import Grade, Medium
from permits.plant.rules.plantfile import PlantFileError

_ORDER = (Grade.NON_PROVED, Grade.PROVED, Grade.POSITIVE)
_WORDS = {
    Grade.NON_PROVED: "a stated grade, any",
    Grade.PROVED: "proved or positive",
    Grade.POSITIVE: "positive only",
}


class DemandsForm(KeyedForm):
    """A grade, or none, for each medium, and what holds where no lock fits. `there`: the demands as they are;
    `tag_out`: whether a tag may stand for a lock now."""

    tag_out = forms.BooleanField(
        label="Where no lock fits, a tag may stand for the lock",
        required=False,
        help_text=(
            "A tag is not a lock: it warns, and holds nothing. Allowed only at isolators that take no lock, "
            "and only with the extra measure that the plant names there, which is recorded with each tag "
            "(29 CFR 1910.147(c)(2)(i) and (c)(3)). Every such tag is an exception in the records. Unticked, "
            "these isolators isolate nothing, and every procedure and open permit that relies on one is "
            "stopped."
        ),
    )

    def __init__(self, data: Any = None, *, there: Mapping[Medium, Grade], tag_out: bool) -> None:
        initial: dict[str, Any] = {medium.value: there[medium].value for medium in Medium if medium in there}
        if tag_out:
            initial["tag_out"] = True
        super().__init__(data, button="Save", seen=digest_of(initial) or "none", initial=initial)

    def prepare(self) -> None:
        for medium in Medium:
            self.fields[medium.value] = forms.ChoiceField(
                label=medium.value.capitalize(),
                required=False,
                choices=[("", "no demand"), *((grade.value, _WORDS[grade]) for grade in _ORDER)],
                error_messages={
                    "invalid_choice": "%(value)s is no grade of the list; one of it would be right."
                },
            )

    def body(self) -> list[Any]:
        media = [medium.value for medium in Medium]
        return [*(Row(*media[at : at + 2]) for at in range(0, len(media), 2)), "tag_out"]

    def field_of(self, error: PlantFileError) -> str | None:
        name = error.field.removeprefix("demands.")
        return name if name in self.fields else None

    def demands(self) -> dict[str, str]:
        """As in a plant file; a medium without a demand is left out."""
        return {one.value: self.cleaned_data[one.value] for one in Medium if self.cleaned_data[one.value]}
