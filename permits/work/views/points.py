"""A point as someone meets it at the disconnect: by its scanned plate or its typed short code."""

from __future__ import annotations

from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.people.repeats import is_repeat
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
        tag, typed = tag_of(request, token)
    except CodeError:
        tag, typed = None, False
    if tag is None:
        why = f"This plate names no point of {request.site.name}. Is the right site open?"
        return no_such_plate(request, why)
    return point_page(request, tag, typed=typed)


@signed_in
@get_or_post
def find(request: SiteRequest) -> HttpResponse:
    """The short code typed by hand, where the plate cannot be scanned."""
    form = FindForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        tag = named_by(request, form, form.cleaned_data["code"])
        if tag is not None:
            return redirect("work:point-by-code", shown(tag.short_code))
    return render(request, "work/find.html", {"form": form}, status=422 if form.is_bound else 200)


@signed_in
@get_only
def by_code(request: SiteRequest, code: str) -> HttpResponse:
    """The point's page after its short code was typed."""
    try:
        tag, typed = tag_of(request, code)
    except CodeError as wrong:
        return no_such_plate(request, str(wrong), code)
    if tag is None:
        return no_such_plate(request, unknown_at(request), code)
    return point_page(request, tag, typed=typed)


def no_such_plate(request: SiteRequest, why: str, code: str = "") -> HttpResponse:
    """What was scanned or typed names no point here: why, and the short code to be typed instead."""
    context = {"form": FindForm(initial={"code": code}), "why": why}
    return render(request, "work/find.html", context, status=404)


def unknown_at(request: SiteRequest) -> str:
    return f"No point of {request.site.name} has this code; look at the plate once more."


def named_by(request: SiteRequest, form: Form, code: str, *, field: str = "code") -> Tag | None:
    """The tag that a code typed into the form's field names; where there is none, the form says why."""
    try:
        tag, typed = tag_of(request, code)
    except CodeError as wrong:
        form.add_error(field, str(wrong))
        return None
    if tag is None:
        form.add_error(field, unknown_at(request))
    elif isinstance(form, AtPointForm):
        form.typed = typed
    return tag


def point_page(request: SiteRequest, tag: Tag, *, typed: bool) -> HttpResponse:
    at = now()
    if tag.withdrawn_at is not None:
        plant_actions.read_withdrawn(tag=tag, by=request.author, at=at)
        return render(request, "work/withdrawn_tag.html", {"tag": tag}, status=410)
    page = queries.point_page(request.site, tag.node.code, request.person.ref, at)
    if page is None:
        return no_such_plate(request, f"{tag.node.name} is no longer in the plant.")
    code = shown(tag.short_code) if typed else tag.token
    context = {
        "page": page,
        "step": way(page.next_permit, page.next, code=code),
        "more": [way(permit, step, code=code) for permit, step in page.more],
    }
    return render(request, "work/point.html", context)


# ── lock and release, at the point ──────────────────────────────────────────────────────────────────────


def at_point(request: SiteRequest, reference: str, form_class: type[AtPointForm]) -> HttpResponse:
    """Ask for the point's code as well, unless the plate was just scanned (`?code=`)."""
    seen = look_or_404(request, reference, now())
    code = request.GET.get("code", "")
    form = form_of(request, seen, form_class, initial={"code": code})
    assert isinstance(form, AtPointForm)
    if form.is_bound:
        read_code(request, form, seen)
    elif code:
        form.found, form.typed = point_scanned(request, code)
    if form.found:
        form.at_point(form.found)
        if not form.typed:
            form.scanned()
    elif expected := queries.next_point(seen, request.person.ref):
        form.at_point(expected)
    return answer(request, seen, form, template="work/act_at_point.html")


def read_code(request: SiteRequest, form: AtPointForm, seen: queries.Look) -> None:
    """The point that the posted code names; otherwise the form says what is wrong with the code."""
    if is_repeat(request) or "code" in form.errors:
        return
    tag = named_by(request, form, form.cleaned_data["code"])
    if tag is None:
        return
    if tag.withdrawn_at is not None:
        plant_actions.read_withdrawn(tag=tag, by=request.author, at=seen.at)
        form.add_error("code", "This plate was withdrawn; the point's present plate would be right.")
    else:
        form.found = tag.node.code


def point_scanned(request: SiteRequest, code: str) -> tuple[str, bool]:
    """The point of a code in the address, "" where it is none, and whether the code was typed."""
    try:
        tag, typed = tag_of(request, code)
    except CodeError:
        return "", False
    return (tag.node.code if tag and tag.withdrawn_at is None else ""), typed


@allow(Role.TECHNICIAN)
@get_or_post
def lock(request: SiteRequest, reference: str) -> HttpResponse:
    return at_point(request, reference, LockForm)


@allow(Role.TECHNICIAN)
@get_or_post
def release(request: SiteRequest, reference: str) -> HttpResponse:
    return at_point(request, reference, ReleaseForm)
