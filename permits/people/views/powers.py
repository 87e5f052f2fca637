"""Pages that give and take what a person may do at the site: roles and authorisations."""

from django.http import Http404, HttpResponse
from django.utils.timezone import now

from permits.people import actions, forms, queries
from permits.people.access import Role, SiteRequest, allow
from permits.people.views.answering import answer, get_or_post, person_or_404, posted


@allow(Role.ADMINISTRATOR)
@get_or_post
def grant_role(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    held = queries.roles_of(who, request.site)
    form = forms.RoleForm(
        posted(request),
        roles=[role for role in Role if role not in held],
        button="Give this role",
        wrong=f"{who.name} has this role already, or there is no such role; one of the list would be right.",
    )
    title = f"Give {who.name} a role"
    return answer(request, who, form, title=title, done="The role is given.", act=actions.grant_role)


@allow(Role.ADMINISTRATOR)
@get_or_post
def end_role(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    held = queries.roles_of(who, request.site)
    form = forms.RoleForm(
        posted(request),
        roles=[role for role in Role if role in held],
        button="End this role",
        wrong=f"{who.name} does not have this role; one of the list would be right.",
    )
    title = f"End a role of {who.name}"
    return answer(request, who, form, title=title, done="The role has ended.", act=actions.end_role)


@allow(Role.OFFICER)
@get_or_post
def authorise(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.AuthorisationForm(posted(request), site=request.site, day=request.site.day_of(now()))
    title = f"Authorise {who.name} for a machine"
    return answer(request, who, form, title=title, done="The authorisation is given.", act=actions.authorise)


@allow(Role.OFFICER)
@get_or_post
def withdraw_authorisation(request: SiteRequest, ref: str, number: int) -> HttpResponse:
    who = person_or_404(request, ref)
    found = queries.authorisation_at(request.site, who, number)
    if found is None:
        raise Http404(f"{who.name} has no authorisation number {number} at this site.")
    form = forms.WhyForm(posted(request), button="Withdraw")
    return answer(
        request,
        who,
        form,
        title=f"Withdraw the authorisation of {who.name} for {found.machine}",
        done=f"The authorisation for {found.machine} is withdrawn.",
        act=actions.withdraw_authorisation,
        what={"authorisation": found},
    )
