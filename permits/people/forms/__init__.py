"""Forms about people: they parse, and word what was wrong and what would be right; they change nothing."""

from permits.people.forms.fields import (
    ButtonForm,
    PasswordField,
    PinField,
    WhyForm,
    form_helper,
    show_declined,
)
from permits.people.forms.hosting import EmployerForm, HostingForm
from permits.people.forms.own import PasswordForm, PinForm, SignatureForm, SignInForm, SiteForm
from permits.people.forms.people import AuthorisationForm, JoinForm, NameForm, PersonForm, RoleForm

__all__ = [
    "AuthorisationForm",
    "ButtonForm",
    "EmployerForm",
    "HostingForm",
    "JoinForm",
    "NameForm",
    "PasswordField",
    "PasswordForm",
    "PersonForm",
    "PinField",
    "PinForm",
    "RoleForm",
    "SignInForm",
    "SignatureForm",
    "SiteForm",
    "WhyForm",
    "form_helper",
    "show_declined",
]
