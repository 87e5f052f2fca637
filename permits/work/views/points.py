"""A point as someone meets it at the disconnect: by its scanned plate or its typed short code."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import actions as plant_actions
from permits.plant import queries as plant
from permits.plant.models import Tag
from permits.plant.rules.codes import CodeError, shown
from permits.work import queries
from permits.work.forms.finding import FindForm
from permits.work.forms.isolating import AtPointForm, LockForm, ReleaseForm
from permits.work.views.answering import answer, form_of, get_only, get_or_post, look_or_404
from permits.work.views.ways import way


def tag_of(request: SiteRequest, code: str) -> tuple[Tag | None, bool]:
    """The site's tag that a token or a typed short code names, and whether it was typed. Raises CodeError."""
    try:
        found = plant.tag_by_token(code.strip())
        return (found if found.site_id == request.site.pk else None), False
    except Tag.DoesNotExist:
        pass
    try:
        return plant.tag_by_short_code(request.site, code), True
    except Tag.DoesNotExist:
        return None, True


@signed_in
@get_only
def by_token(request: SiteRequest, token: str) -> HttpResponse:
    """What a phone opens after it has scanned a plate."""
    try:
        tag, _ = tag_of(request, token)
    except CodeError:
        tag = None
    if tag is None:
        raise Http404(f"This plate names no point of {request.site.name}. Is the right site open?")
    return point_page(request, tag, typed=False)


@signed_in
@get_or_post
def find(request: SiteRequest) -> HttpResponse:
    """The short code typed by hand, where the plate cannot be scanned."""
    form = FindForm(request.POST or None)
    if form.is_valid():
        try:
            tag, _ = tag_of(request, form.cleaned_data["code"])
        except CodeError as wrong:
            form.add_error("code", str(wrong))
        else:
            if tag is not None:
                return redirect("work:point-by-code", shown(tag.short_code))
            form.add_error("code", f"No point of {request.site.name} has this code; look at the plate once more.")
    return render(request, "work/find.html", {"form": form}, status=422 if form.is_bound else 200)


@signed_in
@get_only
def by_code(request: SiteRequest, code: str) -> HttpResponse:
    """The point's page after its short code was typed."""
    try:
        tag, _ = tag_of(request, code)
    except CodeError as wrong:
        raise Http404(str(wrong)) from None
    if tag is None:
        raise Http404(f"No point of {request.site.name} has this code.")
    return point_page(request, tag, typed=True)


def point_page(request: SiteRequest, tag: Tag, *, typed: bool) -> HttpResponse:
    at = now()
    if tag.withdrawn_at is not None:
        plant_actions.read_withdrawn(tag=tag, by=request.author, at=at)
        return render(request, "work/withdrawn_tag.html", {"tag": tag}, status=410)
    page = queries.point_page(request.site, tag.node.code, request.person.ref, at)
    if page is None:
        raise Http404(f"{tag.node.name} is no longer in the plant.")
    code = shown(tag.short_code) if typed else tag.token
    step = way(page.next_permit, page.next, code=code)
    return render(request, "work/point.html", {"page": page, "step": step})


# ── lock and release, at the point ──────────────────────────────────────────────────────────────────────


def at_point(request: SiteRequest, reference: str, form_class: type[AtPointForm]) -> HttpResponse:
    """Ask for the point's code as well, unless the plate was just scanned (`?code=`)."""
    seen = look_or_404(request, reference, now())
    code = request.POST.get("code") or request.GET.get("code", "")
    form = form_of(request, seen, form_class, initial={"code": code})
    assert isinstance(form, AtPointForm)
    tag: Tag | None = None
    if code:
        try:
            tag, form.typed = tag_of(request, code)
        except CodeError as wrong:
            if form.is_bound:
                form.add_error("code", str(wrong))
        else:
            if tag is None and form.is_bound:
                form.add_error("code", f"No point of {request.site.name} has this code; look at the plate once more.")
            elif tag is not None and tag.withdrawn_at is not None and form.is_bound:
                plant_actions.read_withdrawn(tag=tag, by=request.author, at=seen.at)
                form.add_error("code", "This plate was withdrawn; use the point's present plate.")
            elif tag is not None:
                form.found = tag.node.code
    if form.found:
        form.at_point(form.found)
        if not form.typed:
            form.scanned()
    elif expected := queries.next_point(seen, request.person.ref):
        form.at_point(expected)
    return answer(request, seen, form, template="work/act_at_point.html")


@allow(Role.TECHNICIAN)
@get_or_post
def lock(request: SiteRequest, reference: str) -> HttpResponse:
    return at_point(request, reference, LockForm)


@allow(Role.TECHNICIAN)
@get_or_post
def release(request: SiteRequest, reference: str) -> HttpResponse:
    return at_point(request, reference, ReleaseForm)
