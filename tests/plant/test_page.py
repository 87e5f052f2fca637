"""The frame of every print: where it leads back to, page of pages, the caution; the same bytes every time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone
from io import BytesIO

import pypdf
import pypdfium2
import pytest
import zxingcpp
from reportlab.platypus import PageBreak

from permits.plant.prints.page import PageFrame, Paper, bind, paragraph, stamp, styles

AT = datetime(2026, 11, 25, 8, 40, tzinfo=timezone(timedelta(hours=1)))
LEADS_TO = "https://permits.example/permits/P-17/"


def printed(paper: Paper, *, wide: bool = False, title: str = "Permit P-17") -> bytes:
    frame = PageFrame("Quillfen Panel Works", title, LEADS_TO, AT, "Entries 12 to 96", paper, wide)
    body = styles()["body"]
    return bind(
        frame, [paragraph("Odo Farrell, 鈴木 さくら", body), PageBreak(), paragraph("محمد بن علي", body)]
    )


@pytest.mark.parametrize("wide", [False, True])
@pytest.mark.parametrize("paper", Paper)
def test_every_page_leads_back_to_its_record(paper: Paper, wide: bool) -> None:
    pdf = printed(paper, wide=wide)
    reader = pypdf.PdfReader(BytesIO(pdf))
    assert len(reader.pages) == 2
    for number, sheet in enumerate(reader.pages):
        width, height = (float(side) for side in sheet.mediabox[2:])
        assert (width > height) is wide
        said = " ".join(sheet.extract_text().split())
        assert f"Page {number + 1} of 2 · Entries 12 to 96 · Printed 25 Nov 2026, 08:40 (UTC+01:00)" in said
        assert LEADS_TO in said
        assert "Permit P-17" in said
        assert "Quillfen Panel Works" in said
        assert "do not make a machine safe" in said
        image = pypdfium2.PdfDocument(pdf)[number].render(scale=200 / 72).to_pil().convert("L")
        assert [code.text for code in zxingcpp.read_barcodes(image)] == [LEADS_TO]


def test_a_long_title_keeps_clear_of_the_site() -> None:
    said = pypdf.PdfReader(BytesIO(printed(Paper.A4, title="Calibration of the crosscut cell " * 9))).pages[0]
    assert "…" in said.extract_text()
    assert "Quillfen Panel Works" in said.extract_text()


def test_prints_made_at_the_same_time_do_not_disturb_each_other() -> None:
    alone = printed(Paper.A4)
    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(lambda _: printed(Paper.A4), range(12))) == {alone}


def test_times_are_given_with_their_distance_from_utc() -> None:
    assert stamp(AT) == "25 Nov 2026, 08:40 (UTC+01:00)"
    assert stamp(datetime(2026, 1, 2, 3, 4, tzinfo=UTC)) == "2 Jan 2026, 03:04 (UTC)"
    assert stamp(datetime(2026, 1, 2, 3, 4, tzinfo=timezone(timedelta(hours=-9, minutes=-30)))).endswith(
        "(UTC-09:30)"
    )
