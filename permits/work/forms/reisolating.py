"""Make it dead again after a test: the freed points locked, and stores released again, on one page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from crispy_forms.layout import Div
from django import forms
from django.utils.html import format_html
from django.utils.safestring import mark_safe

from permits.work.forms.asking import CommandForm, Outcome, Said, danger_tag, padlock, plate_code, words
from permits.work.forms.isolating import POSITIONS
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.against import name_of
from permits.work.rules.evolve import fold
from permits.work.rules.isolating import measure_demanded, own_lock
from permits.work.rules.reaching import is_undoable
from permits.work.rules.reisolating import emptied, freed
from permits.work.rules.words import Lock, Position, Stage


@dataclass(slots=True)
class Row:
    """A freed point of the page. `typed`: the plate was not scanned.

    Its fields are named by the point, so that what was typed stays with it when another is locked meanwhile.
    """

    point: str
    measure: str
    typed: bool = True

    @property
    def code(self) -> str:
        return self.named("code")

    def named(self, field: str) -> str:
        """The name that a field of this point has on the page."""
        return f"{field}_{self.point}"


class ReisolateForm(CommandForm):
    """A point whose plate is neither scanned nor typed here is locked by itself later, at the point.

    `scanned`: point → token of the plates that this person scanned since the test. What they hung there
    before is carried over; the position is seen anew.
    """

    title, button = "Re-isolate", "These are locked, make it dead again"
    done = "Every test is void. Lock what is left, then test every point."
    say = "Every verification is void from now on. Go to each point, see it off, hang your lock."

    def __init__(self, *args: Any, scanned: Mapping[str, str] | None = None, **kwargs: Any) -> None:
        self.scanned = scanned or {}
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        # Where people were told that the machine starts, they are told of the lockout before the first lock.
        points = freed(self.permit) if self.permit.told(Stage.BEFORE) else ()
        self.rows = [
            Row(point, measure_demanded(self.site, point), typed=point not in self.scanned)
            for point in points
        ]
        for row in self.rows:
            self.add_point(row)
        for point in self.stores:
            release = self.site.graph[point].release
            how = release.method if release and release.method else "released"
            self.fields[f"released_{point}"] = forms.BooleanField(
                label=f"{name_of(self.site, point)}: {how}", required=False
            )

    @property
    def stores(self) -> tuple[str, ...]:
        """Stores to be released again that need no other lock than hangs there: those can be said here."""
        if not self.rows:
            return ()
        return tuple(
            point
            for point in emptied(self.permit)
            if not is_undoable(self.site, point) or own_lock(self.permit, point, self.person)
        )

    def add_point(self, row: Row) -> None:
        before = self.hung_before(row.point)
        token = self.scanned.get(row.point, "")
        self.fields[row.code] = plate_code("Short code on its plate", help_text="Or scan the plate.")
        self.fields[row.code].required = False
        if token:
            self.fields[row.code].widget = forms.HiddenInput()
            self.fields[row.code].initial = token
        number = padlock("Number on my danger tag" if row.measure else "Number on my padlock", required=False)
        number.initial = before.padlock if before else ""
        self.fields[row.named("padlock")] = number
        if row.measure:
            self.fields[row.named("measure")] = words("What I did besides", most=400, rows=2)
            self.fields[row.named("measure")].required = False
        else:
            self.fields[row.named("tag")] = danger_tag(required=False)
            self.fields[row.named("tag")].initial = before.tag if before else ""
        self.fields[row.named("position")] = forms.ChoiceField(
            label="I see that it is",
            choices=[(p.value, label) for p, label in POSITIONS.items()],
            widget=forms.RadioSelect,
            required=False,
        )

    def hung_before(self, point: str) -> Lock | None:
        """The last lock of this person on the point."""
        own = (k for k in reversed(self.permit.locks) if k.where == point and k.owner == self.person)
        return next(own, None)

    def body(self, own: list[str]) -> list[Any]:
        panels: list[Any] = [self.panel(row, own) for row in self.rows]
        stores = [name for name in own if name.startswith("released")]
        if stores:
            panels.append(
                Div(Said(mark_safe("<h2>Stores, after the locks</h2>")), *stores, css_class="panel")
            )
        return panels

    def panel(self, row: Row, own: list[str]) -> Div:
        place = self.site.graph[row.point].place
        scanned = "" if row.typed else "Plate scanned. "
        head = Said(format_html("<h2>{}</h2><p>{}{}</p>", name_of(self.site, row.point), scanned, place))
        besides = Said(format_html("<p>Do this as well: {}</p>", row.measure)) if row.measure else None
        fields = [name for name in own if name in self.names_of(row)]
        return Div(head, *([besides] if besides else []), *fields, css_class="panel")

    def names_of(self, row: Row) -> tuple[str, ...]:
        return tuple(row.named(field) for field in ("code", "padlock", "tag", "measure", "position"))

    @property
    def locked(self) -> list[Row]:
        """The rows whose plate was scanned or typed."""
        return [row for row in self.rows if self.cleaned_data.get(row.code)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for row in self.locked:
            if not cleaned.get(row.named("position")) and row.named("position") not in self.errors:
                missing = "The position is missing; say how the point stands, such as off."
                self.add_error(row.named("position"), missing)
        return cleaned

    def command(self, *, by: str, at: datetime) -> c.Reisolate:
        permit, read = self.permit.id, self.cleaned_data
        locks = tuple(
            c.ApplyLock(
                permit=permit,
                by=by,
                at=at,
                point=row.point,
                padlock=read[row.named("padlock")],
                tag=read.get(row.named("tag"), ""),
                position=Position(read[row.named("position")]),
                typed=row.typed,
                measure_done=read.get(row.named("measure"), ""),
            )
            for row in self.locked
        )
        releases = tuple(
            c.ReleaseStore(permit=permit, by=by, at=at, point=point, method="")
            for point in self.stores
            if read[f"released_{point}"]
        )
        return c.Reisolate(permit=permit, by=by, at=at, locks=locks, releases=releases)

    def outcome(self, happened: list[e.Event]) -> Outcome:
        after = fold(self.site, happened).permits[self.permit.id]
        if freed(after) or emptied(after):
            return Outcome(self.done)
        return Outcome("Locked and released again. Test every point.")
