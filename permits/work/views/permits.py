"""Start, board, one permit, and the commands of its life, one view each."""

from __future__ import annotations

from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import queries as plant
from permits.work import pictures, queries
from permits.work.actions import perform
from permits.work.forms import isolating, issuing, occupying, restoring, testing
from permits.work.rules.refusal import Refused
from permits.work.views.answering import act, get_only, get_or_post, look_or_404
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
def board(request: SiteRequest) -> HttpResponse:
    at = now()
    return render(request, "work/board.html", {"rows": queries.board(request.site, at=at), "at": at})


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_only
def choose_machine(request: SiteRequest) -> HttpResponse:
    return render(request, "work/choose_machine.html", {"machines": plant.machines(request.site)})


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def ask_for_permit(request: SiteRequest, machine: str) -> HttpResponse:
    """Zones, work and window; the plan is computed, and shown on the permit's page."""
    at = now()
    site = queries.settled(request.site, at)
    found = next((m for m in plant.machines(request.site) if m.code == machine), None)
    if found is None:
        raise Http404(f"There is no machine {machine} at {request.site.name}.")
    posted = request.POST if request.method == "POST" else None
    form = issuing.RequestForm(posted, site=site, machine=machine, initial={"key": uuid4()})
    refusal: Refused | None = None
    if form.is_bound and form.is_valid():
        command = form.command(by=request.person.ref, at=at)
        try:
            made = perform(site=request.site, command=command, by=request.author, key=form.cleaned_data["key"])
        except Refused as refused:
            refusal, refused.asked = refused, "ask for a permit"
        else:
            messages.success(request, "Asked for. An issuer signs it out.")
            return redirect("work:permit", made[0].permit) if made else redirect("work:home")
    status = 409 if refusal else 422 if form.is_bound else 200
    context = {"form": form, "machine": found, "refusal": refusal}
    return render(request, "work/ask_for_permit.html", context, status=status)


@signed_in
@get_only
def permit(request: SiteRequest, reference: str) -> HttpResponse:
    """One permit: its state, the one next thing this person can do, its points, people and areas."""
    seen = look_or_404(request, reference, now())
    page = queries.permit_page(seen, request.person.ref)
    context = {"page": page, "step": way(page.id, page.next), "choices": other_ways(page)}
    return render(request, "work/permit.html", context)


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
    return act(request, reference, issuing.IssueForm)


@allow(*AT_WORK)
@get_or_post
def accept(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.AcceptForm, template="work/accept.html")


@allow(*SIGNS_OUT)
@get_or_post
def extend(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.ExtendForm)


@allow(Role.TECHNICIAN, Role.ISSUER)
@get_or_post
def name_crew(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.NameCrewForm)


@allow(*AT_WORK)
@get_or_post
def tell(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.TellForm)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def cancel(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.CancelForm)


@allow(*AT_WORK)
@get_or_post
def verify(request: SiteRequest, reference: str, machine: str) -> HttpResponse:
    return act(request, reference, isolating.VerifyForm, machine=machine.replace(NO_MACHINE, ""))


@allow(*AT_WORK)
@get_or_post
def try_start(request: SiteRequest, reference: str, machine: str) -> HttpResponse:
    return act(request, reference, isolating.TryStartForm, machine=machine.replace(NO_MACHINE, ""))


@allow(*AT_WORK)
@get_only
def choose_test(request: SiteRequest, reference: str, what: str) -> HttpResponse:
    """Which machine's points are tested, or whose controls tried."""
    seen = look_or_404(request, reference, now())
    context = {
        "page": queries.permit_page(seen, request.person.ref),
        "machines": [(machine or NO_MACHINE, machine) for machine in queries.machines_to_test(seen)],
        "route": "work:verify" if what == "verify" else "work:try-start",
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
    return act(request, reference, occupying.CheckForm)


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
    return act(request, reference, testing.SanctionForm)


@allow(*AT_WORK)
@get_or_post
def begin_cycle(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.BeginCycleForm)


@allow(*AT_WORK)
@get_or_post
def ready(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.ReadyForm)


@allow(*AT_WORK)
@get_or_post
def reisolate(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, testing.ReisolateForm)


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
    return act(request, reference, restoring.ReenergiseForm)


@allow(Role.TECHNICIAN, Role.ISSUER)
@get_or_post
def close(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.CloseForm)


@allow(Role.OFFICER)
@get_or_post
def close_out_of_use(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, restoring.CloseOutOfUseForm, template="work/hand_back.html")
