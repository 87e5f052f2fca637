"""Request, issue, accept, name crew, tell affected people, cancel."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django import forms

from permits.plant.rules.energy import Kind
from permits.work.forms.asking import CommandForm, confirmed, whole_number, words
from permits.work.rules import commands as c
from permits.work.rules import state
from permits.work.rules.issuing import sharing_machines
from permits.work.rules.words import Phase

KINDS_OF_WORK = ("Calibration", "Cleaning", "Inspection", "Repair", "Blade change", "Clearing a jam")


class RequestForm(forms.Form):
    """Zones, work and window of a new permit; the only command form without a permit."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    zones = forms.MultipleChoiceField(
        label="Zones that a body part will be in",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "No zone is named; tick every zone that a body part will be in.",
            "invalid_choice": "%(value)s is not a zone of this machine; choose from the list.",
        },
    )
    keep_live = forms.MultipleChoiceField(
        label="Must stay live for the work",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="For example a controller that has to be read. The plan then leaves it fed, or says why it cannot.",
    )
    kind_of_work = forms.ChoiceField(label="Kind of work", choices=[(k, k) for k in KINDS_OF_WORK])
    reason = words("What is to be done, and why", rows=3)
    starts_in = whole_number("Starts in", least=0, most=24 * 60, initial=0, unit="minutes from now")
    hours = whole_number("Runs for", least=1, most=72, initial=8, unit="hours")

    def __init__(self, data: Any = None, *, site: state.Site, machine: str, initial: dict[str, Any]) -> None:
        super().__init__(data, initial=initial)
        graph = site.graph
        self.fields["zones"].choices = [(n.id, n.name) for n in graph.zones_of(machine)]  # type: ignore[attr-defined]
        live = [n for n in graph.nodes.values() if n.kind is Kind.CARRIER and n.machine == machine]
        self.fields["keep_live"].choices = [(n.id, n.name) for n in live]  # type: ignore[attr-defined]
        if not live:
            del self.fields["keep_live"]

    def command(self, *, by: str, at: datetime) -> c.RequestPermit:
        starts_at = at + timedelta(minutes=self.cleaned_data["starts_in"])
        return c.RequestPermit(
            by=by,
            at=at,
            zones=tuple(self.cleaned_data["zones"]),
            keep_live=tuple(self.cleaned_data.get("keep_live", ())),
            kind_of_work=self.cleaned_data["kind_of_work"],
            reason=self.cleaned_data["reason"],
            starts_at=starts_at,
            ends_at=starts_at + timedelta(hours=self.cleaned_data["hours"]),
        )


def people_choices(site: state.Site, role: str) -> list[tuple[str, str]]:
    found = sorted((p.name, p.ref) for p in site.people.values() if role in p.roles)
    return [(ref, name) for name, ref in found]


class IssueForm(CommandForm):
    title, button, done = "Issue the permit", "Sign and issue", "Issued."
    say = "Read the plan first. Holder and issuer are two people."
    signed = c.SIGNED[c.IssuePermit]

    holder = forms.ChoiceField(label="Holder: in charge of the work", choices=())
    crew = forms.MultipleChoiceField(
        label="Crew: work under it", widget=forms.CheckboxSelectMultiple, required=False
    )
    coordinator = forms.ChoiceField(label="Coordinator of all permits on this machine", required=False)

    def prepare(self) -> None:
        technicians = people_choices(self.site, "technician")
        self.fields["holder"].choices = technicians  # type: ignore[attr-defined]
        self.fields["crew"].choices = technicians  # type: ignore[attr-defined]
        if "technician" in self.site.people[self.permit.requested_by].roles:
            self.fields["holder"].initial = self.permit.requested_by
        if sharing_machines(self.site, self.permit):
            everyone = people_choices(self.site, "technician") + people_choices(self.site, "issuer")
            self.fields["coordinator"].choices = [("", "choose one"), *dict(everyone).items()]  # type: ignore[attr-defined]
        else:
            del self.fields["coordinator"]

    def command(self, *, by: str, at: datetime) -> c.IssuePermit:
        return c.IssuePermit(
            permit=self.permit.id,
            by=by,
            at=at,
            holder=self.cleaned_data["holder"],
            crew=tuple(self.cleaned_data["crew"]),
            coordinator=self.cleaned_data.get("coordinator", ""),
        )


class AcceptForm(CommandForm):
    title, button, done = "Accept the permit", "Sign and accept", "Accepted. The work is yours."
    signed = c.SIGNED[c.AcceptPermit]

    knows_energies = confirmed("I know the kind and magnitude of each energy in the plan")
    knows_hazards = confirmed("I know its hazards")
    knows_control = confirmed("I know how each is locked, released and tested")

    def command(self, *, by: str, at: datetime) -> c.AcceptPermit:
        return c.AcceptPermit(
            permit=self.permit.id,
            by=by,
            at=at,
            knows_energies=self.cleaned_data["knows_energies"],
            knows_hazards=self.cleaned_data["knows_hazards"],
            knows_control=self.cleaned_data["knows_control"],
        )


class ExtendForm(CommandForm):
    title, button, done = "Give more time", "Sign the extension", "Extended."
    say = "Look at the work first: has anything changed since the permit was signed out?"
    signed = c.SIGNED.get(c.ExtendPermit, "")
    hours = whole_number("From now", least=1, most=72, initial=2, unit="hours")

    def command(self, *, by: str, at: datetime) -> c.ExtendPermit:
        until = at + timedelta(hours=self.cleaned_data["hours"])
        return c.ExtendPermit(permit=self.permit.id, by=by, at=at, until=until)


class NameCrewForm(CommandForm):
    title, button, done = "Name crew", "Name this person", "Named. They may sign on."
    who = forms.ChoiceField(label="Who works under this permit", choices=())

    def prepare(self) -> None:
        self.fields["who"].choices = [  # type: ignore[attr-defined]
            (ref, name)
            for ref, name in people_choices(self.site, "technician")
            if not self.permit.works_under_it(ref)
        ]

    def command(self, *, by: str, at: datetime) -> c.NameCrew:
        return c.NameCrew(permit=self.permit.id, by=by, at=at, person=self.cleaned_data["who"])


class TellForm(CommandForm):
    title, button, done = "Tell affected people", "They have been told", "Recorded who was told."
    say = "Everyone who runs the machine or works near it, before the first lock and before power returns."

    whom = words("Who was told", help_text="Groups or roles, such as: operators of lines 3 and 4.")
    how = words("How", initial="in person")
    covers_tests = confirmed("I also said that the machine will be started for tests")

    def prepare(self) -> None:
        if self.permit.phase is Phase.RESTORING:
            del self.fields["covers_tests"]
        elif self.permit.phase is Phase.ISOLATED:
            self.fields["covers_tests"].initial = True

    def command(self, *, by: str, at: datetime) -> c.TellAffected:
        return c.TellAffected(
            permit=self.permit.id,
            by=by,
            at=at,
            whom=self.cleaned_data["whom"],
            how=self.cleaned_data["how"],
            covers_tests=self.cleaned_data.get("covers_tests", False),
        )


class CancelForm(CommandForm):
    title, button, done = "Cancel this permit", "Cancel the permit", "Cancelled."
    why = words("Why")

    def command(self, *, by: str, at: datetime) -> c.CancelPermit:
        return c.CancelPermit(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])
