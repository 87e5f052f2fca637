"""Files that cannot be taken: damaged, locked, too large; and CSV files with their own troubles."""

from __future__ import annotations

import struct
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile

import pytest

from permits.plant.rules.plantfile import as_dict
from permits.plant.sheets import (
    ON_A_PAGE,
    Limits,
    SheetErrors,
    as_csv,
    as_csv_files,
    as_workbook,
    checked,
    plant_file_of,
    read,
)
from tests.factories_plant import quillfen, small_file
from tests.plant.raw_workbook import MAIN, data, row, text, workbook
from tests.plant.test_sheets_cells import HEAD, NO_LINKS, PLANT, Q1, errors

NO_LIST = "has headings of no list of the plant. Right would be a file named after its list"
NO_SHEET = "has no sheet of the plant with anything in it. Right would be a file with the sheets plant"
ONLY = "Right would be only plant.csv, machines.csv, nodes.csv, links.csv."

SMALL = as_dict(small_file())


def refusal(content: bytes, name: str = "", limits: Limits = ON_A_PAGE) -> str:
    """What is said of a file that cannot be read at all."""
    with pytest.raises(SheetErrors) as caught:
        read(content, name, limits)
    (error,) = caught.value.errors
    return str(error)


def zipped(files: dict[str, bytes], method: int = ZIP_DEFLATED) -> bytes:
    file = BytesIO()
    with ZipFile(file, "w", method) as package:
        for name, content in files.items():
            package.writestr(name, content)
    return file.getvalue()


def csv_zip(**lists: str) -> bytes:
    return zipped({f"{name}.csv": content.encode() for name, content in lists.items()})


# ---- any file


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty. Right would be a workbook (XLSX), or CSV files in a zip."),
        (b"PK\x03\x04 and no more", "is damaged: it cannot be unpacked."),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "is in the form before XLSX, or locked with a password."),
        (zipped({"mimetype": b"application/vnd.oasis"}, ZIP_STORED), "is an OpenDocument file."),
        (zipped({"[Content_Types].xml": b"<Types/>"}), "is no workbook that can be read ("),
        (zipped({"notes.docx": b""}), f"has 'notes.docx' in it. {ONLY}"),
        (zipped({"more.csv": b"a"}), f"has 'more.csv' in it. {ONLY}"),
        (zipped({}), NO_SHEET),
        (b"some words", NO_LIST),
        ("Ger\u00e4t;Ort\n".encode("latin-1"), "is not in UTF-8: byte 0xe4 in line 1."),
        ("id,kind\n".encode("utf-16"), "is in UTF-16. Right would be CSV in UTF-8."),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_says_why(content, says):
    assert refusal(content).startswith(f"the file: {says}")


def test_what_is_cut_off_or_changed_on_the_way_is_said():
    whole = as_workbook(SMALL)
    assert "is damaged" in refusal(whole[: len(whole) // 2])
    broken = bytearray(as_csv_files(SMALL))
    at = broken.index(b"nodes.csv") + 40
    broken[at : at + 20] = bytes(20)
    assert "is damaged: nodes.csv cannot be unpacked" in refusal(bytes(broken))


def test_a_locked_package_is_said():
    content = bytearray(csv_zip(nodes="id,kind"))
    directory = content.index(b"PK\x01\x02")
    struct.pack_into(
        "<H", content, directory + 8, 1
    )  # general purpose bit 0: encrypted (PKWARE APPNOTE 4.4.4)
    assert refusal(bytes(content)) == (
        "the file: is locked with a password. Right would be the file without one."
    )


# ---- limits


def test_a_file_too_large_is_not_opened():
    limits = Limits(packed=100, unpacked=10**6, rows=10)
    assert refusal(as_workbook(SMALL), limits=limits) == "the file: has 0.0 MB. Right would be at most 0 MB."


@pytest.mark.parametrize("name", ["nodes.csv", "xl/worksheets/sheet1.xml"])
def test_what_unpacks_to_more_than_a_machine_bears_is_not_unpacked(name):
    bomb = zipped({name: b"0" * (60 * 1024 * 1024), "[Content_Types].xml": b""})
    assert len(bomb) < 100_000
    assert refusal(bomb) == (
        "the file: unpacks to 60 MB in 2 parts. Right would be at most 50 MB in 2000, with nothing but the "
        "plant "
        "in it."
    )


def test_entities_that_grow_without_end_are_not_expanded():
    # Ten times ten, seven times over: the "billion laughs" of the XML literature (from memory).
    levels = "".join(f'<!ENTITY l{at + 1} "{f"&l{at};" * 10}">' for at in range(7))
    doctype = f'<!DOCTYPE sst [<!ENTITY l0 "ha">{levels}]>'
    sst = f'{doctype}<sst xmlns="{MAIN}"><si><t>&l7;</t></si></sst>'
    sheets = {"plant": PLANT, "nodes": data(HEAD, row(2, Q1)), "links": NO_LINKS}
    content = workbook(sheets, extra={"xl/sharedStrings.xml": sst})
    assert refusal(content).startswith(
        "the file: has a document type definition in xl/sharedStrings.xml, which no workbook has."
    )


@pytest.mark.parametrize("form", ["XLSX", "CSV"])
def test_rows_are_counted(form):
    limits = Limits(packed=10**6, unpacked=10**6, rows=3)
    sheets = read(as_workbook(SMALL) if form == "XLSX" else as_csv_files(SMALL), limits=limits)
    found = [str(error) for error in checked(sheets).errors]
    assert "nodes: has more than 3 rows. Right would be at most 3." in found
    assert "links: has more than 3 rows. Right would be at most 3." in found


def test_a_sheet_that_reaches_far_out_is_refused_before_it_is_filled():
    far_right = data(HEAD, row(2, Q1, text("XFD2", "!")))
    far_down = data(HEAD, row(2, Q1), row(2_000_000_000, text("A2000000000", "!")))
    for sheet, says in (
        (far_right, "row 2: has content as far out as column XFD"),
        (far_down, "has a row beyond"),
    ):
        content = workbook({"plant": PLANT, "nodes": sheet, "links": NO_LINKS})
        assert any(says in error for error in errors(content))


def test_errors_without_number_are_cut_to_what_can_be_read():
    rows = "".join(f"Q{at},isolator,x\n" for at in range(5000))
    sheets = read(csv_zip(plant="plant\nP\n", nodes="id,kind,effort\n" + rows, links="from,to\n"))
    assert len(checked(sheets).errors) == 1000


# ---- CSV


def test_csv_files_in_a_folder_of_the_package_with_other_things_are_read():
    files = {
        "works/QUILLFEN-plant.csv": as_csv("plant", SMALL),
        "works/machines.CSV": as_csv("machines", SMALL),
        "works/nodes.csv": as_csv("nodes", SMALL),
        "works/Links (2).csv": as_csv("links", SMALL),
        "works/read-me.txt": b"",
        "works/.DS_Store": b"\x00",
        "__MACOSX/works/._nodes.csv": b"\x00",
    }
    assert plant_file_of(read(zipped(files))) == small_file()


def test_the_same_list_twice_is_refused():
    content = zipped({"nodes.csv": b"id,kind\n", "nodes (1).csv": b"id,kind\n"})
    assert [str(error) for error in read(content).errors] == [
        "the file: has the sheet nodes twice. Right would be one of them."
    ]


def test_rows_of_csv_are_counted_as_a_spreadsheet_shows_them():
    nodes = '\ufeffid,kind,release method,effort\nQ1,store,"two\nlines",1\n,,,\n\nQ2,isolator,,x\n'
    sheets = read(csv_zip(plant="plant\nP\n", nodes=nodes, links="from,to\n"))
    assert [str(error) for error in checked(sheets).errors] == [
        "nodes, row 5, column D (effort): is 'x'. Right would be a whole number in digits, such as 1, or an "
        "empty cell."
    ]


def test_a_quote_that_is_never_closed_is_said():
    sheets = read(csv_zip(plant="plant\nP\n", nodes='id,kind\nQ1,"isolator\nQ2,zone\n', links="from,to\n"))
    assert str(checked(sheets).errors[0]).startswith(
        "nodes, row 2: cannot be read on from here (unexpected end of data). Right would be a quote doubled"
    )


def test_a_cell_of_more_than_any_text_is_refused():
    sheets = read(csv_zip(plant="plant\nP\n", nodes=f"id,kind\n{'Q' * 200_000},zone\n", links="from,to\n"))
    assert "nodes, row 2: cannot be read on from here (field larger than" in str(checked(sheets).errors[0])


def test_no_two_machines_are_confused_by_the_list_that_is_left_out():
    plant = as_dict(quillfen())
    changed = plant | {"nodes": [node for node in plant["nodes"] if node["id"] != "C1-QB1"]}
    found = checked(read(as_csv("nodes", changed), "nodes.csv"), plant)
    said = [str(error) for error in found.errors]
    assert said
    assert all("which is not in the file: no node has the id 'C1-QB1'" in error for error in said)
