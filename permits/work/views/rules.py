"""The page of rules: everything that the product refuses, and why."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from permits.people.access import SiteRequest, signed_in
from permits.work import queries
from permits.work.views.answering import get_only


@signed_in
@get_only
def rules(request: SiteRequest) -> HttpResponse:
    """Each step with its conditions, each condition with who can meet it and where it comes from."""
    return render(request, "work/rules.html", {"page": queries.rules_page()})
