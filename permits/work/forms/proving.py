"""Prove points dead: all readings of one machine on one page, or a try of the controls."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Div
from django import forms
from django.utils.html import format_html
from django.utils.safestring import mark_safe

from permits.work.forms.asking import CommandForm, Outcome, Said, confirmed, words
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.against import name_of
from permits.work.rules.proving import BY_READING, counts_now, needs_qualified, test_of, to_verify
from permits.work.rules.words import Reading


class VerifyForm(CommandForm):
    """All readings of one machine's points on one page. A point left empty is not part of the request."""

    title, button, done = "Prove it dead", "These are the readings", "Readings recorded."
    say = "Test at the point of work. A dead tester looks like a dead machine: prove it before and after."
    send_again = "Take every reading again and correct it below: what was read before proves nothing."
    lends = True
    early: tuple[str, ...] = ()  # stores of this machine that still run down

    def __init__(self, *args: Any, machine: str, **kwargs: Any) -> None:
        self.machine = machine
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        self.names: list[tuple[str, list[tuple[str, str]]]] = []  # (point, [(field, combination)])
        electrical = False
        for point in to_verify(self.site, self.permit, self.machine):
            if not counts_now(self.permit, point, self.at):
                self.early = (*self.early, name_of(self.site, point))
                continue
            node = self.site.graph[point]
            test = test_of(node)
            electrical = electrical or needs_qualified(node)
            fields = []
            for j, pair in enumerate(test.combinations or ("",)):
                name = f"r_{point}_{j}"  # a plan that grew meanwhile moves no reading to another point
                self.fields[name] = reading_field(pair or test.quantity, test.unit)
                fields.append((name, pair))
            self.names.append((point, fields))
        if electrical:
            self.fields["instrument"] = words(
                "Number on the voltage tester",
                most=80,
                initial=self.last_tester(),
                right="the number on its plate",
            )
            self.fields["proven_before"] = confirmed("Proven on a known source before")
            self.fields["proven_after"] = confirmed("Proven again after")

    def last_tester(self) -> str:
        """The tester of the cycle before: it is carried over, and proven before and after all the same."""
        readings = (test for test in reversed(self.permit.verifications) if test.method == BY_READING)
        return next((test.instrument for test in readings if test.instrument), "")

    def body(self, own: list[str]) -> list[Any]:
        """What is not proven yet first; what is proven can be tested again, and is folded away."""
        proven = [pair for pair in self.names if self.permit.is_verified(pair[0], self.at)]
        parts = [self.panel(*pair) for pair in self.names if pair not in proven]
        if self.early:
            later = f"Still running down, to be tested later: {', '.join(self.early)}."
            parts.append(Said(format_html("<p>{}</p>", later)))
        if proven:
            fold = '<details class="stack"{}><summary>Proven already: test again</summary>'
            parts.append(Said(format_html(fold, "" if len(parts) else mark_safe(" open"))))
            parts += [*(self.panel(*pair) for pair in proven), Said(mark_safe("</details>"))]
        return [*parts, *[name for name in ("instrument", "proven_before", "proven_after") if name in own]]

    def panel(self, point: str, fields: list[tuple[str, str]]) -> Div:
        """One point's readings under its name."""
        test = test_of(self.site.graph[point])
        limit = f"{format(test.limit, 'f')} {test.unit}".strip()
        head = Said(
            format_html(
                '<h2>{}</h2><p class="quiet">{}, dead at {} or less</p>',
                name_of(self.site, point),
                test.quantity,
                limit,
            )
        )
        return Div(head, Div(*[name for name, _ in fields], css_class="readings"), css_class="panel")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        read = [point for point, fields in self.names if any(cleaned.get(n) is not None for n, _ in fields)]
        if "instrument" in self.errors and not any(needs_qualified(self.site.graph[p]) for p in read):
            del self.errors["instrument"]  # without an electrical reading no tester is asked for
        if not self.errors and not read:
            raise forms.ValidationError(
                "No reading is entered; what the instrument shows at each point would be right."
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

    def outcome(self, happened: list[e.Event]) -> Outcome:
        tests = [one for one in happened if isinstance(one, e.PointVerified)]
        if failed := ", ".join(name_of(self.site, one.point) for one in tests if not one.passed):
            return Outcome(f"Over the limit at {failed}. It is not dead: nobody goes in.", bad=True)
        if early := ", ".join(name_of(self.site, one.point) for one in tests if not one.counts):
            return Outcome(f"{early} was still running down; that reading does not count.", bad=True)
        return Outcome(
            self.done + PROVEN if any(isinstance(one, e.Isolated) for one in happened) else self.done
        )


PROVEN = " Proven dead: whoever is named may sign on."


class CommaDecimalField(forms.DecimalField):
    """A decimal number; a comma as decimal sign is taken for a point, since a gauge has no thousands."""

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]  # the stubs make it an int
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


def reading_field(label: str, unit: str) -> CommaDecimalField:
    field = CommaDecimalField(
        label=label,
        required=False,
        max_digits=12,
        decimal_places=4,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 6}),
    )
    field.unit = unit  # type: ignore[attr-defined]  # the form pack prints it after the input
    return field


class TryStartForm(CommandForm):
    title, button, done = "Try the controls", "Record the result", "Recorded."
    say = "Never instead of a reading at an electrical point: beside it."
    send_again = "Try the controls again and say what came of it: a try from before proves nothing."
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

    def outcome(self, happened: list[e.Event]) -> Outcome:
        if any(isinstance(one, e.PointVerified) and not one.passed for one in happened):
            return Outcome("Something started: it is not dead. Nobody goes in.", bad=True)
        return Outcome(
            self.done + PROVEN if any(isinstance(one, e.Isolated) for one in happened) else self.done
        )
