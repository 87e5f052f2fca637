"""The site's own numbers: everyone reads them, an officer changes them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.ledger.sent import SentOtherwise
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.people.repeats import NotTaken, give_fresh_key, not_taken, sent_with, was_done
from permits.work import queries
from permits.work.actions import set_policy
from permits.work.forms.site_policy import WARNING, PolicyForm
from permits.work.rules.refusal import Refused
from permits.work.rules.words import Policy
from permits.work.views.answering import get_only, get_or_post

ASKED = "change the site's numbers"
DONE = "The site's numbers are changed. They hold from now on, for open permits as well."


@signed_in
@get_only
def policy(request: SiteRequest) -> HttpResponse:
    """Each number with its default, its range, what it is for and what it rests on."""
    context = {
        "lines": queries.policy_lines(request.site),
        "changed": queries.policy_changed(request.site),
        "warning": WARNING,
        "officer": Role.OFFICER in request.roles,
    }
    return render(request, "work/policy.html", context)


@allow(Role.OFFICER)
@get_or_post
def change_policy(request: SiteRequest) -> HttpResponse:
    now_in_force = queries.policy_of(request.site)
    form = PolicyForm(request.POST if request.method == "POST" else None, policy=now_in_force)
    refusal: Refused | NotTaken | None = None
    try:
        if form.is_bound and (was_done(request) or changed(request, form)):
            return redirect("work:policy")
    except Refused as refused:
        refusal, refused.asked = refused, ASKED
    except SentOtherwise as other:
        refusal = not_taken(request, other, ASKED)
        give_fresh_key(form)
    if refusal:
        form.shows(queries.policy_of(request.site))
    context = {"form": form, "refusal": refusal, "lines": queries.policy_lines(request.site)}
    status = 409 if refusal else 422 if form.is_bound else 200
    return render(request, "work/change_policy.html", context, status=status)


def changed(request: SiteRequest, form: PolicyForm) -> bool:
    """Change the numbers to those of a valid form. Raises Refused."""
    if not form.is_valid():
        return False
    shown: Policy = form.cleaned_data["shown"]
    set_policy(
        site=request.site, chosen=form.chosen, shown=shown, by=request.author, at=now(),
        key=sent_with(request),
    )  # fmt: skip
    messages.success(request, DONE)
    if form.chosen.own_issue and not shown.own_issue:
        messages.warning(request, f"Issuer and holder may be one person now. {WARNING}")
    return True
