"""Sheets as a whole: every error with its place, headings, what is hidden, lists that are not in the file."""

from __future__ import annotations

from decimal import Decimal

import pytest

from permits.plant.rules import energy
from permits.plant.sheets import SheetErrors, checked, plant_file_of, read
from tests.plant.raw_workbook import data, number, row, text, workbook
from tests.plant.test_sheets_cells import HEAD, NO_LINKS, PLANT, Q1, errors, nodes

SOME = ("id", "kind", "label", "test limit")


def test_every_error_of_a_file_is_told_with_the_row_as_the_spreadsheet_shows_it():
    content = nodes(
        row(2, Q1),
        row(4, text("A4", "Q1"), text("B4", "isolater")),
        row(5, text("A5", "Q2"), text("B5", "isolator"), text("D5", "x"), number("E5", "3")),
        row(6, text("C6", "no id and no kind")),
    )
    assert errors(content) == [
        "nodes, row 4, column A (id): row 2 has it already. Right would be an id of its own.",
        "nodes, row 4, column B (kind): is 'isolater'. Right would be 'isolator', if that was meant, or "
        "one of supply, "
        "isolator, store, carrier, zone.",
        "nodes, row 5, column D (effort): is 'x'. Right would be a whole number in digits, such as 1, or "
        "an empty cell.",
        "nodes, row 5, column E (lockable): is 3. Right would be yes or no, or an empty cell.",
        "nodes, row 6, column A (id): is empty. Right would be a text of 1 to 64 characters.",
        "nodes, row 6, column B (kind): is empty. Right would be one of supply, isolator, store, carrier, "
        "zone.",
    ]


def test_errors_of_links_and_machines_have_their_place_too():
    links = data(
        row(1, text("A1", "from"), text("B1", "to"), text("C1", "both")),
        row(2, text("A2", "Q1"), text("B2", "Q9")),
        row(3, text("A3", "Q1"), text("B3", "Q1")),
    )
    machines = data(row(1, text("A1", "id"), text("B1", "name")), row(2, text("A2", "M")))
    sheet = data(HEAD, row(2, Q1))
    content = workbook({"plant": PLANT, "machines": machines, "nodes": sheet, "links": links})
    assert errors(content) == [
        "machines, row 2, column B (name): is empty. Right would be what people call the machine.",
        "links, row 2, column B (to): no node has the id 'Q9'. Right would be the id of one of the nodes.",
        "links, row 3, column B (to): the link leads back to where it starts. Right would be two different "
        "nodes.",
    ]


# ---- headings


def test_an_unknown_heading_names_the_nearest():
    head = row(1, text("A1", "id"), text("B1", "kind"), text("C1", "test limt"), text("D1", "colour"),
               number("E1", "5"), text("F1", "ID"))  # fmt: skip
    found = errors(nodes(row(2, Q1), head=head))
    assert found == [
        "nodes, row 1, column C: 'test limt' is no column of nodes. Right would be 'test limit', if that "
        "was meant.",
        "nodes, row 1, column D: 'colour' is no column of nodes. Right would be one of the headings on the "
        "first sheet "
        "of an export, or the column taken out.",
        "nodes, row 1, column E: is no text. Right would be one of the headings on the first sheet of an "
        "export, or "
        "the column taken out.",
        "nodes, row 1, column F (id): stands here twice. Right would be one of them.",
    ]


def test_a_column_that_must_be_there_is_missed_once():
    found = errors(nodes(row(2, text("A2", "Q1")), row(3, text("A3", "Q2")), head=row(1, text("A1", "id"))))
    assert found == ["nodes, row 1: the column kind is missing. Right would be a column headed kind."]


def test_content_under_no_heading_is_refused_once():
    found = errors(
        nodes(row(2, Q1, text("N2", "stray")), row(3, text("A3", "S"), text("B3", "zone"), text("N3", "!")))
    )
    assert found == [
        "nodes, row 2, column N: stands under no heading. Right would be a heading in row 1, or nothing in "
        "it."
    ]


# ---- what people cannot see


def test_hidden_and_merged_content_is_refused():
    content = nodes(
        row(2, Q1),
        row(3, text("A3", "Q2"), text("B3", "isolator"), text("C3", "seen by nobody"), more=' hidden="1"'),
        row(8, more=' hidden="1"'),
        before='<cols><col min="3" max="3" hidden="1"/><col min="30" max="16384" hidden="1"/></cols>',
        after='<mergeCells count="1"><mergeCell ref="A2:B2"/></mergeCells>',
    )
    assert errors(content) == [
        "nodes: the cells A2:B2 are merged into one. Right would be cells that are not merged.",
        "nodes, column C: the column is hidden. Right would be it shown (a filter cleared, or unhidden), "
        "or deleted.",
        "nodes, row 3: the row is hidden. Right would be it shown (a filter cleared, or unhidden), or "
        "deleted.",
    ]


def test_a_hidden_sheet_is_refused():
    sheets = {"plant": PLANT, "nodes": data(HEAD, row(2, Q1)), "links": NO_LINKS}
    content = workbook(sheets, hidden=frozenset({"nodes"}))
    assert errors(content) == ["nodes: the sheet is hidden. Right would be the sheet shown, or taken out."]


def test_a_sheet_of_no_list_is_refused_where_it_says_anything():
    more = {"Sheet7": data(), "node": data(row(1, text("A1", "x")))}
    sheets = {"plant": PLANT, "nodes": data(HEAD, row(2, Q1)), "links": NO_LINKS}
    assert errors(workbook(sheets | more)) == [
        "the file: has a sheet 'node' that is none of the plant's. Right would be 'nodes', if that was meant."
    ]


def test_a_sheet_without_headings_is_not_taken_for_one_that_is_not_there():
    sheets = {"plant": PLANT, "nodes": data(HEAD, row(2, Q1)), "links": data()}
    found = checked(read(workbook(sheets)), {"plant": "Works", "nodes": [], "links": []})
    assert [str(error) for error in found.errors] == [
        "links: is empty. Right would be its headings in the first row, or the sheet taken out."
    ]


def test_a_list_that_is_not_there_must_be_there_for_a_new_plant():
    content = workbook({"nodes": data(HEAD, row(2, Q1))})
    assert errors(content) == [
        "the file: has no sheet plant. Right would be one with a row that has the site's name.",
        "the file: has no sheet links. Right would be one with a row for each of the links.",
    ]
    with pytest.raises(SheetErrors, match="has no sheet links"):
        plant_file_of(read(content))


TESTED = {"quantity": "voltage", "unit": "V", "limit": "50", "combinations": ["L1-L2"]}


def test_a_column_that_is_not_there_stays_as_it_is_and_an_empty_cell_says_nothing():
    present = {
        "plant": "Works",
        "note": "kept",
        "nodes": [{"id": "Q1", "kind": "isolator", "label": "Main", "place": "Hall", "test": TESTED}],
        "links": [],
    }
    head = row(1, *(text(f"{letter}1", heading) for letter, heading in zip("ABCD", SOME, strict=True)))
    old = row(2, text("A2", "Q1"), text("B2", "isolator"), text("D2", "40"))
    new = row(3, text("A3", "Q2"), text("B3", "isolator"))
    content = workbook({"plant": PLANT, "nodes": data(head, old, new), "links": NO_LINKS})
    found = plant_file_of(read(content), present)
    kept = found.graph["Q1"]
    assert (found.note, kept.label, kept.place) == ("kept", "", "Hall")
    assert kept.test == energy.Test("voltage", "V", Decimal(40), ("L1-L2",))
    assert found.graph["Q2"].test is None


def test_conductors_take_the_place_of_pairs_that_the_plant_has():
    present = {
        "plant": "Works",
        "nodes": [{"id": "Q1", "kind": "isolator", "test": TESTED}],
        "links": [],
    }
    head = row(1, text("A1", "id"), text("B1", "kind"), text("C1", "test conductors"))
    sheet = data(head, row(2, text("A2", "Q1"), text("B2", "isolator"), text("C2", "L1 N")))
    found = plant_file_of(read(workbook({"nodes": sheet})), present)
    assert found.graph["Q1"].test.combinations == ("L1-N",)


def test_a_list_that_is_not_there_stays_as_it_is():
    present = {
        "plant": "Works",
        "note": "kept",
        "nodes": [{"id": "OLD", "kind": "zone"}],
        "links": [{"from": "Q1", "to": "OLD"}],
    }
    found = checked(read(workbook({"nodes": data(HEAD, row(2, Q1))})), present)
    assert [str(error) for error in found.errors] == [
        "links, column to: 'Q1' to 'OLD', which is not in the file: no node has the id 'OLD'. Right would "
        "be the id "
        "of one of the nodes."
    ]
    kept = plant_file_of(read(workbook({"nodes": data(HEAD, row(2, Q1))})), present | {"links": []})
    assert (kept.plant, kept.note) == ("Works", "kept")
