"""Ask for a permit: first the zones, from which the plan follows, then the work and its window."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.utils.html import format_html
from django.utils.safestring import mark_safe

from permits.plant.rules.energy import Graph, Kind
from permits.work.forms.asking import Said, whole_number, words
from permits.work.forms.wording import in_our_words
from permits.work.rules import commands as c
from permits.work.rules import state

KINDS_OF_WORK = ("Calibration", "Cleaning", "Inspection", "Repair", "Blade change", "Clearing a jam")


@dataclass(frozen=True, slots=True)
class KeptLive:
    """What revision `revision` of the machine's approved procedure keeps live; 0 and nothing: no wish."""

    nodes: tuple[str, ...] = ()
    revision: int = 0


NO_WISH = KeptLive()


class ZonesForm(forms.Form):
    """What the plan is worked out from: the zones to be entered, and what has to stay live.

    What the machine's procedure keeps live is in the list; `initial` says whether it is ticked.
    """

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
        help_text="Such as a controller that has to be read. The plan leaves it fed, or says why it cannot.",
        error_messages={"invalid_choice": "%(value)s is not part of this machine; choose from the list."},
    )

    def __init__(
        self,
        data: Any = None,
        *,
        site: state.Site,
        machine: str,
        kept: KeptLive = NO_WISH,
        initial: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=initial)
        graph = site.graph
        self.fields["zones"].choices = [(n.id, n.name) for n in graph.zones_of(machine)]  # type: ignore[attr-defined]
        live = [n for n in graph.nodes.values() if n.kind is Kind.CARRIER and n.machine == machine]
        live += [graph[id] for id in kept.nodes if id in graph.nodes and graph[id] not in live]
        self.fields["keep_live"].choices = [(n.id, n.name) for n in live]  # type: ignore[attr-defined]
        self.origin = where_it_comes_from(graph, kept) if kept.nodes else ""
        if not live:
            del self.fields["keep_live"]
        in_our_words(self)
        self.helper = FormHelper()
        self.helper.form_tag, self.helper.disable_csrf = False, True  # the page has both
        self.helper.layout = self.laid_out()

    def laid_out(self) -> Layout:
        """Few jobs need anything live: that list is folded away until something in it is ticked or wrong."""
        if "keep_live" not in self.fields:
            return Layout("zones")
        in_use = self["keep_live"].value() or "keep_live" in self.errors
        fold = '<details class="panel"{}><summary>Something must stay live</summary>'
        opened = format_html(fold, mark_safe(" open") if in_use else "")
        origin = format_html("<p>{}</p>", self.origin) if self.origin else mark_safe("")
        return Layout("zones", Said(opened), Said(origin), "keep_live", Said(mark_safe("</details>")))

    def wanted(self) -> dict[str, tuple[str, ...]]:
        """The zones and what stays live, as far as they were read."""
        return {name: tuple(self.cleaned_data.get(name, ())) for name in ("zones", "keep_live")}


def where_it_comes_from(graph: Graph, kept: KeptLive) -> str:
    """Which of the list the procedure wants, so that nobody clears it unawares."""
    names = ", ".join(graph.name(id) if id in graph.nodes else id for id in kept.nodes)
    return (
        f"Revision {kept.revision} of the machine's approved procedure keeps live: {names}. "
        "Untick what this work does not need."
    )


class RequestForm(ZonesForm):
    """The whole request. Once the plan is shown, the zones that it was made for are carried along unseen."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    kind_of_work = forms.ChoiceField(label="Kind of work", choices=[(k, k) for k in KINDS_OF_WORK])
    reason = words("What is to be done, and why", rows=3)
    starts_in = whole_number("Starts in", least=0, most=24 * 60, initial=0, unit="minutes from now")
    hours = whole_number("Runs for", least=1, most=72, initial=8, unit="hours")

    field_order = ("key", "zones", "keep_live", "kind_of_work", "reason", "starts_in", "hours")

    def __init__(self, data: Any = None, *, initial: dict[str, Any] | None = None, **of: Any) -> None:
        super().__init__(data, initial={"key": uuid4(), **(initial or {})}, **of)

    def laid_out(self) -> Layout:
        return Layout(*self.fields)

    def for_this_plan(self) -> None:
        """The plan stands on the page: its zones are changed where they were chosen, not here."""
        for name in {"zones", "keep_live"} & set(self.fields):
            self.fields[name].widget = forms.MultipleHiddenInput()

    def command(self, *, by: str, at: datetime) -> c.RequestPermit:
        wanted = self.wanted()
        starts_at = at + timedelta(minutes=self.cleaned_data["starts_in"])
        return c.RequestPermit(
            by=by,
            at=at,
            zones=wanted["zones"],
            keep_live=wanted["keep_live"],
            kind_of_work=self.cleaned_data["kind_of_work"],
            reason=self.cleaned_data["reason"],
            starts_at=starts_at,
            ends_at=starts_at + timedelta(hours=self.cleaned_data["hours"]),
        )
