"""Forms about the people of a site: adding, roles, authorisations."""

from collections.abc import Iterable
from datetime import date

from django import forms

from permits.people.forms.fields import day, form_helper, role_field
from permits.people.machines import machines_at
from permits.people.models import Site
from permits.people.rules.refs import tidy_ref
from permits.people.rules.roles import Role
from permits.people.rules.sign_in_names import sign_in_objection, tidy_sign_in


class PersonForm(forms.Form):
    name = forms.CharField(
        label="Name",
        max_length=200,
        help_text="As colleagues know them, in any script.",
        error_messages={
            "required": "The name is missing; the one by which colleagues know the person would be right."
        },
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    sign_in = forms.CharField(
        label="Sign-in name",
        max_length=200,
        help_text="Letters a to z, digits, dots and hyphens.",
        error_messages={"required": "The sign-in name is missing; such as m.tarn would be right."},
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    email = forms.EmailField(
        label="E-mail (if any)",
        required=False,
        error_messages={"invalid": "This is no e-mail address; such as m.tarn@plant.example would be right."},
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    employer = forms.CharField(
        label="Employer (of a contractor)",
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    role = role_field(Role, wrong="There is no such role; one of the list would be right.")

    helper = form_helper("Add person")

    def clean_sign_in(self) -> str:
        name = tidy_sign_in(self.cleaned_data["sign_in"])
        if objection := sign_in_objection(name):
            raise forms.ValidationError(objection)
        return name


class JoinForm(forms.Form):
    """Someone who is known at another site: found by reference and sign-in name together."""

    ref = forms.CharField(
        label="Reference",
        max_length=20,
        help_text="Eight characters, on the person’s own page.",
        error_messages={"required": "The reference is missing; such as K7Q2M9XB would be right."},
    )
    sign_in = forms.CharField(
        label="Sign-in name",
        max_length=200,
        error_messages={"required": "The sign-in name is missing; such as m.tarn would be right."},
    )
    role = role_field(Role, wrong="There is no such role; one of the list would be right.")

    helper = form_helper("Give the role here")

    def clean_ref(self) -> str:
        ref = tidy_ref(self.cleaned_data["ref"])
        if ref is None:
            raise forms.ValidationError(
                "A reference is eight letters and digits; such as K7Q2M9XB would be right."
            )
        return ref


class NameForm(forms.Form):
    name = forms.CharField(
        label="Name",
        max_length=200,
        error_messages={
            "required": "The name is missing; the one by which colleagues know the person would be right."
        },
    )

    helper = form_helper("Change the name")


class RoleForm(forms.Form):
    """One role out of `roles`: to be given, or to be ended."""

    def __init__(
        self, *args: object, roles: Iterable[Role], button: str, wrong: str, **kwargs: object
    ) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["role"] = role_field(roles, wrong=wrong)
        self.helper = form_helper(button)


class AuthorisationForm(forms.Form):
    machine = forms.CharField(
        label="Machine",
        max_length=64,
        error_messages={"required": "No machine is chosen; the code on its name plate would be right."},
    )
    qualified = forms.BooleanField(
        label="Qualified to measure absence of voltage",
        required=False,
    )
    starts_on = day("First day", such_as="2026-03-01")
    expires_on = day("Last day", such_as="2027-02-28")

    helper = form_helper("Authorise")

    def __init__(self, *args: object, site: Site, day: date, **kwargs: object) -> None:
        super().__init__(*args, initial={"starts_on": day}, **kwargs)  # type: ignore[arg-type, misc]
        known = machines_at(site)
        if known is not None:
            codes = ", ".join(code for code, _ in known) or "none yet: import the plant first"
            self.fields["machine"] = forms.ChoiceField(
                label="Machine",
                choices=[("", "choose a machine"), *((code, f"{code} {name}") for code, name in known)],
                error_messages={
                    "required": f"No machine is chosen; known here: {codes}.",
                    "invalid_choice": f"There is no machine “%(value)s” at {site.name}; known here: {codes}.",
                },
            )
