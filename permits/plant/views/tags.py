"""Tags: which points have one, issuing and re-issuing them, and the sheet to print."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.http import require_POST, require_safe

from permits.ledger.sent import Key, SentOtherwise
from permits.people.access import Role, SiteRequest, allow
from permits.people.repeats import NotTaken, is_repeat, not_taken, sent_with
from permits.plant import actions, forms, queries
from permits.plant.models import Machine
from permits.plant.pages import tags as pages
from permits.plant.rules.codes import CodeError
from permits.plant.tags import TagError, tag_sheet
from permits.plant.views.answering import Page, Refusal, answer, get_or_post, node_or_404, posted


@allow(Role.OFFICER)
@require_safe
def tags(request: SiteRequest) -> HttpResponse:
    """The points of a machine (`machine`) or of the whole site with their tags."""
    return page(request, request.GET.get("machine", ""))


@allow(Role.OFFICER)
@require_POST
def issue(request: SiteRequest) -> HttpResponse:
    """A tag for every point in the list that has none."""
    machine = request.POST.get("machine", "")
    to = reverse("plant:tags") + (f"?machine={machine}" if machine else "")
    form = forms.IssueForm(request.POST, button="Issue")
    if is_repeat(request):
        return redirect(to)
    if not form.is_valid():
        lines = [str(error) for errors in form.errors.values() for error in errors]
        return page(request, machine, Refusal.of("issue tags", lines))
    bare = [point.node for point in points_or_404(request, machine) if point.tag is None]
    try:
        made = actions.issue_tags(
            site=request.site, nodes=bare, by=request.author, at=now(), key=sent_with(request)
        )
    except actions.AlreadyDone:
        return redirect(to)
    except SentOtherwise as other:
        return page(request, machine, not_taken(request, other, "issue tags"))
    except actions.PlantRefused as refused:
        return page(request, machine, Refusal.of("issue tags", refused.reasons))
    messages.success(request, f"{len(made)} {'tag is' if len(made) == 1 else 'tags are'} issued. Print them.")
    return redirect(to)


@allow(Role.OFFICER)
@get_or_post
def reissue(request: SiteRequest, code: str) -> HttpResponse:
    node = node_or_404(request, code)
    to = reverse("plant:node", args=[code])
    if is_repeat(request):
        return redirect(to)
    tag = next((tag for tag in queries.tags_of(node) if tag.withdrawn_at is None), None)
    if tag is None:
        raise Http404(f"{node.name} has no tag; issue one first.")
    form = forms.WhyForm(posted(request), button="Withdraw it and issue a new one")

    def act(at: datetime, key: Key) -> object:
        return actions.reissue_tag(tag=tag, why=form.cleaned_data["why"], by=request.author, at=at, key=key)

    say = (
        "The old code stops working at once: whoever scans it is told so, and it is recorded. Take the old "
        "tag off the point when you hang the new one."
    )
    asks = Page(f"A new tag for {node.name}", (to, node.name), more={"say": say})
    done = "The old tag is withdrawn. Print the new one and hang it at the point."
    return answer(request, form, act, asks, to=lambda: to, done=done, asked="issue a new tag")


@allow(Role.OFFICER)
@require_safe
def sheet(request: SiteRequest) -> HttpResponse:
    """The tags as a PDF: `paper`, `size`, of a `machine`, or only of some points (`point`)."""
    machine, asked = request.GET.get("machine", ""), request.GET
    points = points_or_404(request, machine)
    try:
        faces = pages.faces(request.site, points, public_url=settings.PUBLIC_URL, only=asked.getlist("point"))
        pdf = tag_sheet(
            faces,
            paper=asked.get("paper", "A4"),
            size=asked.get("size", "medium"),
            at=now().astimezone(request.site.zone),
        )
    except (TagError, CodeError) as error:
        return page(request, machine, Refusal.of("print tags", [str(error)]))
    answered = HttpResponse(pdf, content_type="application/pdf")
    answered["Content-Disposition"] = f'inline; filename="{request.site.code}-tags.pdf"'
    return answered


def page(request: SiteRequest, machine: str, refusal: Refusal | NotTaken | None = None) -> HttpResponse:
    """The list with what can be done about it; with a refusal of what was asked, if it was."""
    machines = queries.machine_codes(request.site)
    points = points_or_404(request, machine)
    lines = pages.tag_lines(request.site, points)
    bare = sum(not line.code for line in lines)
    words = f"Issue {bare} {'tag' if bare == 1 else 'tags'}"
    send = forms.IssueForm(button=words, initial={"machine": machine}, auto_id="id_issue_%s")
    send.helper.form_action = reverse("plant:issue-tags")
    context = {
        "lines": lines,
        "bare": bare,
        "machine": machine,
        "filters": forms.TagFilterForm({"machine": machine}, machines=machines),
        "issue": send if bare else None,
        "print": forms.SheetForm(machine=machine) if bare < len(lines) else None,
        "printable": len(lines) - bare,
        "refusal": refusal,
    }
    return render(request, "plant/tags.html", context, status=409 if refusal else 200)


def points_or_404(request: SiteRequest, machine: str) -> list[queries.Point]:
    try:
        return pages.points_of(request.site, machine)
    except Machine.DoesNotExist:
        raise Http404(f"There is no machine {machine} at {request.site.name}.") from None
