"""Cells of a workbook: taken exactly, or refused with their place, what is wrong, and what would be right."""

from __future__ import annotations

from decimal import Decimal

import pytest

from permits.plant.sheets import checked, plant_file_of, read
from permits.plant.sheets.tables import letters
from tests.plant.raw_workbook import data, number, row, text, workbook

PLANT = data(row(1, text("A1", "plant")), row(2, text("A2", "Works")))
NO_LINKS = data(row(1, text("A1", "from"), text("B1", "to")))
HEADINGS = (
    "id", "kind", "label", "effort", "lockable", "magnitude", "test quantity", "test unit", "test limit",
    "test combinations", "sequence",
)  # fmt: skip
HEAD = row(1, *(text(f"{letters(at)}1", heading) for at, heading in enumerate(HEADINGS)))
Q1 = text("A2", "Q1") + text("B2", "isolator")


def nodes(*rows: str, head: str = HEAD, after: str = "", before: str = "") -> bytes:
    """A workbook whose sheet nodes has these rows under its headings."""
    sheet = before + data(head, *rows) + after
    return workbook({"plant": PLANT, "nodes": sheet, "links": NO_LINKS})


def node(cell: str):
    """The node of a sheet with one row and one more cell in it."""
    return plant_file_of(read(nodes(row(2, Q1, cell)))).graph.nodes["Q1"]


def errors(content: bytes) -> list[str]:
    return [str(error) for error in checked(read(content)).errors]


# ---- what is taken


@pytest.mark.parametrize(
    ("cell", "member", "value"),
    [
        (text("C2", "0012"), "label", "0012"),
        (number("C2", "12"), "label", "12"),
        (number("C2", "12", "@"), "label", "12"),
        (number("F2", "7.5"), "magnitude", "7.5"),
        (text("D2", "3"), "effort", 3),
        (number("D2", "3"), "effort", 3),
        (number("D2", "3.0"), "effort", 3),
        (number("D2", "1200", "#,##0"), "effort", 1200),
        (number("K2", "-4"), "sequence", -4),
        (text("K2", " -4 "), "sequence", -4),
        (text("E2", "No"), "lockable", False),
        (text("E2", "FALSE"), "lockable", False),
        ('<c r="E2" t="b"><v>0</v></c>', "lockable", False),
        (text("E2", "  "), "lockable", True),
        (text("C2", "line_x000D_"), None, None),
    ],
)
def test_a_cell_is_taken_for_what_it_shows(cell, member, value):
    if member is None:
        assert errors(nodes(row(2, Q1, cell))) == [  # a line end at its end: no label has one
            "nodes, row 2, column C (label): has characters in it that cannot be printed. Right would be the "
            "text without them, on one line."
        ]
    else:
        assert getattr(node(cell), member) == value


@pytest.mark.parametrize(
    ("limit", "kept"),
    [
        (number("I2", "0.1"), "0.1"),
        (number("I2", "0.10000000000000001"), "0.1"),  # as programs write the double next to 0.1
        (number("I2", "5.0000000000000003E-2"), "0.05"),
        (number("I2", "50"), "50"),
        (number("I2", "0.25", "0.00"), "0.25"),
        (text("I2", "0.050"), "0.05"),
    ],
)
def test_a_decimal_is_kept_exactly(limit, kept):
    found = node(text("G2", "voltage") + text("H2", "V") + limit).test
    assert found.limit == Decimal(kept)


def test_strings_that_a_program_keeps_apart_are_read():
    cells = [f'<c r="{place}" t="s"><v>{at}</v></c>' for at, place in enumerate(("A2", "B2", "C2"))]
    sheet = data(HEAD, row(2, *cells))
    content = workbook(
        {"plant": PLANT, "Nodes ": sheet, "LINKS": NO_LINKS},
        strings=["=L3.C1", "carrier", "say _x005F_x0041_ twice"],
    )
    found = plant_file_of(read(content)).graph.nodes["=L3.C1"]
    assert found.label == "say _x0041_ twice"


def test_headings_may_be_written_otherwise_and_stand_anywhere():
    head = row(
        3, text("B3", "KIND"), text("C3", "Test  Limit"), text("D3", "test.quantity"), text("F3", "Id"),
        text("G3", "TEST_UNIT"),
    )  # fmt: skip
    sheet = data(head, row(7, text("B7", "store"), text("C7", "1"), text("D7", "x"), text("F7", "S"),
                           text("G7", "y")))  # fmt: skip
    content = workbook({"plant": PLANT, "nodes": sheet, "links": NO_LINKS})
    assert plant_file_of(read(content)).graph.nodes["S"].test.quantity == "x"


def test_rows_and_cells_that_say_nothing_are_passed_over():
    content = nodes(row(2), row(4, text("A4", "Q1"), text("B4", "zone")), row(9, text("C9", "  ")))
    assert list(plant_file_of(read(content)).graph.nodes) == ["Q1"]


# ---- what is refused


AS_TEXT = "Right would be the text itself: format the cell as text, then type it again."
WHOLE = "Right would be a whole number in digits, such as 1, or an empty cell."
YES_NO = "Right would be yes or no, or an empty cell."
MEANT = "Right would be the number that is meant"


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        (
            '<c r="C2"><f>B2&amp;"x"</f><v>7</v></c>',
            'holds the formula =B2&"x". Right would be its value, pasted as a value; a text that begins '
            "with = has "
            "an apostrophe typed before it.",
        ),
        ('<c r="C2" t="e"><v>#REF!</v></c>', "holds the error #REF!. Right would be a value."),
        (
            number("C2", "12", "0000"),
            f"holds the number 12 under the format 0000: it may show something else. {AS_TEXT}",
        ),
        (
            number("C2", "100000", "0.00E+00"),
            f"holds the number 100000 under the format 0.00E+00: it may show something else. {AS_TEXT}",
        ),
        (
            number("C2", "123456789012"),
            "is a number of many digits, 123456789012: a spreadsheet shows and keeps it as it likes. "
            + AS_TEXT,
        ),
        (number("C2", "46000", "yyyy-mm-dd"), f"holds a date or time, 2025-12-09 00:00:00. {AS_TEXT}"),
        ('<c r="C2" t="b"><v>1</v></c>', f"is the truth value TRUE, not a text. {AS_TEXT}"),
        (number("D2", "1.5"), f"is 1.5. {WHOLE}"),
        (number("D2", "0.5", "0%"), "holds 0.5 under the format 0%: it may show something else."),
        (text("D2", "many"), f"is 'many'. {WHOLE}"),
        (text("D2", "0"), "is 0. Right would be a positive whole number, such as 1."),
        (number("E2", "1"), f"is 1. {YES_NO}"),
        (text("E2", "maybe"), f"is 'maybe'. {YES_NO}"),
        (text("I2", "0,05"), "is '0,05', with a comma. Right would be a point: 0.05."),
        (text("I2", "low"), "is 'low'. Right would be the highest reading that passes, such as 50 or 0.05."),
        (number("I2", "0.30000000000000004"), f"holds 0.30000000000000004, but shows 0.3. {MEANT}"),
        (number("I2", "0.125", "0.00"), f"holds 0.125, but shows 0.13. {MEANT}"),
        (number("I2", "1E999"), "holds a number without end. Right would be a number in digits."),
        (number("J2", "12"), "is 12. Right would be words with a space between two."),
        (text("J2", "L1-L2 L1-L9"), "is 'L1-L9'. Right would be pairs, such as L1-L2 L1-PE."),
    ],
)
def test_a_cell_that_is_not_what_it_seems_is_refused_with_its_place(cell, says):
    column = cell[6]
    beside = text("G2", "voltage") + text("H2", "V") if column in "IJ" else ""
    limit = number("I2", "1") if column == "J" else ""
    found = errors(nodes(row(2, Q1, beside, limit, cell)))
    assert len(found) == 1
    assert found[0].startswith(f"nodes, row 2, column {column} ({HEADINGS[ord(column) - 65]}): {says}")
