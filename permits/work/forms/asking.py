"""What every form of a permit's command has, the entry that its page showed above all; and shared fields."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from django import forms

from permits.work.forms.signing import AskForm, Outcome, Said, first_person
from permits.work.rules import state

__all__ = ["AskForm", "CommandForm", "Outcome", "Said", "SeenForm", "SiteForm", "first_person"]


class SeenForm(AskForm):
    """Carries the last entry that its page showed. `send_again`: what is said after that was not enough."""

    send_again: ClassVar[str] = "The state above is the present one. If you still want to, send again."

    seen = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def shows(self, entry: int) -> None:
        """The page that is about to be shown is up to date with this entry."""
        self.data = self.data.copy()  # type: ignore[attr-defined]  # what was posted is immutable
        self.data["seen"] = str(entry)  # type: ignore[index]


class SiteForm(SeenForm):
    """Asks for one command about the whole site. `seen`: the site's last entry."""

    send_again = "If you still want to, send again."

    def __init__(
        self, data: Any = None, *, site: state.Site, person: str, seen: int = 0, at: datetime
    ) -> None:
        super().__init__(data, site=site, person=person, at=at, initial={"seen": seen})


class CommandForm(SeenForm):
    """Asks for one command of one permit. `seen`: the site's last entry.

    `shows_plan`: its page shows the plan, `short_plan`: without how each point is held and tested.
    """

    shows_plan: ClassVar[bool] = False
    short_plan: ClassVar[bool] = False

    def __init__(
        self,
        data: Any = None,
        *,
        site: state.Site,
        permit: state.Permit,
        person: str,
        seen: int = 0,
        at: datetime,
        initial: dict[str, Any] | None = None,
    ) -> None:
        self.permit = permit
        super().__init__(data, site=site, person=person, at=at, initial={"seen": seen, **(initial or {})})


# ── fields that several forms have ──────────────────────────────────────────────────────────────────────

TYPED_CODE = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}


def confirmed(label: str) -> forms.BooleanField:
    """A box to tick; left empty it is the rules that refuse, naming it."""
    return forms.BooleanField(label=label, required=False)


def words(
    label: str,
    *,
    most: int = 500,
    rows: int = 0,
    help_text: str = "",
    initial: str = "",
    right: str = "a few words",
) -> forms.CharField:
    """A line or a few lines of text. `right`: what would be right where nothing is written."""
    return forms.CharField(
        label=label,
        max_length=most,
        widget=forms.Textarea(attrs={"rows": rows}) if rows else forms.TextInput(),
        help_text=help_text,
        initial=initial,
        error_messages={"required": f"Nothing is written; {right} would be right."},
    )


def padlock(label: str = "Number on my padlock", *, required: bool = True) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=32,
        required=required,
        widget=forms.TextInput(attrs=TYPED_CODE),
        error_messages={"required": "The padlock's number is missing; it is stamped on the padlock."},
    )


def danger_tag(*, required: bool = True) -> forms.CharField:
    return forms.CharField(
        label="Number on the danger tag",
        max_length=32,
        required=required,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": "The danger tag's number is missing; it is printed on the tag."},
    )


def plate_code(label: str, *, help_text: str) -> forms.CharField:
    """A tag's token, as scanned, or its short code, as typed."""
    return forms.CharField(
        label=label,
        max_length=80,
        help_text=help_text,
        widget=forms.TextInput(attrs=TYPED_CODE),
        error_messages={
            "required": "The plate's code is missing; scan the plate, or type the code beside the square."
        },
    )


class MomentField(forms.DateTimeField):
    """A day and a time by the plant's clock, to the minute."""

    def __init__(self, *, label: str, help_text: str = "") -> None:
        right = "a day and a time would be right, such as 2026-11-25 10:05."
        super().__init__(
            label=label,
            help_text=help_text,
            widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
            error_messages={
                "required": f"The time is missing; {right}",
                "invalid": f"Not a time; {right}",
                "ambiguous_timezone": "The clocks changed at this time, so it is there twice or not at all; "
                "a time before or after the change would be right.",
            },
        )

    def to_python(self, value: Any) -> datetime | None:
        try:
            return super().to_python(value)
        except forms.ValidationError as wrong:
            if wrong.code == "ambiguous_timezone":
                raise forms.ValidationError(self.error_messages[wrong.code], code=wrong.code) from wrong
            raise


def whole_number(label: str, *, least: int, most: int, initial: int, unit: str = "") -> forms.IntegerField:
    right = f"a whole number from {least} to {most} would be right."
    field = forms.IntegerField(
        label=label,
        min_value=least,
        max_value=most,
        initial=initial,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        error_messages={
            "required": f"Nothing is entered; {right}",
            "invalid": f"Not a whole number; {right}",
            "min_value": f"%(show_value)s is too little; {right}",
            "max_value": f"%(show_value)s is too much; {right}",
        },
    )
    field.unit = unit  # type: ignore[attr-defined]  # the form pack prints it after the input
    return field
