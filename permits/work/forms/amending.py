"""An issuer adds points to an open plan: those that it lacks, and others if need be."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.safestring import mark_safe

from permits.work.forms.asking import CommandForm, Said, words
from permits.work.rules import commands as c
from permits.work.rules.against import name_of
from permits.work.rules.amending import lacking_points, may_be_added
from permits.work.rules.reaching import names, plan_falls_short


class AmendForm(CommandForm):
    """`open_ways`: (zone, path) by name, of each zone that the plan does not cover as the plant is now."""

    title, button, done = "Add points to the plan", "Sign the longer plan", "Added."
    say = "Points are added, never taken away. What is added is locked, released and tested like the others."
    signed = c.SIGNED[c.AmendPlan]
    shows_plan = short_plan = True

    lacking = forms.MultipleChoiceField(
        label="The plan lacks these",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="Ticked because energy still reaches the zones without them; together they isolate again.",
    )
    others = forms.MultipleChoiceField(
        label="Other points", widget=forms.CheckboxSelectMultiple, required=False
    )
    why = words("Why the plan needs more points", rows=2)

    open_ways: list[tuple[str, tuple[str, ...]]]

    def prepare(self) -> None:
        site, p = self.site, self.permit
        self.open_ways = [
            (site.graph.name(zone) if zone in site.graph.nodes else zone, names(site, path))
            for zone, path in plan_falls_short(site, p).items()
        ]
        lock, release = may_be_added(site, p)
        self.do = dict.fromkeys(lock, "Lock") | dict.fromkeys(release, "Release")
        missing = [point for found in lacking_points(site, p) for point in found]
        self.fields["lacking"].initial = missing
        self.offer("lacking", missing)
        here = site.machines_of(p.zones)
        rest = [point for point in self.do if point not in missing]
        self.offer("others", sorted(rest, key=lambda point: site.graph[point].machine not in here))

    def offer(self, field: str, points: list[str]) -> None:
        if not points:
            del self.fields[field]
            return
        self.fields[field].choices = [  # type: ignore[attr-defined]
            (point, f"{self.do.get(point, 'Lock')} {name_of(self.site, point)}") for point in points
        ]

    def body(self, own: list[str]) -> list[Any]:
        """The other points of the plant are many: folded away where it is known which ones are lacking."""
        if not {"lacking", "others"} <= set(own):
            return list(own)
        in_use = self["others"].value() or "others" in self.errors
        fold = '<details class="panel"{}><summary>Other points of the plant</summary>'
        opened = Said(format_html(fold, mark_safe(" open") if in_use else ""))
        return ["lacking", opened, "others", Said(mark_safe("</details>")), "why"]

    def command(self, *, by: str, at: datetime) -> c.AmendPlan:
        ticked = [*self.cleaned_data.get("lacking", ()), *self.cleaned_data.get("others", ())]
        return c.AmendPlan(
            permit=self.permit.id,
            by=by,
            at=at,
            lock=tuple(point for point in ticked if self.do.get(point) != "Release"),
            release=tuple(point for point in ticked if self.do.get(point) == "Release"),
            why=self.cleaned_data["why"],
        )
