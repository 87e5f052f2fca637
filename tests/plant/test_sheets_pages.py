"""The plant as a spreadsheet in the browser: downloads, the dry run with its rows in error, the import."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.timezone import now
from openpyxl import load_workbook

from permits.plant.actions import save_machine
from permits.plant.sheets import as_csv, as_csv_files, as_workbook, plant_file_of, read
from permits.plant.store import plant_file_of as plant_of_site
from permits.plant.store import to_plant_file
from permits.records.demo import approve_procedures
from tests.factories_plant import CLERK, neighbours_at_work

PAGE, IMPORT = "/plant/spreadsheet/", "/plant/file/import/"


def text_of(answer) -> str:
    return answer.content.decode()


@pytest.fixture
def plant(works):
    """The site's plant, for a test to change."""
    return to_plant_file(works)


@pytest.fixture
def upload(as_maud, keyed):
    """upload(content, name): the answer to that file."""

    def send(content: bytes, name: str = "plant.xlsx"):
        return as_maud.post(PAGE, keyed(file=SimpleUploadedFile(name, content)))

    return send


def confirmation(answer) -> dict:
    """What the page of a dry run sends when it is confirmed."""
    form = answer.context["form"]
    return {name: form[name].value() for name in form.fields} | {"key": str(form["key"].value())}


def edited(plant, **cells) -> bytes:
    """The plant's workbook with some cells of the sheet nodes typed over: A2="…"."""
    book = load_workbook(BytesIO(as_workbook(plant)))
    for place, value in cells.items():
        book["nodes"][place].value = value
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def changed(plant: dict) -> dict:
    """A machine more, a magnitude otherwise, a link less."""
    machines = [*plant["machines"], {"id": "0012", "name": "Mill"}]
    nodes = [dict(node) for node in plant["nodes"]]
    nodes[0]["magnitude"] = "400 V AC, 315 A"
    return plant | {"machines": machines, "nodes": nodes, "links": plant["links"][:-1]}


def test_the_downloads_are_the_plant(as_odo, works):
    workbook, package = as_odo.get("/plant/file.xlsx"), as_odo.get("/plant/file-csv.zip")
    assert (
        plant_file_of(read(workbook.content)) == plant_file_of(read(package.content)) == plant_of_site(works)
    )
    assert workbook["Content-Disposition"] == 'attachment; filename="QUILLFEN-plant.xlsx"'
    assert package["Content-Disposition"] == 'attachment; filename="QUILLFEN-plant-csv.zip"'
    assert ZipFile(BytesIO(package.content)).namelist()[:4] == [
        "plant.csv", "machines.csv", "nodes.csv", "links.csv",
    ]  # fmt: skip


def test_the_page_offers_both_and_says_what_an_upload_does(as_maud):
    page = text_of(as_maud.get(PAGE))
    assert "4 machines, 76 nodes, 30 of them points" in page
    assert all(words in page for words in ("Download XLSX", "Download CSV files", "Show what would change"))
    assert "A sheet or a column that is not in the file stays as it is" in page


@pytest.mark.parametrize("form", [as_workbook, as_csv_files])
def test_a_download_sent_back_changes_nothing(upload, plant, form):
    page = text_of(upload(form(plant), "plant.bin"))
    assert "Nothing would change" in page
    assert "Import this" not in page


@pytest.mark.parametrize("form", [as_workbook, as_csv_files])
def test_a_dry_run_shows_each_row_and_changes_nothing(upload, works, plant, form):
    answer = upload(form(changed(plant)))
    counts = {
        one.name: (one.added, one.changed, one.removed, one.in_error) for one in answer.context["run"].counts
    }
    assert counts == {"machines": (1, 0, 0, 0), "nodes": (0, 1, 0, 0), "links": (0, 0, 1, 0)}
    page = text_of(answer)
    assert "magnitude: 400 V AC, 250 A → 400 V AC, 315 A" in page
    assert "K4-SPRING → K4-STACK" in page
    assert '0012<div class="quiet">row 6</div>' in page
    assert answer.status_code == 200
    assert to_plant_file(works) == plant


def test_what_was_shown_is_imported_once(as_maud, works, plant, upload, entries):
    data = confirmation(upload(as_workbook(changed(plant))))
    answer = as_maud.post(IMPORT, data, follow=True)
    assert "Imported: 1 added, 1 changed, 1 removed. The plant is version 2 now." in text_of(answer)
    assert as_maud.post(IMPORT, data).url == "/machines/"
    assert to_plant_file(works) == changed(plant)
    assert len(entries("PLANT_CHANGED")) == 2


def test_rows_in_error_stand_beside_those_that_would_change(upload, works, plant):
    number = next(at for at, node in enumerate(plant["nodes"], 2) if node["id"] == "C1-QB1")
    content = edited(plant, **{f"L{2}": "400 V AC, 315 A", f"D{number}": "many", f"E{number}": "=1+1"})
    answer = upload(content)
    run = answer.context["run"]
    nodes = next(one for one in run.counts if one.name == "nodes")
    assert (nodes.added, nodes.changed, nodes.removed, nodes.in_error, nodes.unchanged) == (0, 1, 0, 1, 74)
    assert [error.place for error in run.errors] == [
        f"nodes, row {number}, column D (effort)",
        f"nodes, row {number}, column E (lockable)",
    ]
    page = text_of(answer)
    assert answer.status_code == 422
    assert "2 places to mend" in page
    assert "Is &#x27;many&#x27;." in page
    assert "Holds the formula =1+1." in page
    assert "magnitude: 400 V AC, 250 A → 400 V AC, 315 A" in page
    assert "Import this" not in page
    assert to_plant_file(works) == plant


def test_one_list_alone_leaves_the_others_as_they_are(as_maud, upload, works, plant):
    content = as_csv("nodes", changed(plant))
    answer = upload(content, "QUILLFEN-nodes.csv")
    assert text_of(answer).count("not in the file") == 2
    as_maud.post(IMPORT, confirmation(answer))
    assert to_plant_file(works) == plant | {"nodes": changed(plant)["nodes"]}


def test_the_plants_own_name_and_note_are_compared(upload, plant):
    page = text_of(upload(as_workbook(plant | {"plant": "Quillfen Two", "note": ""})))
    assert "Quillfen Panel Works → Quillfen Two" in page
    assert "→ nothing" in page


def test_the_code_of_the_file_never_changes_the_sites(upload, plant):
    assert "Nothing would change" in text_of(upload(as_workbook(plant | {"code": "OTHER"})))


def test_a_dry_run_that_is_no_longer_true_is_not_imported(as_maud, works, plant, upload):
    data = confirmation(upload(as_workbook(changed(plant))))
    save_machine(site=works, machine={"id": "NEW", "name": "New"}, by=CLERK, at=now())
    answer = as_maud.post(IMPORT, data)
    assert answer.status_code == 409
    assert "Someone else changed this since the page was opened." in text_of(answer)


def test_a_point_that_carries_a_lock_cannot_go(upload, works, plant, maud, torvald, eleni):
    approve_procedures(works, now())
    neighbours_at_work(works)
    nodes = [node for node in plant["nodes"] if node["id"] != "K4-QB1"]
    links = [link for link in plant["links"] if "K4-QB1" not in link.values()]
    answer = upload(as_workbook(plant | {"nodes": nodes, "links": links}))
    assert answer.status_code == 409
    assert "K4-QB1" in text_of(answer)
    assert "Import this" not in text_of(answer)


@pytest.mark.parametrize(
    ("content", "name", "says"),
    [
        (b"", "plant.xlsx", "The file is empty; a spreadsheet (XLSX or CSV) would be right."),
        (b"x" * (5 * 1024 * 1024 + 1), "nodes.csv", "at most 5 MB would be right."),
        (b"\xd0\xcf\x11\xe0", "plant.xls", "is in the form before XLSX, or locked with a password."),
        (b"{}", "plant.json", "is JSON, as the plant file is."),
    ],
)
def test_a_file_that_cannot_be_taken_is_said_at_its_field(upload, content, name, says):
    answer = upload(content, name)
    assert answer.status_code == 422
    assert says in text_of(answer)


def test_no_file_is_said(as_maud, keyed):
    answer = as_maud.post(PAGE, keyed())
    assert answer.status_code == 422
    assert "No file is chosen; a spreadsheet (XLSX or CSV) would be right." in text_of(answer)


def test_a_site_without_a_plant_is_described_by_a_spreadsheet(elsewhere, fernbrook, keyed, plant):
    assert "The downloads are empty forms" in text_of(elsewhere.get(PAGE))
    assert read(elsewhere.get("/plant/file.xlsx").content).all_errors == []
    file = SimpleUploadedFile("plant.xlsx", as_workbook(plant))
    answer = elsewhere.post(PAGE, keyed(file=file))
    assert elsewhere.post(IMPORT, confirmation(answer)).status_code == 302
    assert to_plant_file(fernbrook) == plant | {"code": fernbrook.code}


def test_the_plant_of_another_site_is_not_downloaded(elsewhere, plant):
    assert not plant_file_of(read(elsewhere.get("/plant/file.xlsx").content)).graph.nodes
