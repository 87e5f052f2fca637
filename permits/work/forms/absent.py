"""An absent person's lock comes off: by an officer and a second person, after two checks."""

from __future__ import annotations

from datetime import datetime

from django import forms

from permits.work.forms.asking import CommandForm, words
from permits.work.rules import commands as c
from permits.work.rules.against import name_of
from permits.work.rules.words import BOX


class TakeOffForm(CommandForm):
    title, button, done = (
        "Take an absent person's lock off",
        "Both sign: it is off",
        "Taken off. They are told before they resume work.",
    )
    say = (
        "Only where its owner is not on site and was sought in every way. On the group box first, where they "
        "are signed on: that padlock says that someone may be inside."
    )
    signed = c.SIGNED[c.TakeOffForAbsent]
    second_signed = c.SECOND_SIGNED[c.TakeOffForAbsent]

    which = forms.ChoiceField(
        label="Which lock",
        choices=(),
        widget=forms.RadioSelect,
        error_messages={
            "required": "No lock is chosen; one of those that hang now would be right.",
            "invalid_choice": "This lock does not hang now; choose from the list.",
        },
    )
    not_on_site = words(
        "How it was found that they are not on site", rows=2, help_text="Gate list, a look round, witnesses."
    )
    tried = words("How they were sought", rows=2, help_text="Every call, message and person, with the time.")
    searched = words(
        "For a padlock on the group box: who searched the zones",
        rows=2,
        help_text="Every zone, by looking into it.",
    )

    def prepare(self) -> None:
        p = self.permit
        self.fields["searched"].required = False
        on_box = [
            (f"{on.person} {BOX}", f"{self.site.name(on.person)}: {self.on_the_box(on.padlock)}")
            for on in p.signed_on
            if on.person != self.person
        ]
        on_points = [
            (
                f"{lock.owner} {lock.where}",
                f"{self.site.name(lock.owner)}: {lock.padlock} on {name_of(self.site, lock.where)}",
            )
            for lock in p.hanging
            if lock.owner != self.person
        ]
        self.fields["which"].choices = [*on_box, *on_points]  # type: ignore[attr-defined]

    @staticmethod
    def on_the_box(padlock: str) -> str:
        return f"{padlock} on the group box, signs them off" if padlock else "signed on, signs them off"

    def command(self, *, by: str, at: datetime) -> c.TakeOffForAbsent:
        owner, _, where = self.cleaned_data["which"].partition(" ")
        return c.TakeOffForAbsent(
            permit=self.permit.id,
            by=by,
            at=at,
            where=where,
            owner=owner,
            second=self.cleaned_data["second_ref"],
            not_on_site=self.cleaned_data["not_on_site"],
            tried=self.cleaned_data["tried"],
            searched=self.cleaned_data["searched"],
        )
