"""From a condition that is not met to its rule on the page of rules."""

from __future__ import annotations

from django import template
from django.urls import NoReverseMatch, reverse

from permits.work.rulebook import has_rule

register = template.Library()


@register.filter
def why(unmet: object) -> str:
    """The address of the rule behind an unmet condition; "" where the page of rules does not have it."""
    code = getattr(unmet, "code", "")
    if not has_rule(code):
        return ""
    try:
        return f"{reverse('work:rules')}#{code}"
    except NoReverseMatch:  # a component that is looked at by itself, without the pages
        return ""


@register.filter
def in_words(code: str) -> str:
    """A condition's code as it is read: not-authorised as "not authorised"."""
    return code.replace("-", " ")
