"""Start, board, one permit, and the commands of its life, one view each."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import queries as plant
from permits.work import pictures, queries
from permits.work.forms import issuing, occupying, proving, restoring, testing
from permits.work.forms.asking import CommandForm
from permits.work.views.answering import act, answer, form_of, get_only, get_or_post, look_or_404
from permits.work.views.live import is_unchanged, kept_live, unchanged
from permits.work.views.ways import NO_MACHINE, other_ways, way

AT_WORK = (Role.TECHNICIAN,)
SIGNS_OUT = (Role.ISSUER,)


@signed_in
@get_only
def home(request: SiteRequest) -> HttpResponse:
    """Where everyone starts: the plate's code, and the permits that concern them."""
    mine = queries.mine(request.site, request.person.ref, now())
    return render(request, "work/home.html", {"mine": [(row, way(row.id, step)) for row, step in mine]})


@signed_in
@get_only
def board(request: SiteRequest, layout: str = "base.html") -> HttpResponse:
    """Open permits, most urgent first; the page asks again under its other address, with what it shows."""
    at, entry = now(), queries.last_entry(request.site)
    if is_unchanged(request, entry, at):
        return unchanged(at)
    site = queries.settled(request.site, at)
    context = {"rows": queries.board_of(site, at), "service": queries.out_of_service(site), "at": at}
    page = render(request, "work/board.html", context | {"layout": layout})
    return kept_live(page, queries.version(request.site, entry, site, at), at)


@signed_in
@get_only
def permit(request: SiteRequest, reference: str, layout: str = "base_phone.html") -> HttpResponse:
    """One permit: its state, the one next thing this person can do, its points, people and areas."""
    at, entry = now(), queries.last_entry(request.site)
    if is_unchanged(request, entry, at):
        return unchanged(at)
    seen = look_or_404(request, reference, at)
    page = queries.permit_page(seen, request.person.ref)
    context = {"page": page, "step": way(page.id, page.next), "choices": other_ways(page), "layout": layout}
    shown = render(request, "work/permit.html", context)
    return kept_live(shown, queries.version(request.site, entry, seen.site, at), at)


@signed_in
@get_only
def picture(request: SiteRequest, reference: str) -> HttpResponse:
    """The permit's energy picture with its state, and the same in words."""
    seen = look_or_404(request, reference, now())
    context = {"page": queries.permit_page(seen, request.person.ref), "picture": pictures.of_permit(seen)}
    return render(request, "work/picture.html", context)


# ── the commands ────────────────────────────────────────────────────────────────────────────────────────


@allow(*SIGNS_OUT)
@get_or_post
def issue(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.IssueForm, template="work/act_on_plan.html")


@allow(*AT_WORK)
@get_or_post
def accept(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.AcceptForm, template="work/act_on_plan.html")


@allow(*SIGNS_OUT)
@get_or_post
def extend(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.ExtendForm)


@allow(Role.TECHNICIAN, Role.ISSUER)
@get_or_post
def name_crew(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.NameCrewForm)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def tell(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.TellForm)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def cancel(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.CancelForm)


def act_on_machine(
    request: SiteRequest, reference: str, form_class: type[CommandForm], machine: str
) -> HttpResponse:
    """A command about the points of one machine; one that the permit's plan does not touch is not found."""
    seen = look_or_404(request, reference, now())
    code = "" if machine == NO_MACHINE else machine
    if code not in queries.machines_to_test(seen):
        raise Http404(f"{machine} has no point in the plan of {reference}.")
    return answer(request, seen, form_of(request, seen, form_class, machine=code))


@allow(*AT_WORK)
@get_or_post
def verify(request: SiteRequest, reference: str, machine: str) -> HttpResponse:
    return act_on_machine(request, reference, proving.VerifyForm, machine)


@allow(*AT_WORK)
@get_or_post
def try_start(request: SiteRequest, reference: str, machine: str) -> HttpResponse:
    return act_on_machine(request, reference, proving.TryStartForm, machine)


@allow(*AT_WORK)
@get_only
def choose_test(request: SiteRequest, reference: str, what: str) -> HttpResponse:
    """Which machine's points are tested, or whose controls tried; asked only where there are several."""
    seen = look_or_404(request, reference, now())
    route = "work:verify" if what == "verify" else "work:try-start"
    codes, names = queries.machines_to_test(seen), dict(plant.machine_codes(request.site))
    if len(codes) == 1:
        return redirect(route, reference, codes[0] or NO_MACHINE)
    context = {
        "page": queries.permit_page(seen, request.person.ref),
        "machines": [(code or NO_MACHINE, names.get(code, code)) for code in codes],
        "route": route,
        "what": "Test a point again" if what == "verify" else "Try the controls",
    }
    return render(request, "work/choose_test.html", context)


@allow(*AT_WORK)
@get_or_post
def sign_on(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, occupying.SignOnForm)


@signed_in  # whoever is inside must be able to come out, whatever has become of their role
@get_or_post
def sign_off(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, occupying.SignOffForm)


@allow(*AT_WORK)
@get_or_post
def check(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, occupying.CheckForm, template="work/check.html")


@allow(Role.TECHNICIAN, Role.OFFICER)
@get_or_post
def defects(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, occupying.DefectForm)


@signed_in  # an operator who sees the outfeed confirms it as well as anyone
@get_or_post
def confirm_clear(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.ConfirmClearForm)


@signed_in
@get_or_post
def leave_watch(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.LeaveWatchForm)


@allow(*SIGNS_OUT)
@get_or_post
def sanction(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.SanctionForm, template="work/act_on_plan.html")


@allow(*AT_WORK)
@get_or_post
def begin_cycle(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.BeginCycleForm)


@allow(*AT_WORK)
@get_or_post
def ready(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.ReadyForm)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def end_sanction(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.EndSanctionForm)


@allow(*AT_WORK)
@get_or_post
def hand_back(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.HandBackForm, template="work/hand_back.html")


@signed_in  # an owner takes off their own lock, whatever has become of their role
@get_or_post
def remove_locks(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.RemoveLocksForm)


@allow(*AT_WORK)
@get_or_post
def reenergise(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.ReenergiseForm, template="work/reenergise.html")


@allow(Role.TECHNICIAN, Role.ISSUER)
@get_or_post
def close(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.CloseForm)


@allow(Role.OFFICER)
@get_or_post
def close_out_of_use(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.CloseOutOfUseForm, template="work/hand_back.html")
