"""The sample page in a real browser: it fits, gloves can hit it, the switch stays, time runs."""

import os

import pytest
from django.test import override_settings

from tests.look import sample
from tests.look.serving import CHROMIUM, FLAGS, serving

pytestmark = pytest.mark.browser

NEEDED = "Chromium is not on the path (Debian: apt-get install chromium)"


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    if not CHROMIUM:
        if os.environ.get("PERMITS_REQUIRE_ALL") == "1":
            pytest.fail(NEEDED)
        pytest.skip(NEEDED)
    with override_settings(ROOT_URLCONF=sample.Routes), serving(tmp_path_factory.mktemp("look")) as where:
        yield where


@pytest.fixture(scope="module")
def browser(address):
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def opened(browser, address):
    """opened("base.html", 390) opens a page of that width; a script that fails fails the test."""
    pages, wrong = [], []

    def go(name: str, width: int, **options):
        context = browser.new_context(viewport={"width": width, "height": 844}, **options)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(f"{address}/{name}")
        pages.append(context)
        return page

    yield go
    for context in pages:
        context.close()
    assert wrong == []


@pytest.mark.parametrize("width", [320, 390, 844])
@pytest.mark.parametrize("name", ["base.html", "base_phone.html"])
def test_nothing_scrolls_sideways(opened, name: str, width: int) -> None:
    """WCAG 2.2 SC 1.4.10: content reflows at 320 CSS px."""
    page = opened(name, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", ["base.html", "base_phone.html"])
def test_text_spacing_loses_nothing(opened, name: str) -> None:
    """WCAG 2.2 SC 1.4.12: line height 1.5, letters 0.12 em, words 0.16 em apart."""
    page = opened(name, 390)
    wide = "line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important"
    page.add_style_tag(content=f"* {{ {wide} }}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    cut = page.evaluate(
        "[...document.querySelectorAll('.button, .state-word, .band-word, label')].filter("
        "  e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline'"
        ").map(e => e.textContent)"
    )
    assert cut == []


def test_what_a_thumb_presses_is_56_px_high_on_a_phone(opened) -> None:
    page = opened("base_phone.html", 390)
    low = page.evaluate(
        "[...document.querySelectorAll('main .button, .action .button, .option, .rows a, .field select, "
        "  .field input:not([type=radio], [type=checkbox], [type=hidden])')]"
        ".filter(e => e.getBoundingClientRect().height < 56).map(e => e.outerHTML)"
    )
    assert low == []


def test_the_action_stays_where_a_thumb_reaches_and_hides_nothing_in_focus(opened) -> None:
    """WCAG 2.2 SC 2.4.11: what has the focus is not entirely hidden by what is pinned."""
    page = opened("base_phone.html", 390)
    box = page.locator(".action").bounding_box()
    assert box["y"] + box["height"] == pytest.approx(844, abs=1)
    for field in ("#id_name", "#id_lock_number", "#id_reason", "#id_pin"):
        page.locator(field).evaluate("e => e.focus()")
        top = page.locator(".action").bounding_box()["y"]
        assert page.locator(field).bounding_box()["y"] < top


def test_on_a_short_page_too_the_action_is_at_the_bottom_of_the_screen(opened) -> None:
    page = opened("base_phone.html", 390)
    page.evaluate("document.querySelector('main').replaceChildren()")
    box = page.locator(".action").bounding_box()
    assert box["y"] + box["height"] == pytest.approx(844, abs=1)


def test_maximum_contrast_is_chosen_once_and_stays(opened) -> None:
    page = opened("base_phone.html", 390, color_scheme="dark")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(ground) == "rgb(14, 16, 18)"
    switch = page.get_by_role("button", name="Glare")
    switch.click()
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    assert switch.get_attribute("aria-pressed") == "true"
    page.goto(page.url.replace("base_phone", "base"))
    assert page.evaluate("document.documentElement.dataset.contrast") == "max"
    page.get_by_role("button", name="Glare").click()
    page.reload()
    assert page.evaluate(ground) == "rgb(14, 16, 18)"


def test_without_scripts_the_page_says_the_time_and_offers_no_dead_switch(opened) -> None:
    page = opened("base_phone.html", 390, java_script_enabled=False)
    assert page.locator(".countdown-left").inner_text() == "09:35"
    assert not page.get_by_role("button", name="Glare").is_visible()


def test_time_runs_by_the_servers_clock_and_its_end_is_announced(opened) -> None:
    page = opened("base_phone.html", 390)
    left = page.locator("[data-countdown-left]")
    assert left.inner_text() in {"4:12", "4:11", "4:10", "4:09"}
    page.evaluate(
        "() => { const box = document.querySelector('[data-countdown-until]');"
        " box.dataset.countdownUntil = new Date(Date.parse(box.dataset.countdownNow) + 100).toISOString(); }"
    )
    page.wait_for_selector("[data-countdown-over]")
    assert left.inner_text() == "0:00"
    assert page.locator("[data-countdown-end]").get_attribute("role") == "alert"


def test_a_form_is_sent_once_and_says_so(opened) -> None:
    page = opened("base_phone.html", 390)
    sent: list[str] = []

    def swallow(route) -> None:
        if route.request.method == "POST":
            sent.append(route.request.url)
            route.fulfill(status=204)  # the page stays as it is
        else:
            route.continue_()

    page.route("**/*", swallow)
    page.evaluate(
        "() => { const form = document.querySelector('#point-form');"
        " form.requestSubmit(); form.requestSubmit(); }"
    )
    page.get_by_text("Sending…").wait_for()
    page.wait_for_timeout(200)
    assert len(sent) == 1


def test_the_keyboard_reaches_the_content_first(opened) -> None:
    page = opened("base.html", 1280)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    assert page.locator(".skip").bounding_box()["y"] >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#main"


@pytest.mark.parametrize("drawn", ["state", "glyph", "band"])
def test_states_differ_in_shape_when_their_colour_is_gone(opened, drawn: str) -> None:
    """WCAG 2.2 SC 1.4.1: on paper all states are black, and with the same word no two look alike."""
    page = opened("base.html", 1280)
    page.emulate_media(media="print")
    inside = {
        "state": '<span class="state-word">Word</span>',
        "glyph": "<i>&nbsp;</i>",
        "band": '<p class="band-line"><span class="band-word">Word</span></p>',
    }
    page.set_content(
        page.content().split("<body>")[0]
        + "".join(
            f'<div class="{drawn}" data-state="{s}">{inside[drawn]}</div><hr>' for s, _ in sample.STATES
        )
    )
    shapes = {state: page.locator(f'[data-state="{state}"]') for state, _ in sample.STATES}
    if drawn == "glyph":
        assert not shapes.pop("info").is_visible()
    seen = {state: shape.screenshot() for state, shape in shapes.items()}
    assert len(set(seen.values())) == len(seen)


def test_paper_is_black_and_white(opened) -> None:
    page = opened("base.html", 1280, color_scheme="dark")
    page.emulate_media(media="print")
    seen = page.evaluate(
        "[...document.querySelectorAll('main *, .foot *')].flatMap(e => { const s = getComputedStyle(e);"
        " return s.display === 'none' ? [] : [s.color, s.backgroundColor]; })"
    )
    assert set(seen) <= {"rgb(0, 0, 0)", "rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"}
    assert not page.locator(".nav").is_visible()
    assert page.get_by_text("never an interlock").is_visible()
