"""What concerns the whole site: an emergency, paper mode, who is to be told that their lock was taken off."""

from __future__ import annotations

from datetime import datetime

from django import forms

from permits.work.forms.asking import MomentField, SiteForm, confirmed, words
from permits.work.rules import commands as c


class DeclareEmergencyForm(SiteForm):
    title, button = "Declare an emergency", "STOP every permit now"
    done = "The emergency is declared. Every open permit is stopped."
    say = "Every open permit of the site is stopped and everyone is called out. No PIN is asked."
    stops = holds_up = True
    why = words("What happened, if there is time to say it", help_text="It can be told afterwards.")

    def prepare(self) -> None:
        self.fields["why"].required = False

    def command(self, *, by: str, at: datetime) -> c.DeclareEmergency:
        return c.DeclareEmergency(by=by, at=at, why=self.cleaned_data["why"])


class EndEmergencyForm(SiteForm):
    title, button = "End the emergency", "Sign: it is over"
    done = "The emergency has ended. Each permit stays stopped until an officer lifts it."
    say = "Each permit stays stopped after that, until an officer has looked into it and lifts it."
    signed = c.SIGNED[c.EndEmergency]
    how = words("How it ended", rows=2)

    def command(self, *, by: str, at: datetime) -> c.EndEmergency:
        return c.EndEmergency(by=by, at=at, how=self.cleaned_data["how"])


class DeclarePaperForm(SiteForm):
    title, button, done = "Declare paper mode", "Go on paper", "Paper mode is declared."
    say = (
        "For when the server was down and work went on with the printed forms. Until all of them are "
        "entered, only what makes things safer is accepted."
    )
    since = MomentField(label="On paper since", help_text="When the server went down.")
    why = words("Why", help_text="What failed.")

    def prepare(self) -> None:
        self.fields["since"].initial = self.at

    def command(self, *, by: str, at: datetime) -> c.DeclarePaper:
        return c.DeclarePaper(by=by, at=at, since=self.cleaned_data["since"], why=self.cleaned_data["why"])


class EndPaperForm(SiteForm):
    title, button, done = "End paper mode", "Sign: all is entered", "Paper mode has ended."
    say = (
        "First everything that happened on paper is entered, at each permit: “Enter what happened on paper”. "
        "Keep the forms."
    )
    signed = c.SIGNED[c.EndPaper]
    how = words("Which forms were entered, and where they are kept", rows=2)
    all_inside_signed_on = confirmed("Nobody is in a zone who is not signed on here")

    def command(self, *, by: str, at: datetime) -> c.EndPaper:
        said = self.cleaned_data
        return c.EndPaper(by=by, at=at, how=said["how"], all_inside_signed_on=said["all_inside_signed_on"])


class TellReturnedForm(SiteForm):
    title, button = "Tell someone that their lock was taken off", "They have been told"
    done = "Recorded that they were told."
    say = "Before they resume work: that their lock came off while they were away, and why."
    who = forms.ChoiceField(
        label="Who was told",
        choices=(),
        widget=forms.RadioSelect,
        error_messages={"required": "Nobody is chosen; whoever was told would be right."},
    )
    how = words("How", help_text="Where, by whom, in which words.")

    def prepare(self) -> None:
        found = [(person, f"for {', '.join(permits)}") for person, permits in self.site.untold.items()]
        chosen = self.data.get("who", "")
        if chosen in self.site.people and chosen not in self.site.untold:
            found.append((chosen, "whom someone has told meanwhile"))  # the rules say when, and by whom
        if not found:
            self.say = "Nobody has to be told anything now."  # type: ignore[misc]
            del self.fields["who"]
            return
        self.fields["who"].choices = [  # type: ignore[attr-defined]
            (person, f"{self.site.name(person)}, {why}") for person, why in found
        ]
        if len(found) == 1:
            self.fields["who"].initial = found[0][0]

    def command(self, *, by: str, at: datetime) -> c.TellReturned:
        person = self.cleaned_data.get("who", "")
        return c.TellReturned(by=by, at=at, person=person, how=self.cleaned_data["how"])
