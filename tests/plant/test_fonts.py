"""Names in any script on paper: every font embedded, nothing as an empty box, the text there to be found."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any

import pypdf
import pytest
from bidi import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate

from permits.plant.prints import fonts, page
from permits.plant.prints.shaping import clusters

NAMES = {
    "Latin": "Zoë Ångström-Łukasz, Nguyễn Thị Đào",
    "Greek": "Ευαγγελία Ψαρρά",
    "Cyrillic": "Ђорђе Щербаков",
    "Armenian": "Հայկ Սարգսյան",
    "Georgian": "ქეთევან",
    "Hebrew": "שלום כהן",
    "Arabic": "محمد بن علي",
    "Devanagari": "प्रिया क्षत्रिय",
    "Bengali": "শ্রীমতী",
    "Tamil": "தமிழ்ச்செல்வி",
    "Telugu": "శ్రీనివాస్",
    "Kannada": "ಕೃಷ್ಣ",
    "Malayalam": "കൃഷ്ണൻ",
    "Gujarati": "કૃષ્ણ",
    "Gurmukhi": "ਗੁਰਪ੍ਰੀਤ",
    "Sinhala": "ශ්‍රී",
    "Thai": "น้ำมันไฮดรอลิก ที่",
    "Lao": "ສົມສັກ",
    "Khmer": "ភាសាខ្មែរ",
    "Burmese": "မြန်မာ",
    "Ethiopic": "አበበ",
    "Chinese": "李小龙",
    "Japanese": "鈴木 さくら",
    "Korean": "김민준",
    "marks with no letter of their own": "x̌ q̃",
    "symbols": "≤ 50 V ⚠ → Ω µ",
}


def drawn(text: str, *, bold: bool = False) -> bytes:
    file = BytesIO()
    canvas = Canvas(file, invariant=1, initialFontName=fonts.register())
    fonts.draw(canvas, 50, 700, text, 14, bold=bold)
    canvas.save()
    return file.getvalue()


def fonts_in(pdf: bytes) -> list[Any]:
    found = []
    for sheet in pypdf.PdfReader(BytesIO(pdf)).pages:
        found += [font.get_object() for font in sheet["/Resources"].get("/Font", {}).values()]
    return found


def text_in(pdf: bytes) -> str:
    return "".join("".join(sheet.extract_text().split()) for sheet in pypdf.PdfReader(BytesIO(pdf)).pages)


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("script", NAMES)
def test_a_name_in_any_script_is_written_with_embedded_fonts(script: str, bold: bool) -> None:
    assert not any("[U+" in words for _, words in fonts.runs(NAMES[script], bold=bold))
    found = fonts_in(drawn(NAMES[script], bold=bold))
    assert found
    assert all("/FontFile2" in font["/FontDescriptor"] for font in found)


@pytest.mark.parametrize("script", sorted(set(NAMES) - {"Hebrew", "Arabic"}))
def test_the_text_can_be_searched_and_copied(script: str) -> None:
    assert text_in(drawn(NAMES[script])) == "".join(NAMES[script].split())


@pytest.mark.parametrize(
    "text",
    [
        "שלום כהן",
        "ab שלום 42 cd",
        "שלום (3) ab",
        "(שלום)",
        "שלום, 12-14",
        "אב 1 גד 2 הו",
        "a (ב) c",
        "א [b (c)] ד",
        "(א) b",
        "א) ב",
    ],
)
def test_reading_order_is_that_of_the_unicode_algorithm(text: str) -> None:
    # The order is compared with python-bidi's compiled UAX #9, which leaves turning brackets to the font.
    either_way = str.maketrans(")]\u00a0", "([ ")
    assert "".join(letters(text)).translate(either_way) == get_display(text).translate(either_way)


def test_brackets_turn_with_the_reading_direction() -> None:
    assert "".join(letters("(שלום)")) == "(םולש)"


def letters(text: str) -> list[str]:
    """What each drawn character stands for, from left to right."""
    found = []
    for name, words in fonts.runs(text):
        known = getattr(pdfmetrics.getFont(name).face, "text", {})
        found += [known.get(ord(character), character) for character in words]
    return found


def test_arabic_letters_join() -> None:
    alone = {fonts.runs(letter)[0][1] for letter in "محمد"}
    assert alone.isdisjoint(fonts.runs("محمد")[0][1])


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\U00013000", "[U+13000]"),  # an Egyptian hieroglyph: no face here has it
        ("a\u202eb", "a[U+202E]b"),  # a control that would turn round what follows
        ("a\u0007b", "a[U+0007]b"),
        ("\ue000", "[U+E000]"),
    ],
)
def test_what_no_font_has_is_shown_as_its_code_point(text: str, shown: str) -> None:
    assert "".join(words for _, words in fonts.runs(text)) == shown


def test_invisible_characters_and_white_space_leave_no_box() -> None:
    assert fonts.runs("a\u200bb\ufeff\u00ad\tc\nd") == (("Text", "ab c d"),)


@pytest.mark.parametrize("script", NAMES)
@pytest.mark.parametrize("room", [20.0, 45.0, 200.0])
def test_wrapped_lines_keep_to_their_room_and_lose_nothing(script: str, room: float) -> None:
    text = NAMES[script] + " " + "long-winded/" * 3 + NAMES[script]
    lines = fonts.wrap(text, 10, room)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(fonts.width(line, 10) <= room + 0.01 or len(clusters(line)) == 1 for line in lines)


def test_paragraphs_take_names_as_words_not_as_markup() -> None:
    style = page.styles()["body"]
    story = [page.paragraph(f"<b>{name}</b> & {script}", style) for script, name in NAMES.items()]
    story.append(Paragraph(f"<b>{fonts.marked_up('प्रिया')}</b>", style))
    file = BytesIO()
    SimpleDocTemplate(file, invariant=1, initialFontName=fonts.register()).build(story)
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts_in(file.getvalue()))
    text = text_in(file.getvalue())
    assert "<b>ΕυαγγελίαΨαρρά</b>&Greek" in text
    assert "<b>李小龙</b>&Chinese" in text


def test_right_to_left_words_are_not_parted_by_a_line_break() -> None:
    words = re.sub("<[^>]*>", "", fonts.marked_up("Odo, محمد بن علي, Maud"))
    assert words.count("\u00a0") == 2
    assert words.count(" ") == 2


def test_a_number_stays_with_its_unit() -> None:
    room = fonts.width("Feeder 1, 400", 14, bold=True) + 1
    assert fonts.wrap("Feeder 1, 400 V", 14, room, bold=True) == ["Feeder 1,", "400 V"]
    assert fonts.wrap("Feeder 1, 400 Volt", 14, room, bold=True) == ["Feeder 1, 400", "Volt"]
    assert fonts.wrap("400 V", 14, 1.0) == ["4", "0", "0", "V"]  # where even they do not fit
