"""What happened on paper, entered late by two people: what, who did it and when, and then its own fields."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from crispy_forms.layout import Fieldset
from django import forms

from permits.plant.rules.energy import Kind
from permits.work.forms import issuing, occupying, restoring, stopping, testing
from permits.work.forms.asking import CommandForm, MomentField, danger_tag, padlock, words
from permits.work.forms.isolating import POSITIONS
from permits.work.forms.signing import NOT_ITS_OWN
from permits.work.rules import commands as c
from permits.work.rules import state
from permits.work.rules.against import name_of
from permits.work.rules.words import AT_WORK, Phase, Position


class PointOnPaperForm(CommandForm):
    """A form about a point that the printed form names: chosen from the plan, not scanned."""

    point = forms.ChoiceField(
        label="Which point",
        choices=(),
        error_messages={"required": "No point is chosen; the one on the printed form would be right."},
    )

    def offer(self, points: tuple[str, ...]) -> None:
        self.fields["point"].choices = [  # type: ignore[attr-defined]
            issuing.CHOOSE,
            *((point, name_of(self.site, point)) for point in self.permit.points if point in points),
        ]


class LockOnPaperForm(PointOnPaperForm):
    title, button = "A lock was put on", "Enter it"
    padlock = padlock("Number on the padlock, or on the tag where no lock fits")
    tag = danger_tag(required=False)
    position = forms.ChoiceField(
        label="The point was seen",
        choices=[(p.value, label) for p, label in POSITIONS.items()],
        widget=forms.RadioSelect,
    )
    measure_done = words("What was done besides, where no lock fits", most=400)

    def prepare(self) -> None:
        self.offer(self.permit.points)
        self.fields["measure_done"].required = False

    def command(self, *, by: str, at: datetime) -> c.ApplyLock:
        return c.ApplyLock(
            permit=self.permit.id,
            by=by,
            at=at,
            point=self.cleaned_data["point"],
            padlock=self.cleaned_data["padlock"],
            tag=self.cleaned_data["tag"],
            position=Position(self.cleaned_data["position"]),
            typed=True,
            measure_done=self.cleaned_data["measure_done"],
        )


class ReleaseOnPaperForm(PointOnPaperForm):
    title, button = "A store was released", "Enter it"
    method = words("How it was released", rows=2)
    padlock = padlock("Number on the padlock that keeps it released", required=False)
    tag = danger_tag(required=False)

    def prepare(self) -> None:
        nodes = self.site.graph.nodes
        stores = (p for p in self.permit.points if p in nodes and nodes[p].kind is Kind.STORE)
        self.offer(tuple(stores))

    def command(self, *, by: str, at: datetime) -> c.ReleaseStore:
        return c.ReleaseStore(
            permit=self.permit.id,
            by=by,
            at=at,
            point=self.cleaned_data["point"],
            method=self.cleaned_data["method"],
            padlock=self.cleaned_data["padlock"],
            tag=self.cleaned_data["tag"],
            typed=True,
        )


def of_the_lockout(said: str) -> None:
    """Refuses the word that the machine starts: that the rules take only as it is given."""
    if said == "start":
        raise forms.ValidationError(
            "That the machine starts is told again now: what was said on paper may have been too early. "
            "Enter the hand-back and the locks that came off, tell them, and record it as you do."
        )


class TellOnPaperForm(issuing.TellForm):
    """The printed form has two places for who was told; only the word of the lockout is entered late."""

    said = forms.ChoiceField(
        label="What they were told",
        choices=[
            ("lockout", "That the machine is locked out, or will be"),
            ("start", "That it starts again: the last lock is off"),
        ],
        widget=forms.RadioSelect,
        validators=[of_the_lockout],
        error_messages={
            "required": "It is not said what they were told; what the printed form says would be right."
        },
    )
    field_order = ("said", "whom", "how", "covers_tests")


# ── what can be entered ─────────────────────────────────────────────────────────────────────────────────


class ReisolateOnPaperForm(CommandForm):
    """Each lock that went on again is entered by itself, with the code of its plate."""

    title, button, done = "Re-isolate", "Enter it", "Every verification is void from now on."

    def command(self, *, by: str, at: datetime) -> c.Reisolate:
        return c.Reisolate(permit=self.permit.id, by=by, at=at)


@dataclass(frozen=True, slots=True)
class OnPaper:
    """One thing that can have happened on paper: its title, its own form, and when it can be."""

    title: str
    form: type[CommandForm]
    phases: tuple[Phase, ...] = AT_WORK


BEFORE = (Phase.REQUESTED, Phase.ISSUED, Phase.ISOLATING)
BACK = (Phase.RESTORING,)

# In the order of a permit's life. Tests, sign-ons and starts are done again now, or not at all.
KINDS: dict[str, OnPaper] = {
    "stopped": OnPaper("The work was stopped", stopping.StopForm, (*BEFORE, *AT_WORK, *BACK)),
    "suspended": OnPaper("The work was suspended", stopping.SuspendForm),
    "told": OnPaper("Affected people were told", TellOnPaperForm),
    "lock-on": OnPaper("A lock was put on", LockOnPaperForm),
    "released": OnPaper("A store was released", ReleaseOnPaperForm),
    "signed-off": OnPaper("Someone came out and signed off", occupying.SignOffForm),
    "checked": OnPaper("The machine was checked", occupying.CheckForm),
    "watch-left": OnPaper("Someone left their watch", testing.LeaveWatchForm, (*AT_WORK, *BACK)),
    "sanction-ended": OnPaper("A sanction for test was ended", testing.EndSanctionForm),
    "re-isolated": OnPaper("It was isolated again", ReisolateOnPaperForm, (Phase.TESTING, *BACK)),
    "handed-back": OnPaper("The machine was handed back", restoring.HandBackForm),
    "lock-off": OnPaper("A lock was taken off", restoring.RemoveLocksForm, (*AT_WORK, *BACK)),
    "power-back": OnPaper("Power was brought back", restoring.ReenergiseForm, BACK),
    "cancelled": OnPaper("The permit was cancelled", issuing.CancelForm, BEFORE),
}


def kinds_for(permit: state.Permit) -> list[tuple[str, str]]:
    """(kind, title) of what can have happened to a permit in its phase; the rules have the last word."""
    return [(kind, one.title) for kind, one in KINDS.items() if permit.phase in one.phases]


class EnterLateForm(CommandForm):
    """Around the fields of what happened: who did it, when, and the printed form that says so."""

    title, button, done = "Enter what happened on paper", "Both sign: enter it", "Entered late."
    say = "As the printed form says. It counts from now on, not from then."
    signed = c.SIGNED[c.EnterLate]
    second_signed = c.SECOND_SIGNED[c.EnterLate]

    who = forms.ChoiceField(
        label="Who did it",
        choices=(),
        error_messages={"required": "Nobody is chosen; whoever did it, by the printed form, would be right."},
    )
    happened_at = MomentField(label="When", help_text="As on the printed form.")
    printed = words("Number on the printed form", most=40, right="the number at its foot")

    def __init__(self, *args: Any, kind: str, **more: Any) -> None:
        self.kind = KINDS[kind]
        self.inner: CommandForm | None = None
        super().__init__(*args, **more)
        self.title = self.kind.title  # type: ignore[misc]

    def prepare(self) -> None:
        self.fields["who"].choices = [issuing.CHOOSE, *issuing.everyone(self.site)]  # type: ignore[attr-defined]
        self.inner = self.kind.form(site=self.site, permit=self.permit, person=self.person, at=self.at)
        self.own = [name for name in self.inner.fields if name not in NOT_ITS_OWN]
        for name in self.own:
            self.fields[name] = self.inner.fields[name]

    def body(self, own: list[str]) -> list[Any]:
        """Who and when, then what happened as its own form lays it out, in the words of whoever did it."""
        around = ["who", "happened_at", "printed"]
        if not self.own:
            return list(around)
        assert self.inner is not None
        return [*around, Fieldset("As they would say it", *self.inner.body(self.own))]

    def command(self, *, by: str, at: datetime) -> c.EnterLate:
        assert self.inner is not None
        self.inner.cleaned_data = self.cleaned_data
        happened_at = self.cleaned_data["happened_at"]
        what = self.inner.command(by=self.cleaned_data["who"], at=happened_at)
        return c.EnterLate(
            permit=self.permit.id,
            by=by,
            at=at,
            what=cast(c.LateCommand, what),
            happened_at=happened_at,
            second=self.cleaned_data["second_ref"],
            form=self.cleaned_data["printed"],
        )
