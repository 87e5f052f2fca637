"""Hand back, take locks off, re-energise, close."""

from __future__ import annotations

from datetime import datetime

from django import forms

from permits.work.forms.asking import CommandForm, Outcome, confirmed, words
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.against import name_of
from permits.work.rules.restoring import may_be_running
from permits.work.rules.words import Phase


class HandBackForm(CommandForm):
    title, button, done = "Hand the machine back", "Sign the hand-back", "Handed back. Take your locks off."
    signed = c.SIGNED[c.HandBack]

    machine_whole = confirmed("The machine is whole")
    guards_on = confirmed("The guards are on")
    tools_out = confirmed("Tools and material are out")
    people_out = confirmed("People are out")
    standstill = confirmed("Everything stands still")
    neutral = confirmed("The controls are in neutral")

    def prepare(self) -> None:
        if self.permit.phase is not Phase.TESTING and not may_be_running(self.site, self.permit):
            del self.fields["standstill"], self.fields["neutral"]

    def command(self, *, by: str, at: datetime) -> c.HandBack:
        told = {name: bool(self.cleaned_data.get(name)) for name in CONFIRMED}
        return c.HandBack(permit=self.permit.id, by=by, at=at, **told)


CONFIRMED = ("machine_whole", "guards_on", "tools_out", "people_out", "standstill", "neutral")


class RemoveLocksForm(CommandForm):
    """The person's own locks, and, for the holder, releases that no lock holds."""

    title, button, done = "Take your locks off", "My locks are off these", "Locks off."
    say = "Each lock comes off by its owner. Tick only what you have taken off."
    lends = True

    points = forms.MultipleChoiceField(
        label="My locks are off",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "No point is ticked; tick those that your lock is off.",
            "invalid_choice": "No lock of a permit hangs on %(value)s; choose from the list.",
        },
    )

    def prepare(self) -> None:
        p = self.permit
        owners = {pt: [k.owner for k in p.hanging if k.where == pt] for pt in p.points}
        offered = [pt for pt in reversed(p.points) if owners[pt] or pt in p.released]
        if p.phase is Phase.TESTING and p.sanction:
            offered = [pt for pt in offered if pt in p.sanction.points]
        offered.sort(key=lambda pt: self.person not in owners[pt])  # one's own first
        self.fields["points"].choices = [(pt, self.label(pt, owners[pt])) for pt in offered]  # type: ignore[attr-defined]

    def label(self, point: str, owners: list[str]) -> str:
        """The point; and whose locks hang there, where none is one's own."""
        name = name_of(self.site, point)
        if self.person in owners:
            return name
        return f"{name} ({', '.join(map(self.site.name, owners)) or 'released, no lock'})"

    def command(self, *, by: str, at: datetime) -> c.RemoveLocks:
        return c.RemoveLocks(permit=self.permit.id, by=by, at=at, points=tuple(self.cleaned_data["points"]))


class ReenergiseForm(CommandForm):
    title, button, done = "Re-energise", "Power is back", "Power is back. Holder and issuer now sign."
    say = "Close the points in the reverse order of the plan, unless its procedure says otherwise."
    visual_check = confirmed("I have looked once more: nobody is in reach, nothing lies in the machine")

    def command(self, *, by: str, at: datetime) -> c.Reenergise:
        return c.Reenergise(
            permit=self.permit.id, by=by, at=at, visual_check=self.cleaned_data["visual_check"]
        )


class CloseForm(CommandForm):
    title, button, done = "Sign the permit closed", "Sign", "Signed."
    signed = c.SIGNED[c.SignClosed]

    def command(self, *, by: str, at: datetime) -> c.SignClosed:
        return c.SignClosed(permit=self.permit.id, by=by, at=at)

    def outcome(self, happened: list[e.Event]) -> Outcome:
        closed = any(isinstance(one, e.PermitClosed) for one in happened)
        return Outcome(
            "Signed. The permit is closed." if closed else "Signed. The other signature closes it."
        )


class CloseOutOfUseForm(CommandForm):
    title, button, done = "Close as not proven", "Sign: out of use", "Closed. The machine is out of use."
    say = "What is still open is written down. The machine stays out of use until it is proven."
    signed = c.SIGNED[c.CloseOutOfUse]
    why = words("Why it cannot be proven", rows=2)

    def command(self, *, by: str, at: datetime) -> c.CloseOutOfUse:
        return c.CloseOutOfUse(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])
