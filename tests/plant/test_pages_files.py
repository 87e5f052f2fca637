"""The plant file: the dry run of an upload, the import of what it showed, and the download."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.timezone import now

from permits.plant import queries
from permits.plant.actions import save_machine
from permits.plant.forms.files import travelling
from permits.plant.rules.plantfile import check, parse
from permits.plant.store import to_plant_file
from permits.records.demo import approve_procedures
from tests.factories_plant import CLERK, neighbours_at_work

UPLOAD, IMPORT = "/plant/file/", "/plant/file/import/"


def text_of(answer) -> str:
    return answer.content.decode()


@pytest.fixture
def plant(works):
    """The site's plant as a file, for a test to change."""
    return to_plant_file(works)


@pytest.fixture
def upload(as_maud, keyed):
    """upload(plant or bytes): the answer to that file."""

    def send(content):
        if not isinstance(content, bytes):
            content = json.dumps(content).encode()
        return as_maud.post(UPLOAD, keyed(file=SimpleUploadedFile("plant.json", content)))

    return send


def confirmation(answer) -> dict:
    """What the page of a dry run sends when it is confirmed."""
    form = answer.context["form"]
    return {name: form[name].value() for name in form.fields} | {"key": str(form["key"].value())}


def test_the_page_says_what_the_plant_is_now(as_maud):
    page = text_of(as_maud.get(UPLOAD))
    assert "The plant is version 1" in page
    assert "4 machines, 76 nodes, 30 of them points" in page


def test_a_dry_run_shows_each_row_and_changes_nothing(as_maud, works, plant, upload):
    plant["machines"].append({"id": "M1", "name": "Mill"})
    plant["nodes"][0]["magnitude"] = "400 V AC, 315 A"
    plant["links"] = plant["links"][:-1]
    answer = upload(plant)
    page = text_of(answer)
    counts = {one.title: dict(one.counts) for one in answer.context["run"].lists}
    assert counts["machines"] == {"added": 1, "changed": 0, "removed": 0, "unchanged": 4}
    assert counts["nodes"] == {"added": 0, "changed": 1, "removed": 0, "unchanged": 75}
    assert counts["links"] == {"added": 0, "changed": 0, "removed": 1, "unchanged": 87}
    assert "magnitude: 400 V AC, 250 A → 400 V AC, 315 A" in page
    assert "K4-SPRING → K4-STACK" in page
    assert "Import this" in page
    assert to_plant_file(works)["machines"] != plant["machines"]


def test_what_was_shown_is_imported_once(as_maud, works, plant, upload, entries):
    plant["machines"].append({"id": "M1", "name": "Mill"})
    data = confirmation(upload(plant))
    answer = as_maud.post(IMPORT, data, follow=True)
    assert "Imported: 1 added, 0 changed, 0 removed. The plant is version 2 now." in text_of(answer)
    assert as_maud.post(IMPORT, data).url == "/machines/"
    assert to_plant_file(works) == plant
    assert len(entries("PLANT_CHANGED")) == 2


def test_a_file_that_says_what_is_so_has_nothing_to_import(upload, plant):
    page = text_of(upload(plant))
    assert "Nothing would change" in page
    assert "Import this" not in page


def test_the_name_of_the_plant_is_compared_too(upload, plant):
    assert "Quillfen Panel Works → Quillfen Two" in text_of(upload(plant | {"plant": "Quillfen Two"}))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The file is empty; a plant file (JSON) would be right."),
        (b"plant: x", "line 1, column 1: is not JSON"),
        (b"\xff\xfe", "is not UTF-8. Right would be a file saved as UTF-8."),
        (b"[1]", "the file: is a list. Right would be one object with plant, nodes and links."),
        (
            b'{"plant": "P", "nodes": [{"id": "Q", "kind": "valve"}], "links": [{"from": "Q", "to": "R"}]}',
            "nodes[0] (id &#x27;Q&#x27;): kind: is &#x27;valve&#x27;. Right would be one of supply",
        ),
    ],
)
def test_a_file_that_is_wrong_names_the_row_the_field_and_what_would_be_right(upload, content, says):
    answer = upload(content)
    assert answer.status_code == 422
    assert says in text_of(answer)


def test_every_error_of_a_file_is_shown_up_to_a_limit(upload):
    links = [{"from": f"A{n}", "to": "B"} for n in range(60)]
    page = text_of(upload({"plant": "P", "nodes": [], "links": links}))
    assert "links[3] (&#x27;A3&#x27; to &#x27;B&#x27;): from: no node has the id" in page
    assert "And 70 more of this kind." in page


def test_no_file_is_said(as_maud, keyed):
    answer = as_maud.post(UPLOAD, keyed())
    assert answer.status_code == 422
    assert "No file is chosen; a plant file (JSON) would be right." in text_of(answer)


def test_a_file_above_5_mb_is_refused_before_it_is_read(upload):
    answer = upload(b" " * (5 * 1024 * 1024 + 1))
    assert answer.status_code == 422
    assert "The file has 5.0 MB; at most 5 MB would be right." in text_of(answer)


def test_a_plant_that_changed_since_the_dry_run_is_not_overwritten(as_maud, works, plant, upload):
    plant["machines"].append({"id": "M1", "name": "Mill"})
    data = confirmation(upload(plant))
    save_machine(site=works, machine={"id": "M2", "name": "Moulder"}, by=CLERK, at=now())
    answer = as_maud.post(IMPORT, data)
    assert answer.status_code == 409
    assert "Someone else changed this since the page was opened." in text_of(answer)
    assert [code for code, _ in queries.machine_codes(works)] == ["C1", "D1", "P1", "K4", "M2"]


def test_an_import_under_the_key_of_another_is_not_taken_for_done(as_maud, works, plant, upload):
    plant["machines"].append({"id": "M1", "name": "Mill"})
    data = confirmation(upload(plant))
    assert as_maud.post(IMPORT, data).status_code == 302
    plant["machines"].append({"id": "M2", "name": "Moulder"})
    other = confirmation(upload(plant))
    answer = as_maud.post(IMPORT, other | {"key": data["key"]})
    assert answer.status_code == 409
    assert "This page was sent already at " in text_of(answer)
    assert "M2" not in dict(queries.machine_codes(works))
    assert as_maud.post(IMPORT, confirmation(answer)).status_code == 302
    assert "M2" in dict(queries.machine_codes(works))


def test_what_was_altered_on_its_way_is_not_imported(as_maud, works, plant, upload):
    plant["machines"].append({"id": "M1", "name": "Mill"})
    data = confirmation(upload(plant))
    answer = as_maud.post(IMPORT, data | {"plant": data["plant"][:-1] + "!"})
    assert answer.status_code == 409
    assert "What was sent is not what was shown; choose the file again." in text_of(answer)
    assert "M1" not in dict(queries.machine_codes(works))


def test_a_point_with_a_lock_on_it_cannot_go(as_maud, works, plant, upload, maud, torvald, eleni):
    approve_procedures(works, now())
    neighbours_at_work(works)
    plant["nodes"] = [node for node in plant["nodes"] if node["id"] != "OUT-QB1"]
    plant["links"] = [link for link in plant["links"] if "OUT-QB1" not in link.values()]
    answer = upload(plant)
    assert answer.status_code == 409
    page = text_of(answer)
    assert "padlock E-32 hangs on OUT-QB1" in page
    assert "Import this" not in page


def test_a_large_plant_still_fits_the_page_that_confirms_it(settings):
    nodes = [{"id": f"N{n}", "kind": "carrier", "label": f"Carrier number {n}"} for n in range(20_000)]
    assert travelling(check({"plant": "Large works", "nodes": nodes, "links": []}))
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 60_000
    assert travelling(check({"plant": "Large works", "nodes": nodes, "links": []})) is None


def test_the_download_is_a_plant_file_that_says_the_same(as_odo, works, plant):
    answer = as_odo.get(reverse("plant:plant-file"))
    assert answer["Content-Disposition"] == 'attachment; filename="QUILLFEN-plant.json"'
    assert parse(answer.content) == check(plant)
    assert text_of(answer).count("\n") > 160  # one row a line


def test_the_download_uploaded_again_changes_nothing(as_odo, upload):
    assert "Nothing would change" in text_of(upload(as_odo.get("/plant/file.json").content))
