"""What a form says where a field cannot be read: our own words for all that Django would say in its own."""

from __future__ import annotations

from typing import Any

from django import forms

PAGE_DAMAGED = "A hidden part of this page did not arrive whole; load the page again."


def in_our_words(form: forms.Form) -> None:
    """Gives each field of the form a message of our own for every error that still has Django's."""
    for field in form.fields.values():
        hidden = isinstance(field.widget, forms.HiddenInput)
        for code, message in own_words(field, hidden=hidden).items():
            if has_standard_words(field, code):
                field.error_messages[code] = message


def has_standard_words(field: forms.Field, code: str) -> bool:
    """Would Django's own sentence be shown for this error of the field?"""
    return code not in field.error_messages or field.error_messages[code] == standard(field).get(code)


def standard(field: forms.Field) -> dict[str, Any]:
    """Django's messages for this kind of field."""
    found: dict[str, Any] = {}
    for made in reversed(type(field).__mro__):
        if made.__module__.startswith("django."):
            found |= getattr(made, "default_error_messages", {})
    return found


def own_words(field: forms.Field, *, hidden: bool) -> dict[str, str]:
    """Error code → message, for the errors that this kind of field can have."""
    if hidden:
        return dict.fromkeys(
            ("required", "invalid", "min_value", "max_value", "max_length", *ODD), PAGE_DAMAGED
        )
    if isinstance(field, forms.MultipleChoiceField):
        return choice_words("Nothing is ticked")
    if isinstance(field, forms.ChoiceField):
        return choice_words("Nothing is chosen")
    if isinstance(field, forms.BooleanField):
        return {"required": "Not ticked; look, then tick it."}
    found = {
        "required": "Nothing is entered.",
        "max_length": "%(show_value)d characters are too many; %(limit_value)d at most would be right.",
    } | dict.fromkeys(ODD, "One character in it cannot be kept; typed anew it would be right.")
    if isinstance(field, forms.DecimalField):
        found |= number_words()
    return found


ODD = ("null_characters_not_allowed",)


def choice_words(missing: str) -> dict[str, str]:
    return {
        "required": f"{missing}; choose from the list.",
        "invalid_choice": "“%(value)s” is not in the list now; choose from the list.",
        "invalid_list": "What was sent is no list; choose from the list.",
    }


def number_words() -> dict[str, str]:
    codes = ("max_digits", "max_decimal_places", "max_whole_digits")
    long = "Too many digits; as many as the instrument shows would be right."
    return dict.fromkeys(codes, long) | {"invalid": "Not a number; such as 0.3 would be right."}
