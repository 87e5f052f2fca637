"""A site that lets a tag stand for a lock: kept, written, asked, and proven again when it no longer does.

29 CFR 1910.147(c)(2)(i) has a point that takes no lock tagged; (c)(3) and 1910.333(b)(2)(iii)(D) ask for one
more measure beside a tag.
"""

from __future__ import annotations

from io import BytesIO, StringIO

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse
from django.utils.timezone import now

from permits.plant.actions import Chosen, draft_procedure, import_plant, save_demands, save_node
from permits.plant.models import PlantState
from permits.plant.pages.procedures import chosen_lines
from permits.plant.queries import machine_of
from permits.plant.rules.difference import difference
from permits.plant.rules.noderows import write_node
from permits.plant.rules.plantfile import PlantFileErrors, as_dict, check
from permits.plant.sheets import as_csv_files, as_workbook, plant_file_of, read
from permits.plant.store import digest_of, graph_of, tag_out_of, to_plant_file
from permits.plant.store import plant_file_of as plant_of_site
from tests import factories_plant
from tests.factories_plant import (
    CLERK,
    SAW_ZONES,
    SEVEN,
    WRITTEN,
    site_with,
    small_file,
    small_plant,
    text_of,
)

DEMANDS = reverse("plant:demands")
MEASURE = "Fuse links taken out and kept by the holder."
STANDBY = "C1-QB2"
TAGGED = {"lockable": False, "tag_only": {"measure": MEASURE}}


def words_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def switch(site, yes: bool) -> None:
    save_demands(site=site, demands={}, tag_out=yes, by=CLERK, at=now())


def make_tag_only(site, code: str) -> None:
    node = write_node(plant_of_site(site).graph[code]) | TAGGED
    save_node(site=site, node=node, by=CLERK, at=now())


@pytest.fixture
def standby(works):
    """The demo plant, which takes tags, with the cell's standby feed as a tag-only point."""
    switch(works, True)
    make_tag_only(works, STANDBY)
    return works


# ---- the plant file


def test_it_is_no_where_the_file_does_not_say_it():
    assert check(small_plant()).tag_out is False
    assert "tag_out" not in as_dict(check(small_plant(tag_out=False)))
    assert as_dict(check(small_plant(tag_out=True)))["tag_out"] is True


@pytest.mark.parametrize("wrong", ["yes", 1, None, "true"])
def test_anything_but_true_or_false_is_refused(wrong):
    with pytest.raises(PlantFileErrors) as error:
        check(small_plant(tag_out=wrong))
    [one] = error.value.errors
    assert (one.field, one.right) == ("tag_out", "true or false, without quotes")


def test_it_makes_another_plant_of_it():
    before, after = (as_dict(small_file(tag_out=yes)) for yes in (False, True))
    assert digest_of(before) != digest_of(after)
    change = difference(before, after)
    assert change
    assert change.renamed
    assert not difference(after, after)


@pytest.mark.parametrize("write", [as_workbook, as_csv_files])
@pytest.mark.parametrize("yes", [True, False])
def test_a_spreadsheet_carries_it_both_ways(write, yes):
    plant = as_dict(small_file(tag_out=yes))
    assert plant_file_of(read(write(plant))).tag_out is yes


def test_a_sheet_without_the_column_leaves_it_as_it_is():
    present = as_dict(small_file(tag_out=True))
    sheets = read(b"plant,code\r\nSmall works,SMALL\r\n", "plant.csv")
    assert plant_file_of(sheets, present).tag_out is True
    said = read(b"plant,code,tag_out\r\nSmall works,SMALL,no\r\n", "plant.csv")
    assert plant_file_of(said, present).tag_out is False


def test_the_planning_command_goes_by_the_file(tmp_path):
    plant = small_plant(tag_out=True)
    plant["nodes"][4] |= TAGGED
    file, out = tmp_path / "plant.json", StringIO()
    file.write_text(text_of(plant))
    call_command("plan_isolation", plant=str(file), zone=["BED"], stdout=out)
    assert f"V1 takes a tag, no lock. Besides the tag: {MEASURE}" in " ".join(out.getvalue().split())


# ---- kept and proven again


@pytest.mark.django_db
def test_it_is_kept_and_comes_out_as_it_went_in():
    site = site_with(small_file(tag_out=True))
    assert tag_out_of(site)
    assert to_plant_file(site)["tag_out"] is True
    version = PlantState.objects.get().version
    import_plant(site=site, plant_file=plant_of_site(site), by=CLERK, at=now())
    assert PlantState.objects.get().version == version
    switch(site, False)
    assert not tag_out_of(site)
    assert PlantState.objects.get().version == version + 1


@pytest.mark.django_db
def test_demands_that_say_nothing_of_tags_leave_them_as_they_are():
    site = site_with(small_file(tag_out=True))
    save_demands(site=site, demands={"pneumatic": "proved"}, by=CLERK, at=now())
    assert tag_out_of(site)


@pytest.mark.django_db
def test_the_sites_graph_takes_a_tag_for_a_lock_only_while_the_site_does():
    site = site_with(small_file())
    make_tag_only(site, "V1")
    assert not graph_of(site)["V1"].lockable
    switch(site, True)
    assert graph_of(site)["V1"].lockable
    assert not plant_of_site(site).graph["V1"].lockable


def test_a_procedure_with_a_tag_holds_only_while_the_site_takes_tags(standby, maud, torvald, entries):
    cell = machine_of(standby, "C1")
    written = factories_plant.approved_procedure(cell, SAW_ZONES, author=maud, approver=torvald)
    assert STANDBY in written.lock
    assert written.holds
    switch(standby, False)
    written.refresh_from_db()
    assert {"id": STANDBY, "path": []} in written.flaws
    assert entries("PROCEDURE_UNPROVEN")
    switch(standby, True)
    written.refresh_from_db()
    assert written.holds


def test_a_draft_may_choose_a_tag_only_point_only_while_the_site_takes_tags(standby, maud):
    cell = machine_of(standby, "C1")
    found = draft_procedure(machine=cell, zones=SAW_ZONES, texts=WRITTEN, by=maud, at=SEVEN)
    chosen = Chosen(tuple(found.lock), tuple(found.release))
    switch(standby, False)
    with pytest.raises(Exception, match="is no isolator that can be locked now"):
        draft_procedure(machine=cell, zones=SAW_ZONES, texts=WRITTEN, chosen=chosen, by=maud, at=SEVEN)


# ---- on the pages


def test_the_officer_switches_it_on_and_off(as_maud, works, keyed, entries):
    page = words_of(as_maud.get(DEMANDS))
    assert "A tag is not a lock: it warns, and holds nothing." in page
    assert "29 CFR 1910.147(c)(2)(i) and (c)(3)" in page
    assert as_maud.post(DEMANDS, keyed(tag_out="on")).url == DEMANDS
    assert tag_out_of(works)
    assert entries("PLANT_CHANGED")[-1]["tag_out"] is True
    assert as_maud.get(DEMANDS).context["form"]["tag_out"].value() is True
    assert as_maud.post(DEMANDS, keyed()).url == DEMANDS
    assert not tag_out_of(works)
    assert entries("PLANT_CHANGED")[-1]["tag_out"] is False


def test_a_switch_that_someone_else_turned_meanwhile_is_not_turned_back(as_maud, works, keyed):
    seen = as_maud.get(DEMANDS).context["form"]["seen"].value()
    switch(works, True)
    answer = as_maud.post(DEMANDS, keyed(pneumatic="proved", seen=seen))
    assert answer.status_code == 422
    assert tag_out_of(works)


def test_a_technician_cannot_switch_it(as_odo, works, keyed):
    assert as_odo.post(DEMANDS, keyed(tag_out="on")).status_code == 403
    assert not tag_out_of(works)


def test_the_dry_run_of_a_file_shows_the_change(as_maud, works, keyed):
    text = text_of(to_plant_file(works) | {"tag_out": True}).encode()
    answer = as_maud.post(reverse("plant:upload"), keyed(file=SimpleUploadedFile("plant.json", text)))
    assert "A tag may stand for a lock where no lock fits: no → yes." in words_of(answer)
    assert not tag_out_of(works)


def test_the_dry_run_of_a_spreadsheet_shows_the_change(as_maud, works, keyed):
    book = as_workbook(to_plant_file(works) | {"tag_out": True})
    answer = as_maud.post(reverse("plant:spreadsheet"), keyed(file=SimpleUploadedFile("plant.xlsx", book)))
    assert "<dt>Tag_out</dt><dd>nothing → yes</dd>" in words_of(answer)
    assert not tag_out_of(works)


def test_a_plan_and_a_procedure_name_the_tag_and_its_measure(as_maud, standby, maud, torvald):
    said = f"Takes a tag, no lock. Do this as well: {MEASURE}"
    page = words_of(as_maud.get(reverse("plant:plan", args=["C1"])))
    assert said in page
    assert 'Tag <span class="plan-name">Cell standby feed disconnector</span>' in page
    cell = machine_of(standby, "C1")
    factories_plant.approved_procedure(cell, SAW_ZONES, author=maud, approver=torvald)
    assert said in words_of(as_maud.get(reverse("plant:procedure", args=["C1", 1])))
    [line] = chosen_lines(graph_of(standby), [STANDBY], [])
    assert line == f"tag Cell standby feed disconnector. {said}"


def test_a_placard_names_the_tag_and_its_measure(settings, as_odo, standby, maud, torvald):
    settings.PUBLIC_URL = "https://permits.example"
    cell = machine_of(standby, "C1")
    factories_plant.approved_procedure(cell, SAW_ZONES, author=maud, approver=torvald)
    pdf = as_odo.get(reverse("plant:placard", args=["C1"]) + "?paper=A4")
    assert pdf.status_code == 200
    pages = (page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf.content)).pages)
    words = " ".join(" ".join(pages).split())
    assert f"Takes a tag, no lock. Do this as well: {MEASURE}" in words


def test_the_check_of_the_plant_names_the_points_that_take_a_tag(as_odo, standby):
    page = words_of(as_odo.get(reverse("plant:check")))
    assert "Points of a plan that take a tag, no lock: 1" in page
    assert MEASURE in page
    switch(standby, False)
    page = words_of(as_odo.get(reverse("plant:check")))
    assert "Points of a plan that take a tag, no lock" not in page


def test_the_points_own_page_says_what_a_tag_is_worth_here(as_odo, standby):
    at_point = reverse("plant:node", args=[STANDBY])
    page = words_of(as_odo.get(at_point))
    assert "<h2>Takes a tag, not a lock</h2>" in page
    assert MEASURE in page
    switch(standby, False)
    page = words_of(as_odo.get(at_point))
    assert "a tag-only point is not offered for isolation" in page
