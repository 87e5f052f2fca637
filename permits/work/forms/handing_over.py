"""The permit passes to another holder: offer it, name a new holder, withdraw, take it over."""

from __future__ import annotations

from datetime import datetime

from django import forms

from permits.work.forms.asking import CommandForm, words
from permits.work.forms.issuing import CHOOSE, AcceptForm, workers
from permits.work.rules import commands as c


class NextHolderForm(CommandForm):
    """A form that names who holds the permit next."""

    to = forms.ChoiceField(
        label="Who holds it next",
        choices=(),
        error_messages={
            "required": "Nobody is chosen; a technician who is authorised for the machine would be right."
        },
    )

    def prepare(self) -> None:
        others = [one for one in workers(self.site, self.permit, self.at) if one[0] != self.permit.holder]
        self.fields["to"].choices = [CHOOSE, *others]  # type: ignore[attr-defined]


class OfferForm(NextHolderForm):
    title, button, done = "Hand the permit over", "Sign and hand over", "Offered. Yours until they sign."
    say = (
        "Tell them the state of the work, face to face. They hang their own locks beside yours, then they "
        "sign; until then the permit is yours and your locks stay on."
    )
    signed = c.SIGNED[c.OfferHandover]

    def command(self, *, by: str, at: datetime) -> c.OfferHandover:
        return c.OfferHandover(permit=self.permit.id, by=by, at=at, to=self.cleaned_data["to"])


class NameHolderForm(NextHolderForm):
    title, button, done = "Name a new holder", "Sign: new holder named", "Named. They take the permit over."
    say = "Only where the holder is absent. The new holder looks at the work before they sign."
    signed = c.SIGNED[c.NameHolder]
    why = words("How you know that the holder is absent", rows=2)

    def command(self, *, by: str, at: datetime) -> c.NameHolder:
        return c.NameHolder(
            permit=self.permit.id, by=by, at=at, to=self.cleaned_data["to"], why=self.cleaned_data["why"]
        )


class WithdrawForm(CommandForm):
    title, button, done = "Withdraw the handover", "Withdraw it", "Withdrawn. The holder stays the same."
    why = words("Why")

    def command(self, *, by: str, at: datetime) -> c.WithdrawHandover:
        return c.WithdrawHandover(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])


class TakeOverForm(AcceptForm):
    """The same three confirmations as when a permit is accepted."""

    title, button, done = "Take the permit over", "Sign and take over", "Taken over. The work is yours."
    say = "Look at the work itself, every point and every lock, before you sign."
    signed = c.SIGNED[c.AcceptHandover]

    def command(self, *, by: str, at: datetime) -> c.AcceptHandover:  # type: ignore[override]
        asked = super().command(by=by, at=at)
        return c.AcceptHandover(
            permit=self.permit.id,
            by=by,
            at=at,
            knows_energies=asked.knows_energies,
            knows_hazards=asked.knows_hazards,
            knows_control=asked.knows_control,
        )
