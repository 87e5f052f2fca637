"""Forms about outside contractors: for whom they work, who of the site answers for them and until when."""

from collections.abc import Iterable
from datetime import date

from django import forms

from permits.people.forms.fields import day, form_helper
from permits.people.models import Person

COMPANY = "The company, no names of people: it is kept for ever."


class EmployerForm(forms.Form):
    employer = forms.CharField(
        label="Employer (if a contractor)",
        max_length=200,
        required=False,
        help_text=f"{COMPANY} Left empty: one of the site’s own people.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    helper = form_helper("Save the employer")


class HostingForm(forms.Form):
    """The host of one contractor; `hosts` are the people of the site who may be it."""

    employer = forms.CharField(
        label="Employer",
        max_length=200,
        help_text=COMPANY,
        error_messages={
            "required": "The employer is missing; the company that sends the contractor would be right."
        },
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    host = forms.ChoiceField(
        label="Host: answers for them here",
        choices=(),
        error_messages={
            "required": "No host is chosen; one of the site’s own people would be right.",
            "invalid_choice": "This is none of the site’s own people; one of the list would be right.",
        },
    )
    starts_on = day("First day", such_as="2026-03-01")
    expires_on = day("Last day", such_as="2026-03-31")
    informed = forms.CharField(
        label="What the two employers told each other",
        max_length=2000,
        help_text="Of their lockout procedures: who told whom what, and when. Kept for ever: no names.",
        error_messages={
            "required": "What the two employers told each other is missing; such as “our procedures of the "
            "saw handed over, theirs read on 3 March” would be right."
        },
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    helper = form_helper("Give this host")

    def __init__(
        self, *args: object, person: Person, hosts: Iterable[Person], day: date, **kwargs: object
    ) -> None:
        first = {"employer": person.employer, "starts_on": day}
        super().__init__(*args, initial=first, **kwargs)  # type: ignore[arg-type, misc]
        self.fields["host"].choices = [  # type: ignore[attr-defined]
            ("", "choose a host"),
            *((one.ref, one.name) for one in hosts),
        ]
