"""Clear confirmations, sanction for test, test cycles, re-isolate."""

from __future__ import annotations

from datetime import datetime, timedelta

from django import forms

from permits.work.forms.asking import CommandForm, confirmed, whole_number, words
from permits.work.forms.issuing import CHOOSE, everyone
from permits.work.rules import commands as c
from permits.work.rules.against import name_of
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.words import Seen


class ConfirmClearForm(CommandForm):
    title, button, done = "Confirm clear of people", "I see that it is clear", "Confirmed clear."
    say = "Parts leave the machine by themselves: nobody may stand where they are thrown."
    lends = True

    areas = forms.MultipleChoiceField(
        label="Clear of people now",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "No area is ticked; tick those that you see now."},
    )
    how = forms.ChoiceField(
        label="How",
        choices=[
            (Seen.SELF.value, "I see it myself"),
            (Seen.RADIO.value, "told by radio by someone who sees it"),
        ],
        widget=forms.RadioSelect,
        initial=Seen.SELF.value,
    )
    seen_by = forms.ChoiceField(label="If by radio: who sees it", choices=(), required=False)
    one_place = confirmed("All of them are seen from one place")
    watching = confirmed("I stay outside the throw line and keep watch")

    def prepare(self) -> None:
        areas = areas_to_confirm(self.site, self.permit) or self.permit.zones
        self.fields["areas"].choices = [(a, self.site.graph.name(a)) for a in areas]  # type: ignore[attr-defined]
        self.fields["seen_by"].choices = [CHOOSE, *everyone(self.site)]  # type: ignore[attr-defined]
        if len(areas) == 1:
            self.fields["areas"].initial = list(areas)

    def command(self, *, by: str, at: datetime) -> c.ConfirmClear:
        return c.ConfirmClear(
            permit=self.permit.id,
            by=by,
            at=at,
            areas=tuple(self.cleaned_data["areas"]),
            how=Seen(self.cleaned_data["how"]),
            one_place=self.cleaned_data["one_place"],
            watching=self.cleaned_data["watching"],
            seen_by=self.cleaned_data["seen_by"],
        )


class LeaveWatchForm(CommandForm):
    title, button, done = "Leave your watch", "I no longer keep watch", "Your watch has ended."
    say = "What you confirmed clear is no longer kept fresh by you."
    lends = True

    def command(self, *, by: str, at: datetime) -> c.LeaveWatch:
        return c.LeaveWatch(permit=self.permit.id, by=by, at=at)


TWO_HOURS = 120  # minutes


class SanctionForm(CommandForm):
    title, button, done = "Sanction a test", "Sign the sanction", "Sanction given."
    say = "Only the points that the test needs. Every other lock stays on."
    signed = c.SIGNED[c.GiveSanction]
    shows_plan = short_plan = True

    points = forms.MultipleChoiceField(
        label="Points that may be energised",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "No point is ticked; tick the points that the test needs, and no others."
        },
    )
    limits = words("Limits of the test", rows=2, help_text="Mode, speed, what is run, what is not.")
    cycles = whole_number("Test cycles", least=1, most=20, initial=4)
    minutes = whole_number("Ends in", least=5, most=24 * 60, initial=TWO_HOURS, unit="minutes")

    def prepare(self) -> None:
        self.fields["points"].choices = [  # type: ignore[attr-defined]
            (point, name_of(self.site, point)) for point in self.permit.points
        ]
        # A sanction ends with its permit; a few minutes are left for reading the page and signing it.
        left = int((self.permit.ends_at - self.at).total_seconds()) // 60 - 5
        self.fields["minutes"].initial = max(5, min(TWO_HOURS, 60 * self.site.policy.test_hours - 5, left))

    def command(self, *, by: str, at: datetime) -> c.GiveSanction:
        return c.GiveSanction(
            permit=self.permit.id,
            by=by,
            at=at,
            points=tuple(self.cleaned_data["points"]),
            limits=self.cleaned_data["limits"],
            cycles=self.cleaned_data["cycles"],
            until=at + timedelta(minutes=self.cleaned_data["minutes"]),
        )


class BeginCycleForm(CommandForm):
    title, button, done = "Begin a test cycle", "Begin the cycle", "The cycle has begun. Take your locks off."
    tools_out = confirmed("Tools and material are out")
    guards_on = confirmed("The guards are on")

    def command(self, *, by: str, at: datetime) -> c.BeginCycle:
        return c.BeginCycle(
            permit=self.permit.id,
            by=by,
            at=at,
            tools_out=self.cleaned_data["tools_out"],
            guards_on=self.cleaned_data["guards_on"],
        )


class ReadyForm(CommandForm):
    title, button, done = "Ready to energise", "Sign ready", "Ready. The sanctioned points may be closed."
    say = "The last step before the first point is closed."
    signed = c.SIGNED[c.Ready]

    def command(self, *, by: str, at: datetime) -> c.Ready:
        return c.Ready(permit=self.permit.id, by=by, at=at)


class EndSanctionForm(CommandForm):
    title, button, done = "End the sanction", "End it", "The sanction has ended."
    why = words("Why")

    def command(self, *, by: str, at: datetime) -> c.EndSanction:
        return c.EndSanction(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])
