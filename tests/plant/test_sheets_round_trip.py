"""The plant as a spreadsheet and back: nothing is lost, nothing is run, nothing is left out in silence."""

from __future__ import annotations

import csv
import re
from dataclasses import fields, is_dataclass
from io import BytesIO, StringIO
from itertools import pairwise
from xml.etree import ElementTree
from zipfile import ZipFile

import pytest
from hypothesis import given, settings
from openpyxl import load_workbook

from permits.plant.rules.conductors import PAIRS
from permits.plant.rules.energy import Node
from permits.plant.rules.plantfile import as_dict, check
from permits.plant.rules.stores.kinds import KINDS
from permits.plant.sheets import as_csv, as_csv_files, as_workbook, flat, plant_file_of, read
from permits.plant.sheets.columns import COLUMNS, NAMES
from tests.factories_plant import plants, quillfen, small_plant

FORMS = {"XLSX": as_workbook, "CSV": as_csv_files}
SPREADSHEET_XML = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"

AWKWARD = [
    "0012", "1E5", "TRUE", "yes", "=1+1", "-5", "+44", "@SUM(A1)", "'", "''", "'=x", "''-x", "1/2", "3-1",
    "1,5", "1;5", '"', 'a"b', "a\tb", " x ", "  ", "#N/A", "{=A1}", "_x0041_", "_x000D_", "_x005F_x000A_",
    "\ufffe", "\uffff", "اسم", "主断路器", "🔒", "=HYPERLINK(\"http://x\",\"y\")", "＝1", "\u2028", "|calc",
]  # fmt: skip


def parts(package: bytes) -> dict[str, bytes]:
    with ZipFile(BytesIO(package)) as file:
        return {name: file.read(name) for name in file.namelist()}


def awkward_plant(texts=tuple(AWKWARD)) -> dict:
    """A plant in which every text is one that spreadsheet programs change if they can."""
    ids = [text for text in texts if text == text.strip() and "\t" not in text]
    one_line = [text for text in texts if "\t" not in text]
    nodes = [
        {"id": id, "kind": "carrier", "label": one_line[at % len(one_line)]} for at, id in enumerate(ids)
    ]
    nodes.append({"id": "several", "kind": "store", "release": {"method": "One.\nTwo.\n\n=Three"}})
    links = [{"from": a, "to": b} for a, b in pairwise(ids)]
    machines = [{"id": "M", "name": "=M", "hazards": "\t=cmd\nline\ttwo"}]
    return {"plant": "=Plant", "note": "\n=note", "machines": machines, "nodes": nodes, "links": links}


@pytest.mark.parametrize("form", FORMS)
@settings(deadline=None, max_examples=60)
@given(plant=plants())
def test_any_plant_comes_back_as_it_was(form, plant):
    whole = check(plant)
    assert plant_file_of(read(FORMS[form](as_dict(whole)))) == whole


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("plant", [quillfen(), check(small_plant()), check(awkward_plant())])
def test_known_plants_come_back_as_they_were(form, plant):
    assert plant_file_of(read(FORMS[form](as_dict(plant)))) == plant


@pytest.mark.parametrize("name", NAMES)
def test_one_list_alone_comes_back_beside_the_rest(name):
    plant = as_dict(quillfen())
    sheets = read(as_csv(name, plant), f"QUILLFEN-{name} (1).csv")
    assert list(sheets.found) == [name]
    assert plant_file_of(sheets, plant) == quillfen()
    assert list(read(as_csv(name, plant), "download.csv").found) == [name]


def test_a_workbook_saved_again_by_a_program_comes_back_as_it_was():
    # openpyxl, in its whole-book mode, stands for the program.
    for plant in (quillfen(), check(awkward_plant())):
        book = load_workbook(BytesIO(as_workbook(as_dict(plant))))
        for sheet in book.worksheets:
            assert {cell.data_type for row in sheet.iter_rows() for cell in row} <= {"s", "n"}
        file = BytesIO()
        book.save(file)
        assert plant_file_of(read(file.getvalue())) == plant


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_csv_with_another_delimiter_is_read(delimiter):
    plant = as_dict(quillfen())
    rows = csv.reader(StringIO(as_csv("nodes", plant).decode("utf-8-sig"), newline=""))
    text = StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    assert plant_file_of(read(text.getvalue().encode(), "nodes.csv"), plant) == quillfen()


def test_no_cell_of_a_workbook_is_a_formula():
    # Asked of the XML itself: `f` is a cell's formula (ECMA-376 part 1, 18.3.1.40; from memory).
    for plant in (quillfen(), check(awkward_plant())):
        for name, xml in parts(as_workbook(as_dict(plant))).items():
            if name.startswith("xl/worksheets/"):
                assert not list(ElementTree.fromstring(xml).iter(f"{SPREADSHEET_XML}f")), name


def test_no_cell_of_a_csv_file_begins_what_a_program_would_run():
    # = + - @, tab and carriage return: the list of OWASP's page on CSV injection (from memory). Plain numbers
    # are let through.
    for plant in (quillfen(), check(awkward_plant())):
        for name, content in parts(as_csv_files(as_dict(plant))).items():
            if name.endswith(".csv"):
                for row in csv.reader(StringIO(content.decode("utf-8-sig"), newline="")):
                    assert not [
                        cell for cell in row if re.match(r"\s*[=+\-@\t\r]", cell) and not number(cell)
                    ]


def number(cell: str) -> bool:
    return re.fullmatch(r"-?\d+(\.\d+)?", cell) is not None


def test_ids_and_decimals_are_texts_in_a_workbook():
    plant = small_plant(
        nodes=[
            {"id": "0012", "kind": "supply"},
            {"id": "1E5", "kind": "store", "test": {"quantity": "gauge", "unit": "bar", "limit": "0.050"}},
        ],
        links=[{"from": "0012", "to": "1E5"}],
    )
    sheet = load_workbook(BytesIO(as_workbook(as_dict(check(plant)))))["nodes"]
    head = [cell.value for cell in sheet[1]]
    limit = sheet.cell(3, head.index("test limit") + 1)
    for cell, value in ((sheet["A2"], "0012"), (sheet["A3"], "1E5"), (limit, "0.05")):
        assert (cell.value, cell.data_type, cell.number_format) == (value, "s", "@")


def test_every_member_of_a_row_has_a_column_with_a_meaning():
    for node_field in fields(Node):
        assert any(column.path[0] == node_field.name for column in COLUMNS["nodes"]), node_field.name
    for kind, of in KINDS.items():
        assert is_dataclass(of)
        for store_field in fields(of):
            path = ("physics", store_field.name)
            assert any(column.path == path for column in COLUMNS["nodes"]), (kind, path)
    for columns in COLUMNS.values():
        assert all(column.meaning for column in columns)
        assert len({column.heading for column in columns}) == len(columns)


def test_a_member_without_a_column_is_never_left_out_in_silence():
    with pytest.raises(ValueError, match=r"no column for the member test\.colour"):
        flat("nodes", {"id": "Q", "kind": "isolator", "test": {"colour": "red"}})


def test_the_first_sheet_explains_every_column():
    book = load_workbook(BytesIO(as_workbook(as_dict(quillfen()))))
    assert book.sheetnames == ["read me", "plant", "machines", "nodes", "links"]
    said = {(row[0].value, row[1].value) for row in book["read me"].iter_rows() if len(row) > 1}
    text = parts(as_csv_files(as_dict(quillfen())))["read-me.txt"].decode()
    for name, columns in COLUMNS.items():
        for column in columns:
            assert (name, column.heading) in said
            assert f"{name}.csv  {column.heading}  (" in text


def test_conductors_may_be_given_in_place_of_pairs():
    plant = as_dict(check(small_plant()))
    book = load_workbook(BytesIO(as_workbook(plant)))
    sheet = book["nodes"]
    head = {cell.value: cell.column for cell in sheet[1]}
    row = next(row[0].row for row in sheet.iter_rows(min_row=2) if row[0].value == "Q1")
    given = {"medium": "Electrical", "test quantity": "voltage", "test unit": "V", "test limit": 50}
    for heading, value in (given | {"test conductors": "L1, L2; PE"}).items():
        sheet.cell(row, head[heading]).value = value
    file = BytesIO()
    book.save(file)
    test = plant_file_of(read(file.getvalue())).graph["Q1"].test
    assert test is not None
    assert test.combinations == ("L1-L2", "L1-PE", "L2-PE")
    assert set(test.combinations) < set(PAIRS)


def test_the_same_plant_makes_the_same_csv_files():
    plant = as_dict(quillfen())
    assert as_csv_files(plant) == as_csv_files(plant)
