"""Lock, release, verify, try the controls. A point is named by its scanned tag or its typed short code."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div
from django import forms
from django.utils.html import format_html

from permits.work.forms.asking import CommandForm, Said, confirmed, danger_tag, padlock, words
from permits.work.rules import commands as c
from permits.work.rules.against import name_of
from permits.work.rules.isolating import own_lock
from permits.work.rules.proving import counts_now, needs_qualified, test_of, to_verify
from permits.work.rules.words import Position, Reading

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
    code = forms.CharField(
        label="Short code on the point's plate",
        max_length=80,
        help_text="Scan the plate instead and this is filled in.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={
            "required": "The plate's code is missing; scan the plate, or type the code beside it."
        },
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
        error_messages={"required": "The position is missing; say how the point stands, such as off."},
    )

    def command(self, *, by: str, at: datetime) -> c.ApplyLock:
        return c.ApplyLock(
            permit=self.permit.id,
            by=by,
            at=at,
            point=self.found,
            padlock=self.cleaned_data["padlock"],
            tag=self.cleaned_data["tag"],
            position=Position(self.cleaned_data["position"]),
            typed=self.typed,
        )


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
        if own_lock(self.permit, point, self.person) is not None:
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


class VerifyForm(CommandForm):
    """All readings of one machine's points on one page. A point left wholly empty is not part of the request."""

    title, button, done = "Prove it dead", "These are the readings", "Readings recorded."
    say = "Test at the point of work. A dead tester looks like a dead machine: prove it before and after."
    lends = True

    def __init__(self, *args: Any, machine: str, **kwargs: Any) -> None:
        self.machine = machine
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        self.names: list[tuple[str, list[tuple[str, str]]]] = []  # (point, [(field, combination)])
        electrical = False
        for i, point in enumerate(to_verify(self.site, self.permit, self.machine)):
            if not counts_now(self.permit, point, self.at):
                continue
            node = self.site.graph[point]
            test = test_of(node)
            electrical = electrical or needs_qualified(node)
            fields = []
            for j, pair in enumerate(test.combinations or ("",)):
                name = f"r{i}_{j}"
                self.fields[name] = reading_field(pair or test.quantity, test.unit)
                fields.append((name, pair))
            self.names.append((point, fields))
        if electrical:
            self.fields["instrument"] = words("Number on the voltage tester", most=80)
            self.fields["proven_before"] = confirmed("Proven on a known source before")
            self.fields["proven_after"] = confirmed("Proven again after")

    def body(self, own: list[str]) -> list[Any]:
        parts: list[Any] = []
        for point, fields in self.names:
            test = test_of(self.site.graph[point])
            head = Said(format_html(
                '<h2>{}</h2><p class="quiet">{}, dead at {} {} or less</p>',
                name_of(self.site, point), test.quantity, format(test.limit, "f"), test.unit,
            ))  # fmt: skip
            parts.append(
                Div(head, Div(*[name for name, _ in fields], css_class="readings"), css_class="panel")
            )
        return [*parts, *[name for name in ("instrument", "proven_before", "proven_after") if name in own]]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if not self.errors and not any(cleaned.get(n) is not None for _, fs in self.names for n, _ in fs):
            raise forms.ValidationError(
                "No reading is entered; measure, then enter what the instrument shows."
            )
        return cleaned

    def command(self, *, by: str, at: datetime) -> c.VerifyMachine:
        points = []
        for point, fields in self.names:
            unit = test_of(self.site.graph[point]).unit
            readings = tuple(
                Reading(self.cleaned_data[name], unit, pair)
                for name, pair in fields
                if self.cleaned_data.get(name) is not None
            )
            if readings:
                points.append(c.PointReadings(point=point, readings=readings))
        return c.VerifyMachine(
            permit=self.permit.id,
            by=by,
            at=at,
            machine=self.machine,
            points=tuple(points),
            instrument=self.cleaned_data.get("instrument", ""),
            proven_before=self.cleaned_data.get("proven_before", False),
            proven_after=self.cleaned_data.get("proven_after", False),
        )


class CommaDecimalField(forms.DecimalField):
    """A decimal number; a comma as decimal sign is taken for a point, since a gauge has no thousands."""

    def to_python(self, value: Any) -> Decimal | None:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


def reading_field(label: str, unit: str) -> CommaDecimalField:
    field = CommaDecimalField(
        label=label,
        required=False,
        max_digits=12,
        decimal_places=4,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 6}),
        error_messages={"invalid": f"{label} is not a number; such as 0.3 would be right."},
    )
    field.unit = unit  # type: ignore[attr-defined]  # the form pack prints it after the input
    return field


class TryStartForm(CommandForm):
    title, button, done = "Try the controls", "Record the result", "Recorded."
    say = "Never instead of a reading at an electrical point: beside it."
    lends = True

    nobody_in_reach = confirmed("Nobody is in reach")
    controls_live = confirmed("The controls' own supply is live")
    result = forms.ChoiceField(
        label="Start was pressed and",
        choices=[("dead", "nothing moved"), ("moved", "something moved or started")],
        widget=forms.RadioSelect,
        error_messages={"required": "The result is missing; say whether anything moved."},
    )
    back_to_neutral = confirmed("The controls are back in neutral")

    def __init__(self, *args: Any, machine: str, **kwargs: Any) -> None:
        self.machine = machine
        super().__init__(*args, **kwargs)

    def command(self, *, by: str, at: datetime) -> c.TryStart:
        return c.TryStart(
            permit=self.permit.id,
            by=by,
            at=at,
            machine=self.machine,
            stayed_dead=self.cleaned_data["result"] == "dead",
            nobody_in_reach=self.cleaned_data["nobody_in_reach"],
            controls_live=self.cleaned_data["controls_live"],
            back_to_neutral=self.cleaned_data["back_to_neutral"],
        )
