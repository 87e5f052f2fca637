"""Forms for oneself: signing in, signing again, password, PIN, site."""

from collections.abc import Iterable

from django import forms
from django.contrib.auth.password_validation import validate_password

from permits.people.forms.fields import OwnNameField, PasswordField, PinField, form_helper
from permits.people.models import Person, Site
from permits.people.rules.waiting import pin_objection


class SignInForm(forms.Form):
    sign_in = forms.CharField(
        label="Sign-in name",
        max_length=200,
        error_messages={"required": "Your sign-in name is missing; such as m.tarn would be right."},
        widget=forms.TextInput(
            attrs={
                "autocomplete": "username",
                "autocapitalize": "none",
                "spellcheck": "false",
                "autofocus": True,
            }
        ),
    )
    password = PasswordField(
        label="Password", autocomplete="current-password", missing="Your password is missing."
    )

    helper = form_helper("Sign in")


class SignatureForm(forms.Form):
    """Signing again with a PIN; with a sign-in name, someone else signs on this device.

    Other rooms inherit it for acts that are signed; `sign_again` checks what it gives.
    """

    pin = PinField(label="PIN", missing="The PIN is missing; the one set under “my page” would be right.")
    sign_in = forms.CharField(
        label="Someone else signs here: their sign-in name",
        max_length=40,
        required=False,
        help_text="Leave empty to sign yourself.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )


class PinForm(forms.Form):
    username = OwnNameField()
    password = PasswordField(
        label="Your password", autocomplete="current-password", missing="Your password is missing."
    )
    pin = PinField(
        label="New PIN",
        missing="The new PIN is missing; six digits or more would be right.",
        help_text="Six digits or more. You sign permits with it.",
    )
    pin_again = PinField(label="New PIN, again", missing="Type the new PIN a second time.")

    helper = form_helper("Set PIN")

    def clean_pin(self) -> str:
        pin: str = self.cleaned_data["pin"]
        if objection := pin_objection(pin):
            raise forms.ValidationError(objection)
        return pin

    def clean_pin_again(self) -> str:
        again: str = self.cleaned_data["pin_again"]
        if "pin" in self.cleaned_data and again != self.cleaned_data["pin"]:
            raise forms.ValidationError("The two PINs differ; the same PIN twice would be right.")
        return again


class PasswordForm(forms.Form):
    username = OwnNameField()
    current = PasswordField(
        label="Current password", autocomplete="current-password", missing="Your current password is missing."
    )
    password = PasswordField(
        label="New password",
        autocomplete="new-password",
        missing="The new password is missing.",
        help_text="15 characters or more; a few unrelated words are good. Anything you can type is allowed.",
    )
    again = PasswordField(
        label="New password, again",
        autocomplete="new-password",
        missing="Type the new password a second time.",
    )

    helper = form_helper("Set password")

    def __init__(self, *args: object, person: Person, **kwargs: object) -> None:
        super().__init__(*args, initial={"username": person.sign_in}, **kwargs)  # type: ignore[arg-type, misc]
        self.person = person

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        if password == self.cleaned_data.get("current"):
            raise forms.ValidationError("This is the current password; a different one would be right.")
        validate_password(password, self.person)
        return password

    def clean_again(self) -> str:
        again: str = self.cleaned_data["again"]
        if "password" in self.cleaned_data and again != self.cleaned_data["password"]:
            raise forms.ValidationError("The two new passwords differ; the same one twice would be right.")
        return again


class SiteForm(forms.Form):
    site = forms.TypedChoiceField(label="Site", coerce=int, widget=forms.RadioSelect)
    next = forms.CharField(required=False, widget=forms.HiddenInput)

    helper = form_helper("Open this site")

    def __init__(self, *args: object, sites: Iterable[Site], **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        sites = list(sites)
        field = self.fields["site"]
        field.choices = [(site.pk, f"{site.name} ({site.code})") for site in sites]  # type: ignore[attr-defined]
        names = ", ".join(site.name for site in sites)
        field.error_messages = {
            "required": f"No site is chosen; one of {names} would be right.",
            "invalid_choice": f"You have no role at that site; one of {names} would be right.",
        }
