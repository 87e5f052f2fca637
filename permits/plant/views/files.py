"""The plant file: a dry run of an upload, the import that it showed, and the download."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.http import require_POST, require_safe

from permits.ledger.sent import SentOtherwise
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.people.repeats import NotTaken, is_repeat, not_taken, sent_with
from permits.plant import actions, forms, queries, store
from permits.plant.forms.files import as_text, travelling
from permits.plant.pages.changes import dry_run
from permits.plant.pages.procedures import broken_procedures
from permits.plant.rules.plantfile import PlantFile
from permits.plant.views.answering import Refusal, get_or_post, posted, tell_broken

ASKED = "import the file"


@allow(Role.OFFICER)
@get_or_post
def upload(request: SiteRequest) -> HttpResponse:
    """Takes a plant file and shows what importing it would change; changes nothing."""
    form = forms.UploadForm(posted(request), request.FILES or None, button="Show what would change")
    if form.is_bound and form.is_valid():
        return show(request, form.cleaned_data["file"])
    context = {"form": form, "facts": queries.plant_facts(request.site)}
    return render(request, "plant/upload.html", context, status=422 if form.is_bound else 200)


@allow(Role.OFFICER)
@require_POST
def confirm(request: SiteRequest) -> HttpResponse:
    """Imports the plant file that a dry run showed, if the plant is still the one that it was shown for."""
    if is_repeat(request):
        return redirect("plant:machines")
    facts = queries.plant_facts(request.site)
    form = forms.ConfirmForm(request.POST, button="Import", seen=facts.digest)
    if not form.is_valid():
        lines = [str(error) for errors in form.errors.values() for error in errors]
        context = {"form": empty_upload(), "facts": facts, "refusal": Refusal.of(ASKED, lines)}
        return render(request, "plant/upload.html", context, status=409)
    plant_file, broken = form.cleaned_data["plant"], broken_procedures(request.site)
    try:
        done = actions.import_plant(
            site=request.site, plant_file=plant_file, by=request.author, at=now(), key=sent_with(request)
        )
    except actions.AlreadyDone:
        return redirect("plant:machines")
    except SentOtherwise as other:
        return show(request, plant_file, refusal=not_taken(request, other, ASKED))
    except actions.PlantRefused as refused:
        return show(request, plant_file, refused=refused)
    messages.success(
        request,
        f"Imported: {done.added} added, {done.changed} changed, {done.removed} removed. "
        f"The plant is version {done.version} now.",
    )
    tell_broken(request, broken)
    return redirect("plant:machines")


@signed_in
@require_safe
def download(request: SiteRequest) -> HttpResponse:
    text = as_text(store.to_plant_file(request.site))
    answer = HttpResponse(text, content_type="application/json; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{request.site.code}-plant.json"'
    return answer


def show(
    request: SiteRequest,
    plant_file: PlantFile,
    *,
    refused: actions.PlantRefused | None = None,
    refusal: NotTaken | None = None,
) -> HttpResponse:
    """The dry run, and the button that imports what it shows; or why that is refused.

    `refusal`: why what was sent was not done; the button sends it as a request of its own.
    """
    facts = queries.plant_facts(request.site)
    run = dry_run(request.site, plant_file)
    try:
        actions.compare_plant(site=request.site, plant_file=plant_file)
    except actions.PlantRefused as reasons:
        refused = refused or reasons
    packed = travelling(plant_file)
    form = forms.ConfirmForm(button="Import this", seen=facts.digest, initial={"plant": packed})
    form.helper.form_action = reverse("plant:import-plant")
    context = {
        "run": run,
        "plant": plant_file.plant,
        "form": form if packed and run and not refused else None,
        "too_large": packed is None,
        "refusal": Refusal.of(ASKED, refused.reasons) if refused else refusal,
    }
    return render(request, "plant/dry_run.html", context, status=409 if refused or refusal else 200)


def empty_upload() -> forms.UploadForm:
    form = forms.UploadForm(button="Show what would change")
    form.helper.form_action = reverse("plant:upload")
    return form
