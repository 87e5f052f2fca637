"""Where the legend of an energy picture stands: in sight on a screen, in the picture itself on paper."""

from __future__ import annotations

from xml.etree import ElementTree

from permits.plant.picture import Form, picture, svg
from permits.plant.picture.drawing import Drawing
from tests.plant.test_picture import QUILLFEN, ZONES


def legend_words(drawing: Drawing) -> set[str]:
    assert drawing.legend is not None
    return {group.title for group in drawing.legend.groups}


def test_the_legend_stands_outside_what_is_scrolled() -> None:
    wide, tall = (picture(QUILLFEN, zones=ZONES, form=form) for form in (Form.WIDE, Form.TALL))
    figure = ElementTree.fromstring(svg.figure(wide, tall))
    above, scrolled, folded, upright = list(figure)
    assert (above.get("class"), scrolled.get("class")) == ("ep-legend ep-wide", "ep-scroll")
    assert (folded.tag, folded.get("class")) == ("details", "ep-legend ep-tall")
    assert upright.get("class") == "ep ep-tall"
    for shown, drawing in ((above, wide), (folded, tall)):
        said = " ".join(text for text in shown.itertext())
        assert {"live", "isolator, not locked"} <= legend_words(drawing)
        assert "isolator, not locked" in said
        assert "isolator, not locked" not in {group.title for group in drawing.groups}
    assert wide.legend is not None
    assert wide.legend.width <= 1136  # what a desk page has room for
    assert tall.legend is not None
    assert tall.legend.width == 358


def test_on_paper_the_legend_is_in_the_picture() -> None:
    drawing = picture(QUILLFEN, zones=ZONES, form=Form.PAGE)
    assert drawing.legend is None
    assert "isolator, not locked" in {group.title for group in drawing.groups}
