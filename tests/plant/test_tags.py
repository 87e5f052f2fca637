"""Tag sheets: each code read back from the rendered page, and everything that a tag must say is on it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from io import BytesIO
from random import Random

import pypdf
import pypdfium2
import pytest
import zxingcpp

from permits.plant.prints import qr
from permits.plant.rules.codes import new_token, short_code, shown, tag_url
from permits.plant.tags import LEGEND, SIZES, SMALLEST_MODULE, TagError, TagFace, tag_sheet

AT = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)
POINTS = [
    ("Cell main disconnector", "=L3.C1+H3-QB1", "Crosscut cell", "electrical, 400 V AC, 63 A"),
    ("Hydraulic accumulator", "=L3.P1+H13-CM1", "Panel press", "hydraulic, 120 bar, nitrogen stays in it"),
    ("Shut-off valve before the press cylinder on the mezzanine", "=L3.P1-QM2", "Panel press", "hydraulic"),
    ("Hauptschalter Säge", "=L3-QB9", "Kappzelle <1> & 2", "elektrisch, 400 V"),
]


def faces(number: int, seed: int = 7) -> list[TagFace]:
    random = Random(seed)
    made = []
    for i in range(number):
        name, designation, machine, energy = POINTS[i % len(POINTS)]
        url = tag_url("https://permits.example", new_token(random.randbytes(10)))
        code = short_code(random.randbytes(4))
        made.append(TagFace(url, code, designation, machine, name, energy, "Quillfen Panel Works", i % 3))
    return made


def read_back(pdf: bytes) -> list[str]:
    """Every QR code on every page, rendered at 200 dots per inch."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        image = page.render(scale=200 / 72).to_pil().convert("L")
        found += [code.text for code in zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)]
    return found


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages).split())


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("size", "number"), [("small", 29), ("medium", 13), ("large", 5)])
def test_every_code_on_the_sheet_can_be_read(paper: str, size: str, number: int) -> None:
    tags = faces(number)
    pdf = tag_sheet(tags, paper=paper, size=size, at=AT)
    assert sorted(read_back(pdf)) == sorted(tag.url for tag in tags)


@pytest.mark.parametrize("size", SIZES)
def test_a_tag_says_what_it_must(size: str) -> None:
    tags = faces(4)
    text = words(tag_sheet(tags, paper="A4", size=size, at=AT))
    for tag in tags:
        for said in (tag.point_name, tag.designation, tag.machine, tag.energy, shown(tag.short_code)):
            assert said.replace(" ", "") in text.replace(" ", "")
    assert LEGEND.replace(" ", "") in text.replace(" ", "")
    assert "First issue · Quillfen Panel Works" in text
    assert "Reissue 2" in text
    assert "Page 1 of" in text
    assert "do not make a machine safe" in text


@pytest.mark.parametrize("paper", [("A4", 595.3, 841.9), ("Letter", 612.0, 792.0)])
def test_sheets_have_their_paper_and_embedded_fonts_only(paper: tuple[str, float, float]) -> None:
    name, width, height = paper
    reader = pypdf.PdfReader(BytesIO(tag_sheet(faces(30), paper=name, size="medium", at=AT)))
    assert len(reader.pages) > 1
    for sheet in reader.pages:
        assert [float(side) for side in sheet.mediabox[2:]] == pytest.approx([width, height], abs=0.1)
        for font in sheet["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_the_same_tags_make_the_same_bytes() -> None:
    assert tag_sheet(faces(3), paper="A4", size="small", at=AT) == tag_sheet(
        faces(3), paper="A4", size="small", at=AT
    )


def test_modules_are_as_large_as_gloves_and_oil_want_them() -> None:
    # 0.8 mm for gloves and arm's length, and no less than 0.4 mm on a small tag: our own choice, on the
    # ground that readers want 4 printer dots to a module (300 dpi: 0.33 mm).
    millimetre = 72 / 25.4
    modules = qr.matrix(faces(1)[0].url)
    assert len(modules) == 33  # version 4: 17 + 4 × 4 modules (ISO/IEC 18004)
    sides = {name: qr.module_size(modules, size.code) / millimetre for name, size in SIZES.items()}
    assert sides["small"] >= 0.4
    assert sides["medium"] >= 0.8
    assert sides["large"] >= 0.8


def test_the_quiet_zone_is_four_modules() -> None:
    pdf = tag_sheet(faces(1), paper="A4", size="large", at=AT)
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=300 / 72).to_pil().convert("L")
    code = zxingcpp.read_barcode(image)
    assert code is not None
    corner = code.position.top_left
    module = (code.position.top_right.x - corner.x) / 33
    around = image.crop(
        (
            int(corner.x - 4 * module) + 2,
            int(corner.y - 4 * module) + 2,
            int(corner.x) - 3,
            int(corner.y + 30 * module),
        )
    )
    assert around.getextrema()[0] > 250


def test_long_names_are_never_lost() -> None:
    long = "Isolating valve of the third sawdust extraction branch " * 12
    tag = TagFace(faces(1)[0].url, "ABCDEF7", "=L9", "Machine", long, "pneumatic, 7 bar", "Quillfen")
    pdf = tag_sheet([tag], paper="A4", size="small", at=AT)
    assert read_back(pdf) == [tag.url]
    text = words(pdf)
    assert "…" in text
    assert "Shortened on the tags, in full here" in text
    assert "".join(long.split()) in "".join(text.split())
    assert "Page 1 of 2" in text


@pytest.mark.parametrize("size", SIZES)
def test_no_ink_leaves_its_tag(size: str) -> None:
    name = "اسم طويل جدا " * 4 + "Schaltanlagenhauptverteilungsabgang " * 3
    tag = TagFace(faces(1)[0].url, "WWWWWWW", "=L3" * 30, name, name, name, "Q" * 90, 12)
    pdf = tag_sheet([tag] * 2, paper="A4", size=size, at=AT)
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=2).to_pil().convert("L")
    scale, one = 2, SIZES[size]
    columns = {"small": 3, "medium": 2, "large": 1}[size]
    left = (595.28 - columns * one.width - (columns - 1) * 11.34) / 2
    top = 28.35
    gutter = image.crop(
        (int((left + one.width + 6) * scale), int((top + 4) * scale), int((left + one.width + 11) * scale),
         int((top + one.height - 4) * scale))
    )  # fmt: skip
    assert gutter.getextrema()[0] == 255
    below = image.crop(
        (int((left + 4) * scale), int((top + one.height + 1) * scale), int((left + one.width - 4) * scale),
         int((top + one.height + 5) * scale))
    )  # fmt: skip
    assert below.getextrema()[0] == 255


def test_a_site_address_too_long_for_a_small_tag_is_refused() -> None:
    url = tag_url("https://" + "long." * 32 + "example", "0" * 16)
    tag = TagFace(url, "ABCDEF7", "=L9", "Machine", "Point", "air", "Quillfen")
    assert qr.module_size(qr.matrix(url), SIZES["small"].code) < SMALLEST_MODULE
    with pytest.raises(TagError, match="too fine to read"):
        tag_sheet([tag], paper="A4", size="small", at=AT)


@pytest.mark.parametrize(
    ("tags", "paper", "size", "says"),
    [
        ([], "A4", "small", "choose at least one point"),
        (faces(1), "A5", "small", "Right would be one of: A4, Letter"),
        (faces(1), "A4", "huge", "Right would be one of: small, medium, large"),
    ],
)
def test_what_cannot_be_printed_is_told_so(tags: Sequence[TagFace], paper: str, size: str, says: str) -> None:
    with pytest.raises(TagError, match=says):
        tag_sheet(tags, paper=paper, size=size, at=AT)
