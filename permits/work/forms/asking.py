"""What every form of a command has: its key, the entry that its page showed, and who signs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar
from uuid import UUID, uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Field, Layout
from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from permits.people.forms import PinField
from permits.work.forms.wording import in_our_words
from permits.work.rules import commands, events, state


class Said:
    """Markup of our own between a form's fields, escaped where it is made."""

    def __init__(self, markup: SafeString) -> None:
        self.markup = markup

    def render(self, form: forms.Form, context: Any, **kwargs: Any) -> SafeString:
        return self.markup


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a command, as a sentence. `bad`: it was recorded, and it is not what one hoped for."""

    text: str
    bad: bool = False


class CommandForm(forms.Form):
    """Asks for one command of one permit. Subclasses add fields and say how they become the command.

    `signed` is what the signature means, for commands that are signed with a PIN. `lends`: someone without a
    phone may do it on this one, with their own sign-in name and PIN. `shows_plan`: its page shows the plan,
    `short_plan`: without how each point is held and tested.
    """

    title: ClassVar[str]
    button: ClassVar[str]
    done: ClassVar[str] = "Recorded."
    say: ClassVar[str] = ""
    signed: ClassVar[str] = ""
    lends: ClassVar[bool] = False
    shows_plan: ClassVar[bool] = False
    short_plan: ClassVar[bool] = False

    key = forms.UUIDField(widget=forms.HiddenInput)
    seen = forms.IntegerField(widget=forms.HiddenInput, required=False)

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
        self.site, self.permit, self.person, self.at = site, permit, person, at
        super().__init__(data, initial={"key": uuid4(), "seen": seen, **(initial or {})})
        self.prepare()
        if self.signed or self.lends:
            self.add_signature()
        in_our_words(self)
        self.helper = FormHelper()
        self.helper.form_tag, self.helper.disable_csrf = False, True  # the page has both
        self.helper.layout = self.laid_out()

    def laid_out(self) -> Layout:
        """Hidden fields, the form's own, then who signs."""
        own = [name for name in self.fields if name not in ("key", "seen", "sign_in", "pin")]
        return Layout("key", "seen", *self.body(own), *self.signature())

    def prepare(self) -> None:
        """Fill choices from the site and the permit."""

    def body(self, own: list[str]) -> list[Any]:
        """The layout of the form's own fields."""
        return list(own)

    def add_signature(self) -> None:
        self.fields["sign_in"] = forms.CharField(
            label="Their sign-in name",
            max_length=40,
            required=False,
            widget=forms.TextInput(attrs=TYPED_NAME),
        )
        self.fields["pin"] = PinField(
            label="PIN" if self.signed else "Their PIN",
            missing="The PIN is missing; the one set under “my page” would be right.",
        )
        self.fields["pin"].required = bool(self.signed)

    def signature(self) -> list[Any]:
        """The PIN in sight when the step is signed; another person's name and PIN folded away."""
        if not (self.signed or self.lends):
            return []
        in_use = bool(self.is_bound and self.data.get("sign_in"))
        opened = Said(
            format_html(
                '<details class="panel"{}><summary>Someone else does this on my phone</summary>',
                mark_safe(" open") if in_use else "",
            )
        )
        closed = Said(mark_safe("</details>"))
        if self.signed:
            meaning = Said(format_html("<p>My signature says: I {}.</p>", first_person(self.signed)))
            theirs = Said(mark_safe('<p class="help">Then the PIN above is theirs.</p>'))
            return [Div(meaning, Field("pin"), css_class="signature"), opened, "sign_in", theirs, closed]
        return [opened, "sign_in", "pin", closed]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        lent = self.lends and not self.signed and cleaned.get("sign_in")
        if lent and not cleaned.get("pin") and "pin" not in self.errors:
            self.add_error("pin", "Their PIN is missing; whoever acts types their own.")
        return cleaned

    def shows(self, entry: int) -> None:
        """The page that is about to be shown is up to date with this entry."""
        self.data = self.data.copy()  # type: ignore[attr-defined]  # what was posted is immutable
        self.data["seen"] = str(entry)  # type: ignore[index]

    @property
    def request_key(self) -> UUID:
        key: UUID = self.cleaned_data["key"]
        return key

    def command(self, *, by: str, at: datetime) -> commands.Command:
        """The command that the valid form asks for."""
        raise NotImplementedError

    def outcome(self, happened: list[events.Event]) -> Outcome:
        """What the person is told afterwards; nothing has happened where the request was a repeat."""
        return Outcome(self.done)


def key_in(posted: Mapping[str, Any]) -> UUID | None:
    """The request's key; None where it is missing or damaged."""
    try:
        return UUID(posted.get("key", ""))
    except ValueError:
        return None


def first_person(meaning: str) -> str:
    """'issues the permit: …' as 'issue the permit: …', for a signature in the first person."""
    verb, _, rest = meaning.partition(" ")
    verb = {"is": "am", "knows": "know"}.get(
        verb, verb.removesuffix("es") if verb.endswith("sses") else verb.removesuffix("s")
    )
    return f"{verb} {rest}".replace(" knows ", " know ")


# ── fields that several forms have ──────────────────────────────────────────────────────────────────────

TYPED_NAME = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
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
