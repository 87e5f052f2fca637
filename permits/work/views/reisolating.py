"""Make it dead again after a test: plates are scanned one by one, then everything is sent at once."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow
from permits.people.repeats import is_repeat
from permits.plant import actions as plant_actions
from permits.work import queries
from permits.work.forms.reisolating import ReisolateForm, Row
from permits.work.rules.against import name_of
from permits.work.rules.reisolating import freed
from permits.work.views.answering import answer, form_of, get_or_post, look_or_404
from permits.work.views.points import named_by, point_scanned

SCANNED = "scanned"  # in the session: permit → point → the token of its plate


@allow(Role.TECHNICIAN)
@get_or_post
def reisolate(request: SiteRequest, reference: str) -> HttpResponse:
    seen = look_or_404(request, reference, now())
    form = form_of(request, seen, ReisolateForm, scanned=scanned_so_far(request, seen))
    assert isinstance(form, ReisolateForm)
    if form.is_bound and not is_repeat(request):
        read_codes(request, form, seen)
    answered = answer(request, seen, form, template="work/reisolate.html")
    if answered.status_code == 302:
        request.session.pop(SCANNED, None)
    return answered


def scanned_so_far(request: SiteRequest, seen: queries.Look) -> dict[str, str]:
    """The plates scanned for this permit; one that was just scanned (`?code=`) is added to them."""
    kept = request.session.get(SCANNED, {})
    mine: dict[str, str] = kept.get(seen.permit.id, {})
    code = request.GET.get("code", "")
    point, typed = point_scanned(request, code) if code else ("", True)
    if point in freed(seen.permit) and not typed:
        mine = {**mine, point: code}
        request.session[SCANNED] = {**kept, seen.permit.id: mine}
    return mine


def read_codes(request: SiteRequest, form: ReisolateForm, seen: queries.Look) -> None:
    """Each code names the point that it stands beside; otherwise the form says whose plate it is."""
    if form.is_valid():
        for row in form.locked:
            read_code(request, form, row, seen)


def read_code(request: SiteRequest, form: ReisolateForm, row: Row, seen: queries.Look) -> None:
    tag = named_by(request, form, form.cleaned_data[row.code], field=row.code)
    if tag is None:
        return
    if tag.withdrawn_at is not None:
        plant_actions.read_withdrawn(tag=tag, by=request.author, at=seen.at)
        form.add_error(row.code, "This plate was withdrawn; the point's present plate would be right.")
    elif tag.node.code != row.point:
        here = name_of(seen.site, row.point)
        form.add_error(row.code, f"This is the plate of {tag.node.name}; that of {here} would be right.")
