"""The big keys in a real browser: what a glove presses is what stands in the field; no key is too small."""

import os
import shutil
from pathlib import Path

import pytest
from crispy_forms.utils import render_crispy_form
from django.template.loader import render_to_string

from permits.calibration.forms import PieceForm
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.policy import Policy
from permits.calibration.views.jobs import SIXTEENTHS

pytestmark = pytest.mark.browser

STATIC = Path(__file__).parent.parent.parent / "permits" / "static"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]


@pytest.fixture(scope="module")
def phones():
    """A phone's page with scripts and one without, used again by each test."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        if os.environ.get("PERMITS_REQUIRE_ALL") == "1":
            pytest.fail("Chromium is not installed and PERMITS_REQUIRE_ALL=1 forbids to skip.")
        pytest.skip("Chromium is not installed: the browser tests were NOT run.")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as running:
        browser = running.chromium.launch(executable_path=path, args=FLAGS)
        size = {"width": 390, "height": 844}
        yield {
            scripts: browser.new_context(viewport=size, java_script_enabled=scripts).new_page()
            for scripts in (True, False)
        }
        browser.close()


class Keys:
    """A page with the form of a piece and its keys, as a phone shows it."""

    def __init__(self, page, unit: Unit, *, finest=64, step="0.05", nominal="", scripts=True, whole=False):
        form = PieceForm(unit=unit, initial={"work": 1, "nominal": nominal})
        keys = render_to_string(
            "calibration/_keys.html",
            {
                "unit": unit, "policy": Policy(finest=finest), "step": step, "sixteenths": SIXTEENTHS,
                "form": "f",
            },
        )  # fmt: skip
        pair = f'<div class="pair">{form["nominal"]}{form["measured"]}</div>'
        if whole:
            pair = render_crispy_form(form)
        sheets = "".join((STATIC / sheet).read_text() for sheet in ("app.css", "form.css", "calibration.css"))
        self.page = page
        page.set_content(
            f'<html class="phone"><head><style>{sheets}</style></head>'
            f'<body><main><form id="f" method="post">{pair}</form>{keys}</main></body></html>'
        )
        if scripts:
            page.add_script_tag(content=(STATIC / "js" / "keys.js").read_text())

    def press(self, *keys: str) -> "Keys":
        """Digits, a point, fractions by themselves; "back", "nominal", "next"; steps as "+1/64", "-0.05"."""
        for key in keys:
            if key in ("back", "nominal", "next", "keyboard"):
                found = f'[data-do="{key}"]'
            elif key[0] in "+-":
                found = f'[data-nudge="{key.removeprefix("+")}"]'
            else:
                found = f'[data-fraction="{key}"]' if "/" in key else f'[data-key="{key}"]'
            self.page.click(f".keys {found}")
        return self

    @property
    def nominal(self) -> str:
        return self.page.input_value("[name=nominal]")

    def of(self, name: str) -> str:
        return self.page.input_value(f"[name={name}]")

    @property
    def measured(self) -> str:
        return self.page.input_value("[name=measured]")


@pytest.fixture
def keys(phones):
    return lambda unit, **more: Keys(phones[more.get("scripts", True)], unit, **more)


def test_a_fraction_follows_the_whole_number(keys):
    found = keys(Unit.INCH).press("9", "2", "5/8")
    assert found.nominal == "92 5/8"  # the empty nominal is asked for first
    assert found.press("3/16").nominal == "92 3/16"
    assert found.press("back").nominal == "92"
    assert found.press("back").nominal == "9"


def test_a_digit_after_a_fraction_begins_anew(keys):
    assert keys(Unit.INCH).press("9", "2", "5/8", "7").nominal == "7"


def test_a_fraction_alone(keys):
    assert keys(Unit.INCH, nominal="5/8").press("7/16").measured == "7/16"


@pytest.mark.parametrize(
    ("nominal", "steps", "expected"),
    [
        ("92 5/8", ["+1/64"], "92 41/64"),
        ("92 5/8", ["-1/64", "-1/64"], "92 19/32"),
        ("92 63/64", ["+1/64"], "93"),
        ("93", ["-1/64"], "92 63/64"),
        ("1/64", ["-1/64"], "0"),
        ("0", ["-1/64"], "0"),
        ("92.5", ["+1/64"], "92.5"),
    ],
)
def test_steps_of_a_64th_carry_and_stay_in_lowest_terms(keys, nominal, steps, expected):
    assert keys(Unit.INCH, nominal=nominal).press("nominal", *steps).measured == expected


def test_steps_follow_the_sites_finest_fraction(keys):
    assert keys(Unit.INCH, nominal="92", finest=32).press("nominal", "+1/32").measured == "92 1/32"
    assert keys(Unit.INCH, finest=16).page.locator("[data-nudge]").count() == 0


@pytest.mark.parametrize(
    ("nominal", "step", "steps", "expected"),
    [
        ("1200", "0.05", 3, "1200.15"),
        ("1200", "0.05", -1, "1199.95"),
        ("0.1", "0.2", 1, "0.3"),  # not 0.30000000000000004
        ("1199.9", "0.1", 1, "1200.0"),
        ("0", "0.05", -1, "0"),
    ],
)
def test_decimal_steps_are_exact(keys, nominal, step, steps, expected):
    found = keys(Unit.MM, nominal=nominal, step=step).press("nominal")
    found.press(*[("+" if steps > 0 else "-") + step] * abs(steps))
    assert found.measured == expected


def test_the_first_digit_replaces_what_was_filled_in(keys):
    found = keys(Unit.MM, nominal="1200").press("1", "2", "0", "1", ".", "5", ".")
    assert (found.nominal, found.measured) == ("1200", "1201.5")
    assert found.press("next", "9").nominal == "9"


def test_a_point_alone_begins_with_zero(keys):
    assert keys(Unit.DEGREE, nominal="45").press(".", "5").measured == "0.5"


@pytest.mark.parametrize("unit", [Unit.MM, Unit.INCH])
def test_every_key_is_a_glove_wide_and_nothing_scrolls_sideways(keys, unit):
    """Keys of 56 px (style, "The look"); WCAG 2.2 SC 2.5.8 asks for 24."""
    found = keys(unit).page
    small = found.evaluate(
        "[...document.querySelectorAll('.keys > button:not(.all)')]"
        ".filter(e => e.getBoundingClientRect().height < 56 || e.scrollWidth > e.clientWidth)"
        ".map(e => e.textContent)"
    )
    assert small == []
    assert found.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_phones_own_keyboard_stays_away_until_it_is_asked_for(keys):
    found = keys(Unit.MM)
    modes = "[...document.querySelectorAll('#f input[type=text]')].map(e => e.inputMode)"
    assert found.page.evaluate(modes) == ["none", "none"]
    found.press("keyboard")
    assert found.page.evaluate(modes) == ["decimal", "decimal"]
    assert found.page.get_attribute("[data-do=keyboard]", "aria-pressed") == "true"


def test_without_scripts_the_keys_are_not_there_and_the_fields_are_typed_into(keys):
    found = keys(Unit.INCH, scripts=False).page
    assert not found.locator(".keys").is_visible()
    found.fill("[name=measured]", "92 5/8")
    assert found.input_value("[name=measured]") == "92 5/8"


# ── several pieces ──────────────────────────────────────────────────────────────────────────────────────


def test_next_goes_from_piece_to_piece_and_past_what_is_folded_away(keys):
    found = keys(Unit.MM, nominal="1200", whole=True).press("1", "next", "2", "next", "3", "next", "4")
    assert found.nominal == "3"  # only the first line's nominal is on the way
    assert (found.measured, found.of("measured-2")) == ("14", "2")
    found.page.click("text=Add a piece")
    found.press("next", "next", "5", "nominal")
    assert found.of("measured-3") == "3"  # as nominal: of the line, else of the one above
    assert found.of("nominal-3") == ""


def test_a_piece_of_another_size_has_a_nominal_of_its_own(keys):
    found = keys(Unit.MM, nominal="1200", whole=True).press("1", "2", "0", "1")
    found.page.focus("[name=nominal-2]")
    found.press("6", "0", "0", "nominal", "+0.05")
    assert (found.of("nominal-2"), found.of("measured-2")) == ("600", "600.05")
    assert found.measured == "1201"


def test_pieces_unfold_one_by_one(keys):
    found = keys(Unit.MM, nominal="1200", whole=True)
    shown = "summary:visible"
    for n in range(3, 7):
        assert found.page.locator(shown).count() == 1
        assert not found.page.locator(f"[name=measured-{n}]").is_visible()
        found.page.click(shown)
        assert found.page.locator(f"[name=measured-{n}]").is_visible()
    assert not found.page.locator(shown).count()  # six at once; more go on the next form
