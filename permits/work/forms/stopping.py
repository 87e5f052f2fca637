"""Stop, suspend, and lift what holds a permit up."""

from __future__ import annotations

from datetime import datetime

from permits.work.forms.asking import CommandForm, Outcome, words
from permits.work.rules import commands as c
from permits.work.rules import events as e


class StopForm(CommandForm):
    """One field, which may stay empty, and one button."""

    title, button, done = "STOP this work", "STOP this work", "Stopped."
    say = "Anyone may stop the work, at any time. Nobody has to give a reason first."
    stops = holds_up = True
    why = words("What you see, if there is time to say it", help_text="It can be told afterwards.")

    def prepare(self) -> None:
        self.fields["why"].required = False

    def command(self, *, by: str, at: datetime) -> c.StopWork:
        return c.StopWork(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])

    def outcome(self, happened: list[e.Event]) -> Outcome:
        crew = [p for one in happened if isinstance(one, e.WorkStopped) for p in one.crew]
        out = f" {', '.join(map(self.site.name, crew))}: come out and sign off." if crew else ""
        return Outcome(f"{self.done}{out} A safety officer lifts it: {self.site.holders_of('officer')}.")


class SuspendForm(CommandForm):
    title, button, done = "Suspend the work", "Suspend it", "Suspended."
    say = "For a while, with the locks left on. Everyone comes out; every test is done again afterwards."
    holds_up = True
    why = words("Why")

    def command(self, *, by: str, at: datetime) -> c.SuspendPermit:
        return c.SuspendPermit(permit=self.permit.id, by=by, at=at, why=self.cleaned_data["why"])


class LiftForm(CommandForm):
    title, button, done = "Lift what holds it up", "Sign and lift it", "Lifted."
    say = "Look into it first. Nobody goes in at once: the machine is proven dead in the ordinary way."
    signed = c.SIGNED[c.LiftHalt]
    how = words("What became of the reason", rows=2)

    def command(self, *, by: str, at: datetime) -> c.LiftHalt:
        return c.LiftHalt(permit=self.permit.id, by=by, at=at, how=self.cleaned_data["how"])
