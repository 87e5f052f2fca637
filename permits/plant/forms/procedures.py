"""Writing a revision of a machine's procedure, and choosing two to compare."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Row, Submit
from django import forms

from permits.plant.forms.asking import KeyedForm, LinesField
from permits.plant.forms.choosing import Groups
from permits.plant.pages.procedures import TITLES
from permits.plant.rules.procedures import TEXTS

LONGEST = 6000


class ProcedureForm(KeyedForm):
    """The zones that a revision is for, and its six parts; they may still be empty in a draft."""

    zones = forms.MultipleChoiceField(
        label="Zones it makes safe",
        widget=forms.CheckboxSelectMultiple,
        help_text="The plan is proven for these zones and kept with the revision.",
        error_messages={
            "required": "No zone is ticked; one at least would be right.",
            "invalid_choice": "%(value)s is no zone of this machine; one of the list would be right.",
        },
    )

    keep_live = forms.MultipleChoiceField(
        label="Must stay live",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="The plan leaves a supply to each; the revision no longer holds once one is cut off.",
        error_messages={"invalid_choice": "%(value)s is no node of the list; one of it would be right."},
    )

    def __init__(
        self,
        data: Any = None,
        *,
        zones: Sequence[tuple[str, str]],
        keepable: Groups | None = None,
        initial: Mapping[str, Any] | None = None,
        button: str,
    ) -> None:
        self.choices, self.keepable = zones, keepable or []
        super().__init__(data, button=button, initial=initial)

    def prepare(self) -> None:
        self.fields["zones"].choices = self.choices  # type: ignore[attr-defined]
        self.fields["keep_live"].choices = self.keepable  # type: ignore[attr-defined]
        for field, words in TEXTS.items():
            help_text = f"{words[0].upper()}{words[1:]}."
            if field != "local_rules":
                help_text += " Needed before it can be approved."
            if field == "release_text":
                help_text = help_text.replace("Needed", "Where the plan releases a store, needed")
            self.fields[field] = LinesField(label=TITLES[field], most=LONGEST, rows=4, help_text=help_text)

    def body(self) -> list[Any]:
        """What must stay live is seldom asked for: closed, unless something is ticked."""
        opened = " open" if self["keep_live"].value() else ""
        return [
            "zones",
            HTML(f'<details class="field"{opened}><summary>Something must stay live</summary>'),
            "keep_live",
            HTML("</details>"),
            *TEXTS,
        ]

    @property
    def texts(self) -> dict[str, str]:
        return {field: self.cleaned_data[field] for field in TEXTS}


class CompareForm(forms.Form):
    """Two revisions, by GET."""

    old = forms.TypedChoiceField(label="Revision", coerce=int)
    new = forms.TypedChoiceField(label="with revision", coerce=int)

    def __init__(self, data: Any = None, *, revisions: Sequence[tuple[int, str]]) -> None:
        super().__init__(data)
        for field in self.fields.values():
            field.choices = revisions  # type: ignore[attr-defined]
            field.error_messages["invalid_choice"] = (
                "There is no revision %(value)s; one of the list would be right."
            )
            field.error_messages["required"] = "No revision is chosen; one of the list would be right."
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.disable_csrf = True
        self.helper.layout = Row("old", "new")
        self.helper.add_input(Submit("", "Compare"))
