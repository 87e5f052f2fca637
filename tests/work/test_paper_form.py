"""The printed form that carries on when the server is down: what it says, and how it looks on paper."""

from dataclasses import replace
from io import BytesIO

import pypdf
import pypdfium2
import pytest
import zxingcpp
from reportlab.lib.units import mm

from permits.work.prints import sections
from permits.work.prints.blanks import Line
from permits.work.prints.entering import WORDS, entering
from permits.work.prints.form import NOT_HAPPENED, foot, head
from permits.work.prints.form import paper_form as printed
from permits.work.queries.look import Look
from permits.work.queries.paper import LATE, blank_form, is_late, paper_form
from permits.work.queries.paper_points import PaperLock, PaperRelease
from permits.work.rules import commands as c
from permits.work.rules.state import Procedure
from permits.work.rules.words import OutOfUse
from tests.work.small_plant import (
    GRAPH,
    SITE,
    accept,
    at,
    check,
    done,
    issue,
    lock,
    locks_and_releases,
    p1,
    readings,
    release,
    request,
    sanction,
    sign_off,
    sign_on,
    tell,
    with_node,
    with_person,
)

LEADS_TO = "https://permits.quillfen.example/permits/P-1/"
PLATES = {"Q1": "ABC-DEF-7"}
ACCEPTED = done(SITE, request(), issue(), accept(), tell())
LOCKED = done(ACCEPTED, *locks_and_releases())
AT_WORK = done(LOCKED, *readings(), sign_on("odo", "", 14), sign_on("hal", "201", 15), check("odo", 16))


def form_of(site, minutes=30, *, plates=PLATES):
    seen = Look(site, p1(site), 1, at(minutes))
    return paper_form(seen, site_name="Quillfen Panel Works", plates=plates, entry=64)


def blank(site=SITE):
    order = (("lock", "Q1"), ("lock", "Q2"), ("release", "C1"), ("release", "G1"), ("verify", "Q1"))
    by = Procedure("CUT", 3, ("SAW", "OUT"), ("Q1", "Q2"), ("C1", "G1"))
    return blank_form(
        site, by, order, name="Cutting cell", keep_live=("CON",), at=at(30), site_name="Works", plates={},
        entry=7,
    )  # fmt: skip


def pages_of(pdf):
    return [page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages]


def words_of(form):
    return plain(" ".join(pages_of(printed(form, leads_to=LEADS_TO))))


def plain(text):
    return " ".join(text.replace("\u00a0", " ").split())


# ── what it says ────────────────────────────────────────────────────────────────────────────────────────


def test_the_points_stand_in_the_plans_order_with_what_hangs_there():
    points = form_of(AT_WORK).points
    assert [(p.number, p.does, p.name) for p in points] == [
        (1, "Lock", "Main switch"), (2, "Lock", "Conveyor switch"),
        (3, "Release", "DC bus"), (4, "Release", "Gantry"),
    ]  # fmt: skip
    assert points[0].holds == (PaperLock("101", "T101", "off", "Odo Holder", "06:04"),)
    assert points[0].plate == "ABC-DEF-7"
    assert points[2].release == PaperRelease("as written", "Odo Holder", "06:06")
    assert not points[2].takes_lock  # nobody can undo a bus that has run down
    assert [lock.padlock for lock in points[3].holds] == ["103"]


def test_what_hangs_for_another_permit_is_named_as_its_own():
    other = replace(p1(LOCKED), id="P-2", number=2)
    both = replace(ACCEPTED, permits={**ACCEPTED.permits, "P-2": other})
    first = form_of(both).points[0]
    assert first.holds == ()
    assert first.others == "padlock 101 of Odo Holder, 06:04 (for P-2)"
    assert dict(form_of(both).hanging)["Main switch"] == first.others


def test_a_blank_for_each_conductor_combination_with_its_limit():
    tests = {test.name: test for test in form_of(AT_WORK).tests}
    assert tests["Main switch"].pairs == GRAPH["Q1"].test.combinations
    assert tests["Main switch"].limit == "50 V"
    assert tests["Main switch"].proves_instrument
    assert tests["Gantry"].pairs == ("",)
    assert not tests["Gantry"].proves_instrument
    assert tests["Main switch"].stands == "proven dead since 06:12"
    assert {test.stands for test in form_of(ACCEPTED).tests} == {"not locked", "not released"}


def test_a_store_says_from_when_on_a_reading_counts():
    waits = {test.name: test.waits for test in form_of(LOCKED).tests}
    assert waits["DC bus"] == (
        "Not before 300 s after the release. Released 06:06: a reading counts from 06:11 on."
    )
    assert waits["Gantry"] == ""
    assert form_of(ACCEPTED).tests[2].waits == "Not before 300 s after the release."


@pytest.mark.parametrize(("policy", "asked"), [(0, 90), (30, 30), (120, 90)])
def test_a_store_that_recharges_says_how_soon_it_is_read_again(policy, asked):
    recharging = replace(GRAPH["C1"].release, recheck_min=90)
    site = with_node(LOCKED, "C1", release=recharging)
    site = replace(site, policy=replace(site.policy, recheck_minutes=policy))
    found = form_of(site)
    assert found.tests[2].again == f"It can recharge: read it again within {asked} min, every time."
    assert words_of(found).count("Read again (at most 50 V)") == 4


def test_who_is_inside_and_how_it_stood_is_filled_in():
    form = form_of(AT_WORK)
    assert [(on.name, on.padlock, on.on_at) for on in form.crew] == [
        ("Odo Holder", "own locks", "25 Nov, 06:14"), ("Hal Helper", "201", "25 Nov, 06:15"),
    ]  # fmt: skip
    assert form.word == "Proven dead"
    assert form.checked == "When printed: checked by Odo Holder, 06:16."
    assert [(n.whom, n.how, n.by, n.at) for n in form.notices] == [
        ("line 3", "in person", "Odo Holder", "06:03")
    ]


def test_under_a_sanction_the_areas_are_still_all_that_power_reaches():
    site = done(AT_WORK, sign_off("odo", 18), sign_off("hal", 19), sanction(points=("Q1",)))
    form = form_of(site)
    assert form.areas == ("Outfeed", "Drilling table")
    assert any(words.startswith("Sanction for test until 08:21.") for words in form.more)


def test_a_lock_that_hangs_has_its_line_even_where_none_is_asked_for():
    site = done(ACCEPTED, lock("Q1", "101"), lock("Q2", "102", 5), release("C1", 6, padlock="109"))
    words = words_of(form_of(site))
    assert "padlock 109 of Odo Holder, 06:06" in words
    assert words.count("Padlock no.") == 2 * 4


def test_a_stop_is_said_with_who_and_why_and_a_defect_that_is_open():
    defective = done(AT_WORK, check("odo", 17, defect="cables"))
    assert "Still open: Cables, sensors, loose wires: loose." in form_of(defective).checked
    stopped = done(defective, c.StopWork(permit="P-1", by="hal", at=at(18), why="smell of smoke"))
    form = form_of(stopped)
    assert form.word == "Come out: stopped"
    assert any("Hal Helper" in words and "smell of smoke" in words for words in form.more)
    assert "It is asked for again." in form.checked


def test_the_check_asks_for_the_defects_that_an_earlier_permit_left():
    left = {"CUT": OutOfUse("CUT", "P-7", defects=("Guard of the blade: cracked",))}
    asked = "Look at these again: Guard of the blade: cracked (CUT, left by P-7)."
    permit = form_of(replace(ACCEPTED, out_of_use=left))
    assert permit.checked == asked
    assert asked in words_of(permit)
    assert blank(replace(SITE, out_of_use=left)).checked == asked
    assert form_of(done(replace(SITE, out_of_use=left), request())).checked == asked


def test_its_number_is_the_permit_and_the_time_at_the_plant():
    assert form_of(AT_WORK).number == "P-1/2026-11-25-0630"
    assert form_of(replace(AT_WORK, timezone="Europe/Helsinki")).number == "P-1/2026-11-25-0830"


def test_a_form_for_work_that_begins_on_paper_has_the_plan_of_the_procedure():
    form = blank()
    assert form.number == "CUT/2026-11-25-0630"
    assert [p.name for p in form.points] == ["Main switch", "Conveyor switch", "DC bus", "Gantry"]
    assert form.areas == ("Outfeed", "Drilling table")  # by hand: Q1 feeds the one, Q2 both
    assert "Good only while revision 3 of the procedure is the approved one." in form.more
    words = words_of(form)
    for expected in ("No permit yet", "Cutting cell", "revision 3", "Stays live Conveyor",
                     "Issuer: plan and procedure are right", "Permit number, once the server is back",
                     "First a permit for the same zones and plan is asked for"):  # fmt: skip
        assert expected in words, expected


# ── what is entered late ────────────────────────────────────────────────────────────────────────────────


def test_tests_signing_on_sanction_and_closing_are_done_again():
    # By hand from the contract of paper mode: what puts someone in reach is never taken late.
    again = {c.VerifyMachine, c.TryStart, c.SignOnCrew, c.GiveSanction, c.SignClosed, c.IssuePermit,
             c.AcceptPermit, c.LiftHalt, c.ExtendPermit, c.AcceptHandover, c.ConfirmClear}  # fmt: skip
    assert {command for command in WORDS if not is_late(command)} == again
    assert entering(c.SignOnCrew, c.SignOffCrew) == (
        "Entered late: signing off. Done again on the server: signing on."
    )


def test_whatever_is_taken_late_has_its_place_on_the_form():
    # A watch that is left needs no line: the area's own line grows old; nor does a permit that never began.
    assert set(LATE) - set(WORDS) == {c.LeaveWatch, c.CancelPermit}


# ── on paper ────────────────────────────────────────────────────────────────────────────────────────────


EXPECTED = (
    NOT_HAPPENED, "Printed 25 Nov 2026, 06:30 (UTC), at entry 64:", "Proven dead",
    "Everything that a hand writes on this form happened after that.", "calibration: boards run long",
    "Saw chamber, Outfeed", "Issuer Maud Issuer", "Holder Odo Holder", "padlock 101 of Odo Holder, 06:04",
    "Hal Helper (201, on 25 Nov, 06:15)", "ABC-DEF-7", "none issued", "L3-PE (at most 50 V)",
    "Proven before", "Proven after", "Try the controls of CUT", "Padlock on the box",
    "Obstructions, scrap and jams", "Stopped or suspended by", "Points that may be energised",
    "Limits: what may be done", "Cycles, at most", "Machine whole", "Guards on", "Tools out", "People out",
    "Standstill", "Controls neutral", "Power brought back by", "Drilling table", "By radio: who sees it",
    "Prove it dead again on the server.", "Entered late by", "and by", "local codes and licensed practice",
)  # fmt: skip


def test_a_hand_finds_everything_on_it():
    words = words_of(form_of(AT_WORK))
    for expected in EXPECTED:
        assert expected in words, expected
    assert "Issuer: plan and procedure" not in words  # it is issued


def test_a_tag_asks_for_the_measure_that_makes_up_for_the_lock():
    from permits.plant.rules.energy import TagOnly

    site = with_node(ACCEPTED, "Q2", tag_only=TagOnly("take out the fuses"), lockable=False)
    point = form_of(site).points[1]
    assert (point.does, point.how) == (
        "Tag", "Takes a tag, not a lock. Do this as well: take out the fuses",
    )  # fmt: skip
    assert "Measure done besides the tag" in words_of(form_of(site))


def test_every_page_says_which_form_it_is_and_leads_to_the_permit():
    pdf = printed(form_of(AT_WORK), leads_to=LEADS_TO)
    pages = pages_of(pdf)
    for number, words in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)} · At entry 64 · Printed 25 Nov 2026, 06:30" in plain(words)
        assert "Paper form P-1/2026-11-25-0630" in words
        assert LEADS_TO in words
    document = pypdfium2.PdfDocument(pdf)
    for page in document:
        [code] = zxingcpp.read_barcodes(page.render(scale=3).to_pil())
        assert code.text == LEADS_TO


def test_it_is_a4_black_on_white_inside_its_margins_and_always_the_same():
    pdf = printed(form_of(AT_WORK), leads_to=LEADS_TO)
    assert pdf == printed(form_of(AT_WORK), leads_to=LEADS_TO)
    for page in pypdfium2.PdfDocument(pdf):
        assert (round(page.get_width() / mm), round(page.get_height() / mm)) == (210, 297)  # ISO 216
        image = page.render(scale=2, optimize_mode="print").to_pil().convert("RGB")
        assert all(r == g == b for _, (r, g, b) in image.getcolors(1 << 16))
        edge = int(14 * mm * 2)
        for strip in ((0, 0, edge, image.height), (image.width - edge, 0, image.width, image.height)):
            assert image.convert("L").crop(strip).getextrema() == (255, 255)


def lines_in(flowables):
    for one in flowables:
        if isinstance(one, Line):
            yield one
        yield from lines_in(getattr(one, "_content", ()))


@pytest.mark.parametrize("form", [form_of(AT_WORK), form_of(ACCEPTED), blank()], ids=str)
def test_every_blank_is_high_and_wide_enough_for_a_hand_in_a_glove(form):
    # Common practice, no published source: 8 mm of height, and room for a time.
    width = 178 * mm
    parts = (head(form, width), sections.all_of(form, width), foot(form, width))
    found = [line for part in parts for line in lines_in(part)]
    assert len(found) > 40
    assert all(line.height >= 8 * mm for line in found)
    assert all(room >= 15 * mm for line in found for _, room in line.cells)


def test_more_crew_than_rows_leaves_rows_for_more():
    on = p1(AT_WORK).crew[1]
    crowd = replace(p1(AT_WORK), crew=tuple(replace(on, padlock=str(300 + n)) for n in range(9)))
    form = form_of(replace(AT_WORK, permits={"P-1": crowd}))
    assert words_of(form).count("Padlock on the box") == 9 + 3
    assert words_of(form_of(AT_WORK)).count("Padlock on the box") == 8


def test_long_names_markup_and_other_scripts_are_printed_whole():
    hostile = "<b>&amp;</b> " + "W" * 150
    site = with_person(with_node(AT_WORK, "Q1", label=hostile, place=hostile), "odo", name="שלום כהן")
    found = "".join(words_of(form_of(site)).split())
    assert "<b>&amp;</b>" in found
    assert found.count("W") >= 4 * 150
