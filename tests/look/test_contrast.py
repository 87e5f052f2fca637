"""Text is read at 7:1 in every theme, states and controls are seen at 3:1; sizes and spacing are ours."""

import re

import pytest

from tests.look.tokens import CSS, THEMES, contrast, themes

FOUND = themes(CSS.read_text())

# WCAG 2.2 SC 1.4.6: 7:1 for text of any size.
TEXT = [
    *((ink, ground) for ink in ("ink", "ink-2", "act", "act-down") for ground in ("paper", "sheet")),
    *(("ink", f"{state}-tint") for state in ("unsafe", "amber", "proven", "over")),
    ("on-act", "act"),
    ("on-act", "act-down"),
    ("on-live", "live-fill"),
    ("on-unsafe", "unsafe-fill"),
    ("on-amber", "amber-fill"),
    ("on-proven", "proven-fill"),
    ("unsafe", "paper"),
]
# WCAG 2.2 SC 1.4.11: 3:1 for what draws a state or a control.
DRAWN = [
    *((line, "paper") for line in ("live", "unsafe", "amber", "proven", "over", "rule-2", "act", "focus")),
    ("rule-2", "sheet"),
    ("amber", "amber-tint"),
    ("proven", "proven-tint"),
    ("unsafe", "unsafe-tint"),
    ("focus", "sheet"),
]


@pytest.mark.parametrize(
    ("colour", "ratio"), [("#777777", 4.478), ("#767676", 4.542), ("#959595", 2.995), ("#ff0000", 3.998)]
)
def test_the_ratio_is_that_of_wcag(colour: str, ratio: float) -> None:
    """Values on white that WCAG's formula gives to three places, as common contrast tables list them."""
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=0.001)


def test_black_on_white_is_the_end_of_the_scale() -> None:
    """WCAG 2.2: the ratio ranges from 1 to 21."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#123456", "#123456") == 1


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("ink", "ground"), TEXT)
def test_text_reads(theme: str, ink: str, ground: str) -> None:
    tokens = FOUND[theme]
    assert contrast(tokens[ink], tokens[ground]) >= 7


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("line", "ground"), DRAWN)
def test_states_and_controls_are_seen(theme: str, line: str, ground: str) -> None:
    tokens = FOUND[theme]
    assert contrast(tokens[line], tokens[ground]) >= 3


def test_maximum_contrast_has_no_second_rank() -> None:
    tokens = FOUND["maximum"]
    assert tokens["ink"] == tokens["ink-2"] == tokens["rule"] == "#000000"
    assert tokens["paper"] == tokens["sheet"] == "#ffffff"


def test_hands_have_two_sizes_and_desks_three() -> None:
    css = CSS.read_text()
    hands, desk = (
        {float(size) * 16 for size in re.findall(r"--(?:text|lead|head): ([\d.]+)rem", block)}
        for block in re.findall(r"\{([^{}]*--head:[^{}]*)\}", css)
    )
    assert hands == {18, 24}
    assert desk == {15, 18, 24}


def test_spacing_goes_in_steps_of_four() -> None:
    steps = re.findall(r"--s(\d+): (\d+)px", CSS.read_text())
    assert steps
    assert all(int(pixels) == 4 * int(step) for step, pixels in steps)
