"""The auditor's desk: search, exceptions, the ledger, a permit's story, print and entries. Only reads."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from permits.people.access import Role, SiteRequest, allow
from permits.plant.prints.page import Paper
from permits.records import forms, listings, queries
from permits.records.charts import histories_of
from permits.records.exports import entries_file
from permits.records.picture import scene_of
from permits.records.prints.record import Print, record
from permits.records.story import Story, story_of
from permits.records.stretches import stretches
from permits.work import pictures

DESK = (Role.AUDITOR, Role.OFFICER, Role.ADMINISTRATOR)
READERS = (*DESK, Role.ISSUER, Role.TECHNICIAN)


@allow(*DESK)
@require_safe
def search(request: SiteRequest) -> HttpResponse:
    form = forms.SearchForm(request.GET)
    found = queries.search(request.site, form.wanted, page_of(request)) if form.is_valid() else None
    context = {"form": form, "found": found, "query": query_of(request)}
    return render(request, "records/search.html", context, status=200 if found else 422)


@allow(*DESK)
@require_safe
def exceptions(request: SiteRequest) -> HttpResponse:
    form = forms.ExceptionsForm(request.GET)
    found = queries.exceptions(request.site, form.wanted, page_of(request)) if form.is_valid() else None
    context = {"form": form, "found": found, "query": query_of(request)}
    return render(request, "records/exceptions.html", context, status=200 if found else 422)


@allow(*DESK)
@require_safe
def ledger(request: SiteRequest) -> HttpResponse:
    """The state of the ledger; `?verify=1` recomputes it from its first entry on."""
    facts = queries.ledger(request.site, verifying=request.GET.get("verify") == "1")
    return render(request, "records/ledger.html", {"ledger": facts})


@allow(*READERS)
@require_safe
def story(request: SiteRequest, reference: str) -> HttpResponse:
    told = story_or_404(request, reference)
    scene = scene_of(request.site, told)
    picture = pictures.of_permit(scene.look) if scene else None
    context = {
        "story": told,
        "stretches": stretches(told),
        "unfolded": "unfolded" in request.GET,
        "scope": listings.scope(told),
        "first_part": list(listings.first_part(told)),
        "second_part": list(listings.second_part(told)),
        "scene": scene,
        "picture": picture,
        "papers": [paper.value for paper in Paper],
    }
    return render(request, "records/story.html", context)


@allow(*READERS)
@require_safe
def pdf(request: SiteRequest, reference: str) -> HttpResponse:
    """The record as it stands now, on A4 or Letter."""
    wanted = request.GET.get("paper", Paper.A4.value)
    paper = next((paper for paper in Paper if paper.value.casefold() == wanted.casefold()), None)
    if paper is None:
        known = " or ".join(paper.value for paper in Paper)
        return HttpResponse(
            f"There is no paper “{wanted}” here; {known} would be right.", "text/plain; charset=utf-8", 400
        )
    told = story_or_404(request, reference)
    sheet = Print(
        paper=paper,
        printed_at=told.clock.local(now()),
        leads_to=settings.PUBLIC_URL + reverse("records:story", args=[reference]),
    )
    answer = HttpResponse(
        record(told, scene_of(request.site, told), sheet, axes=histories_of(request.site, reference)),
        "application/pdf",
    )
    answer["Content-Disposition"] = f'inline; filename="{told.ledger}-{reference}.pdf"'
    return answer


@allow(*READERS)
@require_safe
def download(request: SiteRequest, reference: str) -> HttpResponse:
    """The permit's entries with the exact texts that were hashed."""
    file = entries_file(request.site, reference, now())
    if file is None:
        raise missing(request, reference)
    answer = HttpResponse(file, "application/json")
    answer["Content-Disposition"] = f'attachment; filename="{request.site.code}-{reference}-entries.json"'
    return answer


def story_or_404(request: SiteRequest, reference: str) -> Story:
    """The story as it is now; a permit of another site is not found."""
    told = story_of(request.site, reference, now())
    if told is None:
        raise missing(request, reference)
    return told


def missing(request: SiteRequest, reference: str) -> Http404:
    return Http404(f"There is no permit {reference} at {request.site.name}.")


def page_of(request: HttpRequest) -> int:
    """The page that is asked for; the first where it is no number."""
    wanted = request.GET.get("page", "")
    return int(wanted) if wanted.isascii() and wanted.isdigit() and len(wanted) < 9 else 1


def query_of(request: HttpRequest) -> str:
    """The address's filters without its page, for the links to other pages."""
    query = request.GET.copy()
    query.pop("page", None)
    return query.urlencode()
