"""Crew on and off, the machine check, defects."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from crispy_forms.bootstrap import InlineRadios
from crispy_forms.layout import Div, Field
from django import forms

from permits.work.forms.asking import CommandForm, padlock, words
from permits.work.rules import commands as c
from permits.work.rules.out_of_use import defects_left
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding


class SignOnForm(CommandForm):
    title, button, done = "Sign on", "My padlock is on the box", "Signed on."
    say = "Hang your own padlock on the group box, then enter its number. A name on a screen is not a lock."
    lends = True
    padlock = padlock(required=False)

    def prepare(self) -> None:
        self.fields["padlock"].help_text = "Empty only if your own locks hang on every point of the plan."

    def command(self, *, by: str, at: datetime) -> c.SignOnCrew:
        return c.SignOnCrew(permit=self.permit.id, by=by, at=at, padlock=self.cleaned_data["padlock"])


class SignOffForm(CommandForm):
    title, button, done = "Sign off", "I am out, my padlock is off the box", "Signed off."
    say = "Come out, take your tools, take your padlock off the box."
    lends = True

    def command(self, *, by: str, at: datetime) -> c.SignOffCrew:
        return c.SignOffCrew(permit=self.permit.id, by=by, at=at)


class CheckForm(CommandForm):
    """`left`: defects that an earlier permit was closed with, which this check looks at again."""

    title, button, done = "Check the machine", "Record the check", "Machine check recorded."
    say = "The area concerned and the parts that act on it. If that cures it, nothing is adjusted."
    lends = True

    def prepare(self) -> None:
        self.left = defects_left(self.site, self.permit)
        for item, label in CHECK_ITEMS:
            self.fields[item] = forms.ChoiceField(
                label=label,
                choices=[(Finding.OK.value, "in order"), (Finding.DEFECT.value, "defect")],
                widget=forms.RadioSelect,
                error_messages={"required": "Not answered; look, then say in order or defect."},
            )
            self.fields[f"{item}_note"] = forms.CharField(
                label="What is wrong", max_length=300, required=False
            )

    def body(self, own: list[str]) -> list[Any]:
        """The words for a defect show once it is chosen; where the browser cannot do that, always."""
        return [
            Div(InlineRadios(item), Field(f"{item}_note", wrapper_class="where-defect"), css_class="panel")
            for item, _ in CHECK_ITEMS
        ]

    def command(self, *, by: str, at: datetime) -> c.RecordMachineCheck:
        items = tuple(
            CheckItem(item, Finding(self.cleaned_data[item]), self.cleaned_data[f"{item}_note"].strip())
            for item, _ in CHECK_ITEMS
        )
        return c.RecordMachineCheck(permit=self.permit.id, by=by, at=at, items=items)


class DefectForm(CommandForm):
    """One open defect: the crew says how it was mended, or an officer why the machine may run with it."""

    title, button, done = "Open defects", "Record", "Recorded."
    lends = True
    defect = forms.ChoiceField(label="Which defect", choices=(), widget=forms.RadioSelect)
    ended = forms.ChoiceField(
        label="It is",
        choices=[("resolved", "mended"), ("accepted", "accepted as it is (safety officer only)")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether the defect is mended or accepted."},
    )
    how = words("How it was mended, or why it is accepted", rows=2)

    def prepare(self) -> None:
        items = dict(CHECK_ITEMS)
        self.fields["defect"].choices = [  # type: ignore[attr-defined]
            (str(n), f"{items.get(d.item, d.item)}: {d.what}") for n, d in self.permit.open_defects
        ]
        if len(self.permit.open_defects) == 1:
            self.fields["defect"].initial = str(self.permit.open_defects[0][0])

    def command(self, *, by: str, at: datetime) -> c.ResolveDefect | c.AcceptDefect:
        number, how = int(self.cleaned_data["defect"]), self.cleaned_data["how"]
        if self.cleaned_data["ended"] == "resolved":
            return c.ResolveDefect(permit=self.permit.id, by=by, at=at, defect=number, how=how)
        return c.AcceptDefect(permit=self.permit.id, by=by, at=at, defect=number, why=how)
