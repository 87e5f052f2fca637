"""Lock and release. A point is named by its scanned tag or its typed short code."""

from __future__ import annotations

from datetime import datetime

from django import forms

from permits.work.forms.asking import (
    CommandForm,
    Outcome,
    danger_tag,
    padlock,
    plate_code,
    words,
)
from permits.work.forms.wording import in_our_words
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.against import name_of
from permits.work.rules.isolating import measure_demanded, own_lock
from permits.work.rules.words import Position

POSITIONS = {
    Position.OFF: "off",
    Position.CLOSED: "closed",
    Position.WITHDRAWN: "withdrawn",
    Position.INSERTED: "inserted (pin, block)",
    Position.BLANKED: "blanked",
}


class AtPointForm(CommandForm):
    """A form about the point at which the person stands. `code` is the tag's token or its short code."""

    lends = True
    code = plate_code(
        "Short code on the point's plate", help_text="Scan the plate instead and this is filled in."
    )

    found: str = ""  # the point's id, set by the view that looks the code up
    typed: bool = False
    place: str = ""

    def at_point(self, point: str) -> None:
        """The point is known, or expected: name it and ask for what it needs."""
        if point in self.site.graph.nodes:
            self.title = f"{type(self).title.split()[0]} {name_of(self.site, point)}"  # type: ignore[misc]
            self.place = self.site.graph[point].place

    def scanned(self) -> None:
        """The plate was scanned: its token needs no second look."""
        self.fields["code"].widget = forms.HiddenInput()


class LockForm(AtPointForm):
    title, button, done = "Lock this point", "My lock is on", "Locked."
    padlock = padlock()
    tag = danger_tag()
    position = forms.ChoiceField(
        label="I see that the point is",
        choices=[(p.value, label) for p, label in POSITIONS.items()],
        widget=forms.RadioSelect,
        error_messages={
            "required": "The position is missing; say how the point stands, such as off.",
            "invalid_choice": "“%(value)s” is no safe position; say how the point stands, such as off.",
        },
    )

    def at_point(self, point: str) -> None:
        """At a point that takes a tag and no lock: one number, the tag's, and what was done besides."""
        super().at_point(point)
        measure = measure_demanded(self.site, point)
        if not measure:
            return
        self.title = f"Tag {name_of(self.site, point)}"  # type: ignore[misc]
        self.button, self.done = "My tag is on", "Tagged."  # type: ignore[misc]
        besides = " ".join(measure.split())
        self.say = f"Takes a tag, not a lock. Do this as well: {besides}"  # type: ignore[misc]
        own = self.fields["padlock"]
        own.label, own.error_messages["required"] = (
            "Number on my danger tag",
            "The danger tag's number is missing; it is printed on the tag.",
        )
        del self.fields["tag"]
        done = words(
            "What I did besides", most=400, rows=2, help_text="And where what was taken off is kept."
        )
        done.error_messages["required"] = (
            f"It is not said what was done besides the tag. The plant demands: {besides}"
        )
        self.fields["measure_done"] = done
        in_our_words(self)
        self.helper.layout = self.laid_out()
        if self.is_bound and self.found:
            self.full_clean()  # what was posted is read again, by what this point needs

    def command(self, *, by: str, at: datetime) -> c.ApplyLock:
        return c.ApplyLock(
            permit=self.permit.id,
            by=by,
            at=at,
            point=self.found,
            padlock=self.cleaned_data["padlock"],
            tag=self.cleaned_data.get("tag", ""),
            position=Position(self.cleaned_data["position"]),
            typed=self.typed,
            measure_done=self.cleaned_data.get("measure_done", ""),
        )

    def outcome(self, happened: list[e.Event]) -> Outcome:
        ended = ", ".join(one.permit for one in happened if isinstance(one, e.SanctionEnded))
        return Outcome(f"{self.done} That ended the test of {ended}.") if ended else Outcome(self.done)


class ReleaseForm(AtPointForm):
    title, button, done = "Release this store", "It is released", "Released."
    method = words("How it was released", rows=2)
    padlock = padlock("Number on my padlock that keeps it released", required=False)
    tag = danger_tag(required=False)

    def prepare(self) -> None:
        held = "For a prop, pin, open bleed or earth that someone could take away."
        self.fields["padlock"].help_text = held

    def at_point(self, point: str) -> None:
        """A lock is asked for only where none of this person's hangs on the store still."""
        super().at_point(point)
        node = self.site.graph.nodes.get(point)
        if node is not None and node.release is not None:
            self.fields["method"].initial = node.release.method
        someone_else = self.is_bound and self.data.get("sign_in")
        if own_lock(self.permit, point, self.person) is not None and not someone_else:
            del self.fields["padlock"], self.fields["tag"]
            self.helper.layout = self.laid_out()

    def command(self, *, by: str, at: datetime) -> c.ReleaseStore:
        return c.ReleaseStore(
            permit=self.permit.id,
            by=by,
            at=at,
            point=self.found,
            method=self.cleaned_data["method"],
            padlock=self.cleaned_data.get("padlock", ""),
            tag=self.cleaned_data.get("tag", ""),
            typed=self.typed,
        )
