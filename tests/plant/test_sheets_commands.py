"""export_plant and import_plant with spreadsheets: what goes out comes in again and changes nothing."""

from __future__ import annotations

import itertools
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from hypothesis import HealthCheck, given, settings

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant.actions import import_plant
from permits.plant.rules.plantfile import as_dict, check, parse
from permits.plant.sheets import as_csv, as_csv_files, as_workbook, plant_file_of, read
from permits.plant.store import plant_file_of as plant_of_site
from permits.plant.store import to_plant_file, version_of
from tests.factories_plant import CLERK, SEVEN, plants, quillfen, site_with, small_file

pytestmark = pytest.mark.django_db
FORMS = [as_workbook, as_csv_files]
CODES = (f"S{number}" for number in itertools.count())


def command(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


def refused(*arguments: str) -> str:
    err = StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command(*arguments, stderr=err)
    assert caught.value.code == 2
    return err.getvalue()


@pytest.fixture
def works() -> Site:
    return site_with(quillfen())


@pytest.mark.parametrize("ending", ["json", "xlsx", "zip"])
def test_what_goes_out_comes_in_again_and_changes_nothing(works, tmp_path, ending):
    file = str(tmp_path / f"plant.{ending}")
    command("export_plant", "QUILLFEN", file)
    said = command("import_plant", file)
    assert "nodes: 0 added, 0 changed, 0 removed, 76 unchanged" in said
    assert version_of(works) == 1
    assert [path.name for path in tmp_path.iterdir()] == [f"plant.{ending}"]


@pytest.mark.parametrize("form", FORMS)
def test_a_new_site_is_made_from_a_spreadsheet(tmp_path, form):
    file = tmp_path / "plant"  # its form is told by its content
    file.write_bytes(form(as_dict(quillfen())))
    assert "nodes: 76 added" in command("import_plant", str(file))
    assert to_plant_file(Site.objects.get(code="QUILLFEN")) == as_dict(quillfen())


def test_the_form_may_be_named_and_the_file_may_be_standard_output(works, tmp_path, capfdbinary):
    file = tmp_path / "plant.backup"
    command("export_plant", "QUILLFEN", str(file), "--format", "csv")
    assert plant_file_of(read(file.read_bytes())) == quillfen()
    command("export_plant", "QUILLFEN", "-", "--format", "json")
    assert parse(capfdbinary.readouterr().out) == quillfen()


def test_one_list_alone_changes_that_list(works, tmp_path):
    plant = as_dict(quillfen())
    plant["nodes"][0]["magnitude"] = "400 V AC, 315 A"
    file = tmp_path / "nodes.csv"
    file.write_bytes(as_csv("nodes", plant))
    said = command("import_plant", str(file), "--site", "QUILLFEN", "--dry-run")
    assert "nodes: 0 added, 1 changed, 0 removed, 75 unchanged" in said
    assert to_plant_file(works) == as_dict(quillfen())
    command("import_plant", str(file), "--site", "QUILLFEN")
    assert to_plant_file(works) == plant


def test_errors_name_sheet_row_and_column_and_nothing_is_changed(works, tmp_path):
    file = tmp_path / "nodes.csv"
    file.write_text("id,kind,effort,colour\nQ1,isolator,many,red\n", encoding="utf-8")
    said = refused("import_plant", str(file), "--site", "QUILLFEN")
    assert said.startswith(f"{file} was not imported, nothing was changed:\n")
    assert "  nodes, row 1, column D: 'colour' is no column of nodes. Right would be" in said
    assert "  nodes, row 2, column C (effort): is 'many'. Right would be a whole number in digits" in said
    assert to_plant_file(works) == as_dict(quillfen())


def test_a_list_alone_without_a_site_says_what_is_missing(tmp_path):
    file = tmp_path / "nodes.csv"
    file.write_text("id,kind\nQ1,isolator\n", encoding="utf-8")
    said = refused("import_plant", str(file))
    assert "the file: has no sheet plant. Right would be one with a row that has the site's name." in said
    assert "the file: has no sheet links. Right would be one with a row for each of the links." in said


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["NOWHERE", "plant.json"], "There is no site NOWHERE. Right would be one of QUILLFEN."),
        (["QUILLFEN", "plant"], "Right would be a name that ends with .json, .xlsx or .zip, or --format."),
        (["QUILLFEN", "-"], "What to write to - is not said."),
        (
            ["QUILLFEN", "/nowhere/plant.json"],
            "/nowhere/plant.json can't be written: No such file or directory.",
        ),
    ],
)
def test_what_cannot_be_exported_says_why(works, arguments, says):
    assert says in refused("export_plant", *arguments)


def test_a_site_that_is_not_there_is_said_also_where_there_is_none():
    assert "Right would be to import a plant first." in refused("export_plant", "QUILLFEN", "plant.json")


def test_an_export_takes_the_place_of_the_file_that_is_there(works, tmp_path):
    file = tmp_path / "plant.json"
    file.write_text("before")
    command("export_plant", "QUILLFEN", str(file))
    assert parse(file.read_bytes()) == quillfen()
    assert Path(file).stat().st_size > 1000


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(plant=plants())
def test_any_plant_of_a_site_comes_back_and_makes_no_entry(plant):
    site = site_with(check(plant), code=next(CODES))
    entries = Entry.objects.filter(head=site.head).count()
    for form in FORMS:
        again = plant_file_of(read(form(to_plant_file(site))))
        report = import_plant(site=site, plant_file=again, by=CLERK, at=SEVEN)
        assert (report.added, report.changed, report.removed) == (0, 0, 0)
    assert Entry.objects.filter(head=site.head).count() == entries


def test_a_spreadsheet_makes_a_small_site_what_it_says():
    site = site_with(small_file())
    plant = to_plant_file(site)
    plant["links"] = plant["links"][:-1]
    report = import_plant(site=site, plant_file=plant_file_of(read(as_workbook(plant))), by=CLERK, at=SEVEN)
    assert (report.added, report.changed, report.removed) == (0, 0, 1)
    assert plant_of_site(site) == check(plant)
