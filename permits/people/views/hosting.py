"""Pages of an outside contractor: for whom they work, who answers for them here, and the end of that."""

from django.http import HttpResponse
from django.utils.timezone import now

from permits.people import actions, forms, queries
from permits.people.access import Role, SiteRequest, allow
from permits.people.views.answering import answer, get_or_post, person_or_404, posted


@allow(Role.OFFICER)
@get_or_post
def employer(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.EmployerForm(posted(request), initial={"employer": who.employer})
    title = f"For whom {who.name} works"
    return answer(request, who, form, title=title, done="The employer is saved.", act=actions.change_employer)


@allow(Role.OFFICER)
@get_or_post
def host(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    hosts = queries.possible_hosts(request.site, who)
    form = forms.HostingForm(posted(request), person=who, hosts=hosts, day=request.site.day_of(now()))
    title = f"A host for {who.name}"
    done = f"{who.name} has a host now."
    return answer(request, who, form, title=title, done=done, act=actions.host_contractor)


@allow(Role.OFFICER)
@get_or_post
def end(request: SiteRequest, ref: str) -> HttpResponse:
    who = person_or_404(request, ref)
    form = forms.WhyForm(posted(request), button="End the hosting")
    title = f"End the hosting of {who.name}"
    done = f"Nobody hosts {who.name} now; they work under no permit until somebody does."
    return answer(request, who, form, title=title, done=done, act=actions.end_hosting)
