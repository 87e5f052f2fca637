"""Issue, accept, give more time, name crew, tell affected people and hear it back, cancel."""

from __future__ import annotations

from datetime import datetime, timedelta

from django import forms

from permits.work.forms.asking import CommandForm, confirmed, whole_number, words
from permits.work.rules import commands as c
from permits.work.rules import state
from permits.work.rules.against import hosting_in_words
from permits.work.rules.issuing import sharing_machines
from permits.work.rules.words import Notice, Phase

CHOOSE = ("", "choose one")


def people_choices(site: state.Site, role: str) -> list[tuple[str, str]]:
    """(reference, name) of everyone with a role, by name."""
    found = sorted((p.name, p.ref) for p in site.people.values() if role in p.roles)
    return [(ref, name) for name, ref in found]


def everyone(site: state.Site) -> list[tuple[str, str]]:
    """(reference, name) of everyone of the site, by name."""
    found = sorted((p.name, p.ref) for p in site.people.values())
    return [(ref, name) for name, ref in found]


def workers(site: state.Site, permit: state.Permit, at: datetime) -> list[tuple[str, str]]:
    """The technicians, each with what matters for this permit: whose contractor, authorised, qualified."""
    return [
        (ref, f"{name} ({note})" if (note := fitness(site, permit, ref, at)) else name)
        for ref, name in people_choices(site, "technician")
    ]


def fitness(site: state.Site, permit: state.Permit, person: str, at: datetime) -> str:
    machines = site.machines_of(permit.zones)
    held = {machine: site.standing(person, machine, at) for machine in machines}
    notes = [hosting_in_words(site, person, at)]
    if lacking := [machine for machine in machines if not held[machine].authorised]:
        notes.append(f"not authorised for {', '.join(lacking)}")
    elif machines and all(one.qualified for one in held.values()):
        notes.append("qualified to test")
    return "; ".join(filter(None, notes))


class IssueForm(CommandForm):
    title, button, done = "Issue the permit", "Sign and issue", "Issued."
    say = "Read the plan first. Holder and issuer are two people."
    signed = c.SIGNED[c.IssuePermit]
    shows_plan = True

    holder = forms.ChoiceField(
        label="Holder: in charge of the work",
        choices=(),
        error_messages={
            "required": "No holder is chosen; the technician in charge of the work would be right."
        },
    )
    crew = forms.MultipleChoiceField(
        label="Crew: work under it", widget=forms.CheckboxSelectMultiple, required=False
    )
    coordinator = forms.ChoiceField(label="Coordinator of all permits on this machine", required=False)

    def prepare(self) -> None:
        technicians = workers(self.site, self.permit, self.at)
        self.fields["holder"].choices = [CHOOSE, *technicians]  # type: ignore[attr-defined]
        self.fields["crew"].choices = technicians  # type: ignore[attr-defined]
        if "technician" in self.site.roles_of(self.permit.requested_by):
            self.fields["holder"].initial = self.permit.requested_by
        others = sharing_machines(self.site, self.permit)
        if others:
            self.offer_coordinators([p.coordinator for p in others if p.coordinator])
        else:
            del self.fields["coordinator"]

    def offer_coordinators(self, named: list[str]) -> None:
        """Anyone at work or who issues; whoever coordinates the machine already is proposed."""
        field = self.fields["coordinator"]
        both = dict(people_choices(self.site, "technician") + people_choices(self.site, "issuer"))
        whose = ((ref, name, hosting_in_words(self.site, ref, self.at)) for ref, name in both.items())
        offered = ((ref, f"{name} ({note})" if note else name) for ref, name, note in whose)
        field.choices = [CHOOSE, *offered]  # type: ignore[attr-defined]
        if named:
            field.initial = named[0]

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
    shows_plan = True

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
    who = forms.ChoiceField(
        label="Who works under this permit",
        choices=(),
        error_messages={
            "required": "Nobody is chosen; a technician who is authorised for the machine would be right."
        },
    )

    def prepare(self) -> None:
        self.fields["who"].choices = [  # type: ignore[attr-defined]
            CHOOSE,
            *(
                (ref, name)
                for ref, name in workers(self.site, self.permit, self.at)
                if not self.permit.works_under_it(ref)
            ),
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


class AcknowledgeForm(CommandForm):
    title, button, done = "Say that a notice reached you", "It reached me", "Recorded that it reached you."
    say = "So that the holder knows that you have been told."
    lends = True
    notice = forms.ChoiceField(
        label="Which notice",
        choices=(),
        widget=forms.RadioSelect,
        error_messages={"required": "No notice is chosen; the one that reached you would be right."},
    )

    def prepare(self) -> None:
        p = self.permit
        said = {one.notice for one in p.acknowledgements if one.person == self.person}
        numbers = sorted(range(len(p.notices)), key=lambda n: n in said)  # what is new to one comes first
        self.fields["notice"].choices = [(str(n), self.label(p.notices[n])) for n in numbers]  # type: ignore[attr-defined]
        if len(numbers) == 1:
            self.fields["notice"].initial = str(numbers[0])

    def label(self, notice: Notice) -> str:
        """"To operators of lines 3 and 4, by radio: Odo Kestrelman at 08:40 on 25 November"."""
        return f"To {notice.whom}, {notice.how}: {self.site.name(notice.by)} at {self.site.clock(notice.at)}"

    def command(self, *, by: str, at: datetime) -> c.AcknowledgeNotice:
        notice = int(self.cleaned_data["notice"])
        return c.AcknowledgeNotice(permit=self.permit.id, by=by, at=at, notice=notice)


class CancelForm(CommandForm):
    title, button, done = "Cancel this permit", "Cancel the permit", "Cancelled."
    why = words("Why")

    def command(self, *, by: str, at: datetime) -> c.CancelPermit:
        return c.CancelPermit(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])
