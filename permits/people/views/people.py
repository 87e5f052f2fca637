"""Pages about the people of a site: the list, adding someone, their accounts."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from permits.people import actions, forms, queries
from permits.people.access import Role, SiteRequest, allow
from permits.people.models import Person
from permits.people.rules.declined import Declined
from permits.people.views.answering import answer, ask, get_or_post, person_or_404, posted

ADMINISTRATOR, OFFICER, AUDITOR = Role.ADMINISTRATOR, Role.OFFICER, Role.AUDITOR


@allow(ADMINISTRATOR, OFFICER, AUDITOR)
@require_safe
def people(request: SiteRequest) -> HttpResponse:
    lines = queries.people_of(request.site, day=request.site.day_of(now()))
    return render(request, "people/people.html", {"lines": lines, "may_add": ADMINISTRATOR in request.roles})


@allow(ADMINISTRATOR, OFFICER, AUDITOR)
@require_safe
def person(request: SiteRequest, ref: str) -> HttpResponse:
    page = queries.page_of(person_or_404(request, ref), request.site, day=request.site.day_of(now()))
    may = {"manage": ADMINISTRATOR in request.roles, "authorise": OFFICER in request.roles}
    return render(request, "people/person.html", {"page": page, "may": may})


@allow(ADMINISTRATOR)
@get_or_post
def add(request: SiteRequest) -> HttpResponse:
    form = forms.PersonForm(posted(request))
    if form.is_valid():
        password = actions.fresh_password()
        try:
            added = actions.add_person(
                site=request.site, first_password=password, by=request.author, at=now(), **form.cleaned_data
            )
        except Declined as declined:
            forms.show_declined(form, declined)
        else:
            return _first_password(request, added, password)
    return ask(request, form, "Add a person", template="people/add.html")


@allow(ADMINISTRATOR)
@get_or_post
def join(request: SiteRequest) -> HttpResponse:
    form = forms.JoinForm(posted(request))
    if form.is_valid():
        try:
            joined = actions.join_site(site=request.site, by=request.author, at=now(), **form.cleaned_data)
        except Declined as declined:
            forms.show_declined(form, declined)
        else:
            messages.success(request, f"{joined.name} has a role at {request.site.name} now.")
            return redirect("people:person", joined.ref)
    return ask(request, form, "Someone known at another site")


@allow(ADMINISTRATOR)
@get_or_post
def rename(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.NameForm(posted(request), initial={"name": who.name})
    title = f"Change the name of {who.name}"
    return answer(request, who, form, title=title, done="The name is changed.", act=actions.rename_person)


@allow(OFFICER, ADMINISTRATOR)
@get_or_post
def reset_pin(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.WhyForm(posted(request), button="Reset the PIN")
    done = f"The PIN is removed; {who.name} sets a new one under “my page”."
    return answer(request, who, form, title=f"Reset the PIN of {who.name}", done=done, act=actions.reset_pin)


@allow(ADMINISTRATOR)
@get_or_post
def reset_password(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.ButtonForm(posted(request), button="Give a new first password")
    if form.is_valid():
        password = actions.fresh_password()
        try:
            actions.reset_password(
                site=request.site, person=who, first_password=password, by=request.author, at=now()
            )
        except Declined as declined:
            forms.show_declined(form, declined)
        else:
            return _first_password(request, who, password)
    return ask(request, form, f"A new first password for {who.name}", who=who)


@allow(ADMINISTRATOR)
@get_or_post
def disable(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.WhyForm(posted(request), button="Disable")
    done = f"{who.name} is disabled; every session of theirs has ended."
    return answer(
        request, who, form, title=f"Disable {who.name} at every site", done=done, act=actions.disable_person
    )


@allow(ADMINISTRATOR)
@get_or_post
def enable(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.WhyForm(posted(request), button="Enable")
    done = f"{who.name} is enabled and can sign in again."
    return answer(request, who, form, title=f"Enable {who.name}", done=done, act=actions.enable_person)


def _first_password(request: SiteRequest, who: Person, password: str) -> HttpResponse:
    """Answered at once, without a redirect: the password is kept nowhere that it could be read again."""
    return render(request, "people/first_password.html", {"who": who, "first_password": password})
