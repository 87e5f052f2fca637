"""Fields and buttons that several forms share, and where a declined message goes."""

import unicodedata
from collections.abc import Iterable

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms

from permits.people.rules.declined import Declined
from permits.people.rules.roles import Role

LONGEST_PASSWORD = 1000


def form_helper(button: str) -> FormHelper:
    """A form that posts to its own page and has one button."""
    helper = FormHelper()
    helper.form_method = "post"
    helper.add_input(Submit("submit", button))
    return helper


def show_declined(form: forms.Form, declined: Declined) -> None:
    """Puts the message where it belongs in the form."""
    form.add_error(declined.field if declined.field in form.fields else None, declined.message)


class PasswordField(forms.CharField):
    """A password: nothing stripped, one Unicode form (NFKC) whichever device typed it, never shown again."""

    def __init__(self, *, label: str, autocomplete: str, missing: str, help_text: str = "") -> None:
        super().__init__(
            label=label,
            help_text=help_text,
            strip=False,
            max_length=LONGEST_PASSWORD,
            widget=forms.PasswordInput(attrs={"autocomplete": autocomplete}),
            error_messages={"required": missing},
        )

    def to_python(self, value: object) -> str:
        return unicodedata.normalize("NFKC", super().to_python(value) or "")


class OwnNameField(forms.CharField):
    """One's own sign-in name, unseen: tells a password manager whose password a form is about."""

    def __init__(self) -> None:
        super().__init__(
            required=False, disabled=True, widget=forms.HiddenInput(attrs={"autocomplete": "username"})
        )


class PinField(forms.CharField):
    """A PIN: digits on a phone's number pad, never shown again."""

    def __init__(self, *, label: str, missing: str, help_text: str = "") -> None:
        super().__init__(
            label=label,
            help_text=help_text,
            max_length=64,
            widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
            error_messages={"required": missing},
        )


def role_field(roles: Iterable[Role], *, wrong: str) -> forms.TypedChoiceField:
    """A choice of one of `roles`; `wrong` is said of anything else."""
    return forms.TypedChoiceField(
        label="Role",
        coerce=Role,
        choices=[(role.value, f"{role.words}: {role.may}") for role in roles],
        widget=forms.RadioSelect,
        error_messages={
            "required": "No role is chosen; one of the list would be right.",
            "invalid_choice": wrong,
        },
    )


class WhyForm(forms.Form):
    """A reason, kept in the ledger for ever."""

    why = forms.CharField(
        label="Why",
        max_length=500,
        help_text="Kept for ever: no names.",
        error_messages={
            "required": "The reason is missing; a few words that an auditor understands would be right."
        },
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: object, button: str, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.helper = form_helper(button)


class ButtonForm(forms.Form):
    """Nothing to fill in: one button."""

    def __init__(self, *args: object, button: str, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.helper = form_helper(button)


def day(label: str, *, such_as: str) -> forms.DateField:
    """A calendar day that is asked for; `such_as`: one that would be right."""
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": f"The {label.lower()} is missing; a date such as {such_as} would be right.",
            "invalid": f"This is no date; such as {such_as} would be right.",
        },
    )
