"""What every form has that asks for a command: its key, and who signs; the second person, where two sign."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar
from uuid import uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Field, Layout
from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from permits.people.forms import PinField
from permits.work.forms.wording import in_our_words
from permits.work.rules import commands, events, state

TYPED_NAME = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
NOT_ITS_OWN = ("key", "seen", "sign_in", "pin", "second_sign_in", "second_pin")


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


class AskForm(forms.Form):
    """Asks for one command. Subclasses add fields and say how they become the command.

    `signed` is what the signature means, for commands that are signed with a PIN. `lends`: someone without a
    phone may do it on this one, with their own sign-in name and PIN. `second_signed`: what a second person
    vouches for, with their own name and PIN; who they are is in `cleaned_data["second_ref"]` by the time that
    the command is made. `stops`: its button is the red one. `holds_up`: it holds work up, so that a used key
    does not stand in its way.
    """

    title: ClassVar[str]
    button: ClassVar[str]
    done: ClassVar[str] = "Recorded."
    say: ClassVar[str] = ""
    signed: ClassVar[str] = ""
    second_signed: ClassVar[str] = ""
    lends: ClassVar[bool] = False
    stops: ClassVar[bool] = False
    holds_up: ClassVar[bool] = False

    key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self,
        data: Any = None,
        *,
        site: state.Site,
        person: str,
        at: datetime,
        initial: dict[str, Any] | None = None,
    ) -> None:
        self.site, self.person, self.at = site, person, at
        super().__init__(data, initial={"key": uuid4(), **(initial or {})})
        self.prepare()
        if self.signed or self.lends:
            self.add_signature()
        if self.second_signed:
            self.add_second()
        in_our_words(self)
        self.helper = FormHelper()
        self.helper.form_tag, self.helper.disable_csrf = False, True  # the page has both
        self.helper.layout = self.laid_out()

    def laid_out(self) -> Layout:
        """Hidden fields, the form's own, then who signs."""
        own = [name for name in self.fields if name not in NOT_ITS_OWN]
        hidden = [name for name in ("key", "seen") if name in self.fields]
        return Layout(*hidden, *self.body(own), *self.signature(), *self.second_signature())

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

    def add_second(self) -> None:
        self.fields["second_sign_in"] = forms.CharField(
            label="Second person's sign-in name",
            max_length=40,
            widget=forms.TextInput(attrs=TYPED_NAME),
            error_messages={
                "required": "The second person is missing; the name that they sign in with would be right."
            },
        )
        self.fields["second_pin"] = PinField(
            label="Second person's PIN",
            missing="The second person's PIN is missing; they type it themselves.",
        )

    def second_signature(self) -> list[Any]:
        """The second person signs on the same phone, below the first."""
        if not self.second_signed:
            return []
        who = "A second person of this site, not the first, signs here as well and types their own PIN."
        says = format_html(
            "<p>{}</p><p>Their signature says: I {}.</p>", who, first_person(self.second_signed)
        )
        return [Div(Said(says), Field("second_sign_in"), Field("second_pin"), css_class="signature")]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        lent = self.lends and not self.signed and cleaned.get("sign_in")
        if lent and not cleaned.get("pin") and "pin" not in self.errors:
            self.add_error("pin", "Their PIN is missing; whoever acts types their own.")
        return cleaned

    def command(self, *, by: str, at: datetime) -> commands.Command:
        """The command that the valid form asks for."""
        raise NotImplementedError

    def outcome(self, happened: list[events.Event]) -> Outcome:
        """What the person is told afterwards; nothing has happened where the request was a repeat."""
        return Outcome(self.done)


def first_person(meaning: str) -> str:
    """'issues the permit: …' as 'issue the permit: …', for a signature in the first person."""
    verb, _, rest = meaning.partition(" ")
    verb = {"is": "am", "knows": "know"}.get(
        verb, verb.removesuffix("es") if verb.endswith("sses") else verb.removesuffix("s")
    )
    return f"{verb} {rest}".replace(" knows ", " know ")
