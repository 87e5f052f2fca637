"""The plant as a spreadsheet: the downloads, and the dry run of an upload. The import is the plant file's."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import actions, forms, queries, store
from permits.plant.forms.files import travelling
from permits.plant.forms.sheets import SpreadsheetForm
from permits.plant.pages.sheets import sheet_run
from permits.plant.sheets import Sheets, as_csv_files, as_workbook
from permits.plant.views.answering import Refusal, get_or_post, posted

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@allow(Role.OFFICER)
@get_or_post
def spreadsheet(request: SiteRequest) -> HttpResponse:
    """Takes a spreadsheet and shows what importing it would change; changes nothing."""
    form = SpreadsheetForm(posted(request), request.FILES or None, button="Show what would change")
    if form.is_bound and form.is_valid():
        return show(request, form.cleaned_data["file"])
    context = {"form": form, "facts": queries.plant_facts(request.site)}
    return render(request, "plant/sheet_upload.html", context, status=422 if form.is_bound else 200)


def show(request: SiteRequest, sheets: Sheets) -> HttpResponse:
    """The dry run, and the button that imports what it shows; what is wrong, or why that is refused."""
    facts = queries.plant_facts(request.site)
    run = sheet_run(store.to_plant_file(request.site), request.site.code, sheets)
    refusal, packed = None, None
    if run.plant_file is not None:
        packed = travelling(run.plant_file)
        try:
            actions.compare_plant(site=request.site, plant_file=run.plant_file)
        except actions.PlantRefused as refused:
            refusal = Refusal.of("import the spreadsheet", refused.reasons)
    form = None
    if packed and run and not refusal:
        form = forms.ConfirmForm(button="Import this", seen=facts.digest, initial={"plant": packed})
        form.helper.form_action = reverse("plant:import-plant")
    context = {
        "run": run,
        "form": form,
        "too_large": run.plant_file is not None and packed is None,
        "refusal": refusal,
    }
    status = 422 if run.errors else 409 if refusal else 200
    return render(request, "plant/sheet_dry_run.html", context, status=status)


@signed_in
@require_safe
def workbook(request: SiteRequest) -> HttpResponse:
    content = as_workbook(store.to_plant_file(request.site))
    return _download(content, XLSX, f"{request.site.code}-plant.xlsx")


@signed_in
@require_safe
def csv_files(request: SiteRequest) -> HttpResponse:
    content = as_csv_files(store.to_plant_file(request.site))
    return _download(content, "application/zip", f"{request.site.code}-plant-csv.zip")


def _download(content: bytes, content_type: str, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type=content_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
