"""The page of rules: everything that the product refuses, and why."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from permits.people.access import SiteRequest, signed_in
from permits.work import queries
from permits.work.forms.finding_rules import FindRulesForm
from permits.work.views.answering import get_only


@signed_in
@get_only
def rules(request: SiteRequest) -> HttpResponse:
    """Each step with its conditions, each of these with its grounds; `?text=` leaves what has the words."""
    text = request.GET.get("text", "").strip()
    context = {
        "page": queries.rules_with(text),
        "text": text,
        "form": FindRulesForm({"text": text}),
        "unfolded": bool(text) or "unfolded" in request.GET,
        "whole": request.path if text else "",
    }
    return render(request, "work/rules.html", context)
