"""Long pages that fold: an address unfolds what it leads to, paper has everything, gloves hit every fold."""

from itertools import pairwise

import pytest

from tests.browser import looking
from tests.browser.phone import DESK, PHONE

pytestmark = pytest.mark.browser

SMALL = {"width": 320, "height": 640}
FOLDED = ("/rules/", "/records/P-1/")
HEIGHT = "document.documentElement.scrollHeight"
IN_SIGHT = """(id) => {
  const e = document.getElementById(id);
  const { top, bottom } = e.getBoundingClientRect();
  return e.checkVisibility() && top < innerHeight && bottom > 0;
}"""
HIDDEN = """() => [...document.querySelectorAll('.fold-body')].filter((e) => !e.checkVisibility()).length"""
LOW = """() => [...document.querySelectorAll('summary, .contents a, .taps a')]
  .filter((e) => e.checkVisibility())
  .map((e) => [e.innerText, Math.round(e.getBoundingClientRect().height)])
  .filter(([, height]) => height < 48)"""


@pytest.fixture(scope="module")
def odo(people):
    return people["odo"]


@pytest.fixture
def unscripted(chromium, odo):
    """Odo's browser with scripts off."""
    context = chromium.new_context(
        viewport=PHONE, java_script_enabled=False, storage_state=odo.page.context.storage_state()
    )
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("path", FOLDED)
def test_a_long_page_is_a_few_screens_on_a_phone(odo, path):
    odo.page.set_viewport_size(PHONE)
    odo.open(path)
    assert odo.page.evaluate(HEIGHT) < 10 * PHONE["height"]
    odo.open(f"{path}?unfolded")
    assert odo.page.evaluate(HIDDEN) == 0


@pytest.mark.parametrize("query", ["", "?unfolded", "?text=padlock"])
@pytest.mark.parametrize("path", FOLDED)
def test_it_can_be_read_out_and_hit_on_the_smallest_phone(odo, path, query):
    page = odo.page
    page.set_viewport_size(SMALL)
    odo.open(path + query)
    assert odo.no_sideways_scroll()
    assert page.evaluate(looking.NAMELESS) == []
    assert page.evaluate(looking.LOST_IDS) == []
    assert page.evaluate(looking.DOUBLE_IDS) == []
    assert page.evaluate(LOW) == []
    levels = page.evaluate(looking.LEVELS)
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels)), levels
    page.set_viewport_size(PHONE)


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_an_address_unfolds_the_rule_and_pressing_it_again_does_so_again(odo, size):
    page = odo.page
    page.set_viewport_size(size)
    odo.open("/board/")
    odo.open("/rules/#not-justified")
    assert page.evaluate(IN_SIGHT, "not-justified")
    page.evaluate("document.querySelectorAll('details.fold').forEach((fold) => (fold.open = false))")
    assert not page.evaluate(IN_SIGHT, "not-justified")
    page.evaluate("""() => {
      const link = document.createElement("a");
      link.href = "#not-justified";
      link.textContent = "again";
      document.querySelector("h1").append(link);
      link.click();
    }""")
    assert page.evaluate(IN_SIGHT, "not-justified")
    page.set_viewport_size(PHONE)


def test_a_refusals_address_unfolds_its_rule_without_scripts_too(unscripted, plant):
    unscripted.goto(f"{plant[0]}/rules/#no-padlock")
    box = unscripted.locator("[id=no-padlock]").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < PHONE["height"]


def test_an_entry_is_reached_by_its_address(odo):
    odo.open("/records/P-1/?unfolded")
    entries = odo.page.evaluate("[...document.querySelectorAll('[id^=entry-]')].map((e) => e.id)")
    assert len(entries) == len(set(entries)) > 5
    odo.open("/board/")
    odo.open(f"/records/P-1/#{entries[-2]}")
    assert odo.page.evaluate(IN_SIGHT, entries[-2])


@pytest.mark.parametrize("path", FOLDED)
def test_paper_has_all_of_it(odo, unscripted, plant, path):
    """By the style sheet alone, so without scripts too; afterwards the page is folded as before."""
    odo.open("/board/")
    odo.open(path)
    before = odo.page.evaluate(HIDDEN)
    assert before > 10
    odo.page.emulate_media(media="print")
    assert odo.page.evaluate(HIDDEN) == 0
    odo.page.emulate_media(media="screen")
    assert odo.page.evaluate(HIDDEN) == before
    unscripted.goto(plant[0] + path)
    unscripted.emulate_media(media="print")
    last = unscripted.locator(".fold-body").last
    assert last.bounding_box()["height"] > 20
