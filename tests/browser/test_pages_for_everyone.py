"""The permit pages for those who do not see well, have no mouse, tap twice, go back, or stand in glare."""

import re
from itertools import pairwise

import pytest

from tests.browser import looking
from tests.browser.phone import DESK, PHONE, pin
from tests.cast import PASSWORD

pytestmark = pytest.mark.browser

SMALL = {"width": 320, "height": 640}
PAGES = (
    "/", "/board/", "/find/", "/permits/new/", "/permits/new/C1/",
    "/permits/new/C1/?show=plan&zones=C1-INFEED&zones=C1-CHAMBER", "/permits/P-1/", "/permits/P-1/picture/",
    "/permits/P-1/tell/", "/permits/P-1/sign-on/", "/permits/P-1/sign-off/", "/permits/P-1/check/",
    "/permits/P-1/verify/C1/", "/permits/P-1/try-start/C1/", "/permits/P-1/confirm-clear/",
    "/permits/P-1/hand-back/", "/permits/P-1/remove-locks/", "/permits/P-1/lock/", "/permits/P-1/accept/",
)  # fmt: skip
SIGNED_OUT = ("/permits/P-1/issue/", "/permits/P-1/sanction/", "/permits/P-1/extend/")

@pytest.fixture(scope="module")
def odo(people):
    return people["odo"]


@pytest.fixture(scope="module")
def issuer(people):
    return people["szczesny"]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_can_be_read_out_and_fits_the_smallest_phone(odo, path):
    page = odo.page
    page.set_viewport_size(SMALL)
    odo.open(path)
    assert odo.status == 200
    assert odo.no_sideways_scroll()
    assert page.evaluate(looking.NAMELESS) == []
    assert page.evaluate(looking.LOST_IDS) == []
    assert page.evaluate(looking.DOUBLE_IDS) == []
    assert page.locator("h1").count() == 1
    levels = page.evaluate(looking.LEVELS)
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels)), levels
    assert page.evaluate(looking.SMALL_TARGETS) == []
    assert re.fullmatch(r".+ · Quillfen Panel Works", page.title())
    page.set_viewport_size(PHONE)


@pytest.mark.parametrize("path", SIGNED_OUT)
def test_the_issuers_pages_fit_phone_and_desk(issuer, path):
    for size in (SMALL, DESK):
        issuer.page.set_viewport_size(size)
        issuer.open(path)
        assert issuer.status == 200
        assert issuer.no_sideways_scroll()
        assert issuer.page.evaluate(looking.NAMELESS) == []
    issuer.page.set_viewport_size(PHONE)


def test_text_stands_out_in_the_dark_and_in_glare(odo):
    """7:1 for text on the phone (WCAG 2.2, success criterion 1.4.6)."""
    for scheme, glare in (("light", False), ("dark", False), ("light", True), ("dark", True)):
        odo.page.emulate_media(color_scheme=scheme)
        odo.open("/permits/P-1/check/")
        if glare != (odo.page.get_attribute(".switch", "aria-pressed") == "true"):
            odo.page.click(".switch")
        worst = min(odo.page.evaluate(looking.CONTRASTS), key=lambda pair: pair[0])
        assert worst[0] >= 7, (scheme, glare, worst)
    odo.page.click(".switch")
    odo.page.emulate_media(color_scheme="light")


def test_nothing_moves_where_less_motion_is_wanted(odo):
    odo.page.emulate_media(reduced_motion="reduce")
    odo.open("/permits/P-1/")
    assert odo.page.evaluate(looking.MOVING) == 0
    odo.page.emulate_media(reduced_motion="no-preference")


def test_the_job_is_asked_for_with_the_keyboard_alone(odo):
    page = odo.open("/permits/new/C1/").page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.innerText") == "To the content"
    tab_to(page, "Crosscut infeed")
    outline = "getComputedStyle(document.activeElement.closest('.option')).outlineStyle"
    assert page.evaluate(outline) == "solid"
    page.keyboard.press("Space")
    tab_to(page, "Work out the plan")
    press_enter(page)
    tab_to(page, "What is to be done, and why")
    page.keyboard.type("Boards run 2 mm long")
    tab_to(page, "Ask for the permit")
    press_enter(page)
    assert re.search(r"/permits/P-\d+/$", page.url)
    assert "Asked for. An issuer signs it out." in odo.text()


def tab_to(page, name: str) -> None:
    """Press Tab until the control with this name has the focus."""
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate(looking.IN_FOCUS) == name:
            return
    raise AssertionError(f"{name} cannot be reached with Tab")


def press_enter(page) -> None:
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_the_order_of_focus_is_the_order_on_the_page(odo):
    page = odo.open("/permits/P-1/sign-on/").page
    order = []
    for _ in range(12):
        page.keyboard.press("Tab")
        order.append(page.evaluate(looking.IN_FOCUS))
    assert order[:4] == ["To the content", "Permits", "Glare", "P-1"]
    assert order[4].startswith("Number on my padlock")
    assert order[5:8] == ["Someone else does this on my phone", "My padlock is on the box", "Back"]
    assert order[8].startswith("STOP")
    assert order[9] == "Start"


def test_what_is_wrong_leads_to_its_field(odo):
    page = odo.open("/permits/P-1/tell/").fill(whom="").send().page
    assert page.title().startswith("Not yet: ")
    assert page.get_attribute("#id_whom", "aria-invalid") == "true"
    described = page.get_attribute("#id_whom", "aria-describedby").split()
    assert "Nothing is written" in page.inner_text(f"#{described[-1]}")
    page.click(".error-summary a")
    assert page.evaluate("document.activeElement.id") == "id_whom"


def test_a_button_that_is_tapped_twice_sends_once(odo, people, plant):
    """The second tap is held back on the page; the key would make it count once anyway."""
    asked = odo.open("/permits/new/C1/?show=plan&zones=C1-INFEED").fill(reason="Tapped twice")
    sent = []
    asked.page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    with asked.page.expect_navigation():
        asked.page.dblclick(".action button.primary")
    asked.page.wait_for_load_state()
    assert len(sent) == 1
    assert odo.open("/board/").page.locator(".board-main a", has_text="Calibration").count() == 2


def test_going_back_after_sending_offers_a_new_form_and_what_was_done_is_not_done_again(odo, issuer):
    last = odo.open("/board/").page.locator(".board-main a").last.inner_text()
    reference = re.search(r"P-\d+", last).group(0)
    page = odo.open(f"/permits/{reference}/cancel/").fill(why="asked in error").send().page
    assert "Cancelled." in odo.text()
    page.go_back()
    page.wait_for_load_state()
    odo.fill(why="asked in error").send()
    assert f"There is no open permit {reference} at this site." in odo.text()


def test_the_board_keeps_itself_up_to_date_and_says_when_it_cannot(chromium, plant, odo):
    context = chromium.new_context(viewport=DESK, locale="en-GB", timezone_id="Europe/London")
    desk = context.new_page()
    desk.goto(plant[0] + "/sign-in/")
    desk.fill("[name=sign_in]", "maud")
    desk.fill("[name=password]", PASSWORD["maud"])
    desk.click("button[type=submit], input[type=submit]")
    desk.goto(plant[0] + "/board/")
    wire = Wire(desk)
    before = desk.locator(".board > li").count()
    desk.focus(".board-main a >> nth=0")
    held = desk.evaluate("document.activeElement.getAttribute('href')")
    desk.evaluate("window.standing = document.querySelector('h1')")
    odo.open("/permits/new/P1/?show=plan&zones=P1-BED").fill(reason="Oil leaks").send()
    desk.locator(".board > li").nth(before).wait_for()
    assert desk.evaluate("document.activeElement.getAttribute('href')") == held
    assert desk.evaluate("window.standing === document.querySelector('h1')")  # nothing else was exchanged
    wire.cut = True
    desk.wait_for_selector("text=/^Not live since \\d\\d:\\d\\d:\\d\\d: no answer from the server/")
    wire.cut = False
    desk.wait_for_selector(".lost:empty", state="attached")
    desk.wait_for_timeout(5_000)
    assert wire.unchanged >= 1
    context.clear_cookies()
    desk.wait_for_selector("text=you are signed out. Load the page again.")
    context.close()


class Wire:
    """Between a live page and its server: counts what goes by, and can be cut."""

    def __init__(self, page) -> None:
        self.cut = False
        self.unchanged = 0
        page.route("**/now/", self.carry)
        page.on("response", self.count)

    def count(self, response) -> None:
        self.unchanged += response.status == 304

    def carry(self, route) -> None:
        if self.cut:
            route.abort()
        else:
            route.continue_()


def test_the_issuer_signs_on_the_phone_and_the_pin_is_never_shown_again(issuer, odo):
    reference = re.search(r"P-\d+", odo.open("/permits/new/D1/?show=plan&zones=D1-BED").fill(
        reason="Spindle").send().page.url).group(0)  # fmt: skip
    page = issuer.open(f"/permits/{reference}/issue/").fill(pin=pin("szczesny"), holder="").send().page
    assert "No holder is chosen" in issuer.text()
    assert page.input_value("[name=pin]") == ""
    assert page.get_attribute("[name=pin]", "type") == "password"
    assert page.get_attribute("[name=pin]", "inputmode") == "numeric"


def test_a_holders_page_shows_what_another_does_without_a_reload(chromium, plant, people, odo):
    """Ελένη is inside under P-1; someone else stops her work, and her open page calls her out."""
    eleni = people["eleni"].open("/permits/P-1/")
    page = eleni.page
    page.evaluate("window.standing = document.querySelector('.mark')")
    page.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend', '<form><input id=typed></form>')"
    )
    page.fill("#typed", "half a sen")
    odo.open("/permits/P-1/stop/").fill(why="sparks under the roof")
    with odo.page.expect_navigation():
        odo.page.click(".action button.danger")
    page.wait_for_selector(".band >> text=Come out: stopped")
    assert page.is_visible(".told >> text=sparks under the roof")
    assert page.input_value("#typed") == "half a sen"  # what is being typed is never taken away
    page.fill("#typed", "")
    page.evaluate("document.activeElement.blur()")
    page.wait_for_selector("#typed", state="detached")
    assert page.is_visible(".danger >> text=sparks under the roof")
    assert page.evaluate("window.standing === document.querySelector('.mark')")
    assert eleni.no_sideways_scroll()
    eleni.open("/messages/")
    page.click("text=I have read this >> nth=0")
    page.wait_for_selector("h1 >> text=Messages")
    assert page.evaluate(looking.NAMELESS) == []
