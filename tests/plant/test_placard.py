"""A machine's placard: what stands on it, its codes read back from the page, and when there is none."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdf
import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse
from django.utils.timezone import now
from fontTools.ttLib import TTFont

from permits.ledger.models import Entry
from permits.plant import queries
from permits.plant.actions import remove_node, save_link, save_node
from permits.plant.pages.placard import placard_of
from permits.plant.prints.faces import dejavu
from permits.plant.prints.page import CAUTION, Paper
from permits.plant.prints.placard import placard
from permits.plant.prints.placard_rows import NAME, PLACE
from permits.plant.rules.codes import shown, tag_url
from tests.factories_plant import CLERK, SEVEN, WRITTEN

AT_CELL = reverse("plant:placard", args=["C1"])
PUBLIC = "https://permits.example"


def read_back(pdf: bytes) -> list[set[str]]:
    """The QR codes of each page, rendered at 200 dots per inch."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        image = page.render(scale=200 / 72).to_pil().convert("L")
        codes = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
        found.append({code.text for code in codes})
    return found


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages).split())


@pytest.fixture
def as_printed(settings, as_odo, tagged, written):
    """as_printed(paper): the cell's placard, with an approved procedure and a tag at each point."""
    settings.PUBLIC_URL = PUBLIC
    return lambda paper="A4": as_odo.get(f"{AT_CELL}?paper={paper}")


@pytest.fixture
def shown_on_it(tagged, written, cell):
    return placard_of(tagged, cell, public_url=PUBLIC, address_of=lambda revision: f"/r/{revision}/")


def test_it_names_the_machine_the_revision_and_who_approved_it(as_printed, works, written, torvald):
    answer = as_printed()
    text = words(answer.content)
    number = Entry.objects.get(head=works.head, kind="PROCEDURE_APPROVED").number
    day = f"{written.approved_at.astimezone(works.zone):%-d %b %Y}"
    assert answer["Content-Type"] == "application/pdf"
    for said in (
        "Crosscut cell", "=L3.C1 · Line 3, north", "Revision 1", f"Approved by {torvald.name}", day,
        "Quillfen Panel Works", f"Approved by entry {number}", "Page 1 of", "Saw blade that coasts",
    ):  # fmt: skip
        assert said in text
    assert text.count("Saw chamber") >= 1


def test_it_has_every_energy_with_its_magnitude(as_printed):
    text = words(as_printed().content)
    for said in (
        "Electrical, 400 V AC, 250 A", "400 V feeder to board 3", "400 V feeder to board 4",
        "Electrical, 230 V AC, 3 kVA; battery 96 V DC", "Pneumatic, 500 l at 7 bar",
        "Rotating, 500 mm, 3000 rpm", "Gravity, 180 kg at 0.6 m", "holds up to 352 J",
    ):  # fmt: skip
        assert said in text
    assert "Lighting and sockets" not in text  # reaches no zone of this machine


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_its_points_stand_in_the_order_of_the_procedure_with_place_and_plate(
    as_printed, written, works, paper
):
    pdf = as_printed(paper).content
    text = words(pdf)
    points = {point.node.code: point for point in queries.points(works)}
    at = text.index("In this order")
    for step in written.order:
        if step["do"] in ("lock", "release"):
            node, tag = points[step["point"]].node, points[step["point"]].tag
            for said in (node.name, node.place, node.designation, shown(tag.short_code)):
                assert said.replace(" ", "") in text.replace(" ", "")
            at = text.index(shown(tag.short_code), at)
    codes = set().union(*read_back(pdf))
    wanted = {
        tag_url(PUBLIC, points[step["point"]].tag.token)
        for step in written.order
        if step["do"] in ("lock", "release")
    }
    assert codes == wanted | {f"{PUBLIC}/machines/C1/procedures/1/"}


def test_every_page_leads_back_to_the_revision(as_printed):
    pages = read_back(as_printed().content)
    assert len(pages) > 2
    assert all(f"{PUBLIC}/machines/C1/procedures/1/" in codes for codes in pages)


def test_it_says_how_each_point_is_verified(as_printed):
    text = words(as_printed().content)
    assert "Voltage: at most 50 V, between every two of L1, L2, L3, PE" in text
    assert "Gauge pressure: at most 0.05 bar" in text
    assert "Wait 300 s before the test." in text


def test_it_has_the_six_texts_the_local_rules_and_the_caution(as_printed):
    text = words(as_printed().content)
    for part in WRITTEN.values():
        assert part in text
    assert "Local rules that govern" in text
    assert text.count(CAUTION) >= 2
    assert "Holds only while revision 1 is the approved one" in text


def test_it_has_the_energy_picture(as_printed):
    text = words(as_printed().content)
    assert "Energy picture" in text
    assert "to be locked" in text
    assert "ENERGY REACHES IT" in text


@pytest.mark.parametrize("paper", [("A4", 595.3, 841.9), ("Letter", 612.0, 792.0)])
def test_it_has_its_paper_and_embedded_fonts_only(as_printed, paper):
    name, width, height = paper
    for page in pypdf.PdfReader(BytesIO(as_printed(name).content)).pages:
        assert [float(side) for side in page.mediabox[2:]] == pytest.approx([width, height], abs=0.1)
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_the_order_is_set_to_be_read_from_a_metre():
    # Capitals of a two-hundredth of the distance: common practice for signs. How high they are says the font.
    font = TTFont(dejavu(bold=True))
    capitals = font["glyf"]["H"].yMax / font["head"].unitsPerEm
    millimetre = 72 / 25.4
    assert NAME * capitals / millimetre >= 5
    assert PLACE * capitals / millimetre >= 3.5


def test_it_is_black_on_white(shown_on_it):
    pdf = placard(shown_on_it, paper=Paper.A4, printed_at=SEVEN)
    for page in pypdfium2.PdfDocument(pdf):
        image = page.render(scale=1).to_pil().convert("RGB")
        assert all(max(colour) - min(colour) < 6 for _, colour in image.getcolors(1 << 24))


def test_the_same_placard_makes_the_same_bytes(shown_on_it):
    first, second = (placard(shown_on_it, paper=Paper.A4, printed_at=SEVEN) for _ in range(2))
    assert first == second


def test_a_point_without_a_plate_says_so(settings, as_odo, works, written):
    settings.PUBLIC_URL = PUBLIC
    pdf = as_odo.get(AT_CELL).content
    assert "no plate" in words(pdf)
    assert set().union(*read_back(pdf)) == {f"{PUBLIC}/machines/C1/procedures/1/"}


def test_long_texts_in_any_script_are_not_lost_and_break_no_page(shown_on_it):
    long = "قفل النقطة Schaltanlagenhauptverteilung 主断路器 " * 60
    step = replace(shown_on_it.steps[0], name="Abgang " * 17, place="Halle " * 33, how="gelöst " * 60)
    face = replace(
        shown_on_it,
        machine="Kappzelle " * 12,
        hazards="Gefahr\n" * 280,
        zones=tuple(f"Zone {at}" for at in range(200)),
        steps=(step, *shown_on_it.steps),
        texts=tuple((title, long + "ENDE") for title, _ in shown_on_it.texts),
        local_rules="Regel\n" * 300 + "LETZTE",
    )
    pdf = placard(face, paper=Paper.LETTER, printed_at=SEVEN)
    text = words(pdf)
    assert text.count("ENDE") == 5
    assert "LETZTE" in text
    assert "Zone 199" in text


# ---- when there is none


def refusal(answer) -> str:
    assert answer.status_code == 409
    assert answer["Content-Type"].startswith("text/html")
    return answer.content.decode()


def test_a_procedure_that_no_longer_holds_makes_no_placard(as_printed, works):
    save_link(site=works, link={"from": "B3-BAR", "to": "C1-CLAMP"}, by=CLERK, at=now())
    page = refusal(as_printed())
    assert "Not yet: print the placard" in page
    assert "Energy reaches" in page
    assert "Board 3 busbar" in page
    assert "A safety officer writes a new revision" in page
    assert "take it down where that no longer holds" in page


def test_a_point_that_is_gone_makes_no_placard(as_printed, works):
    remove_node(site=works, code="C1-QB1", by=CLERK, at=now())
    assert "C1-QB1 is no longer in the plant" in refusal(as_printed())


def test_no_approved_procedure_makes_no_placard(as_odo, cell):
    page = refusal(as_odo.get(AT_CELL))
    assert "Crosscut cell has no approved procedure." in page
    assert "A safety officer writes one, another approves it." in page


def test_a_paper_that_is_not_there_is_said(as_printed):
    assert "right would be A4 or Letter" in refusal(as_printed("A5"))


def test_an_address_that_fits_no_code_is_said(as_printed, settings):
    settings.PUBLIC_URL = "https://permits.example/under_score"
    assert "cannot be printed in a tag" in refusal(as_printed())


def test_a_placard_follows_what_the_plant_says_of_its_points(as_printed, works):
    row = next(node for node in queries.points(works) if node.node.code == "C1-QB1").node
    assert row.name in words(as_printed().content)
    node = {"id": "C1-QB1", "kind": "isolator", "label": "Renamed switch", "machine": "C1", "sequence": 10}
    save_node(site=works, node=node, by=CLERK, at=now())
    assert "Renamed switch" in words(as_printed().content)


def test_it_is_offered_where_the_approved_revision_is_read(as_odo, works, written):
    page = reverse("plant:procedure", args=["C1", 1])
    assert f'href="{AT_CELL}"' in as_odo.get(page).content.decode()
    assert f'href="{AT_CELL}?paper=Letter"' in as_odo.get(page).content.decode()
    assert f'href="{AT_CELL}"' in as_odo.get(reverse("plant:machine", args=["C1"])).content.decode()
    save_link(site=works, link={"from": "B3-BAR", "to": "C1-CLAMP"}, by=CLERK, at=now())
    assert AT_CELL not in as_odo.get(page).content.decode()
