"""Charts of an axis over time, against limits computed by hand; drawn as SVG that is safe, and for paper."""

import io
import re
from datetime import date, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from reportlab.pdfgen.canvas import Canvas

from permits.calibration import actions, charts
from permits.calibration.queries import history
from permits.calibration.rules.job import Stage
from permits.calibration.rules.lengths import from_record
from tests.calibration.ground import RIGHT, TOO_LONG, axis, officer

pytestmark = pytest.mark.django_db

# By hand: x̄ = 0.3; moving ranges 0.2 0.3 0.4, MR̄ = 0.3; limits 0.3 ± 3 × 0.3/1.128 = 0.3 ± 0.797872;
# upper limit of the ranges 3.267 × 0.3 = 0.9801 (constants for ranges of two: d₂ = 1.128, D₄ = 3.267).
FOUND = ("0.2", "0.4", "0.1", "0.5")
CENTRE, LOWER, UPPER, RANGE_UPPER = 0.3, -0.497872, 1.097872, 0.9801


def enter(quillfen, *values: str, left: dict[int, str] | None = None) -> None:
    today = quillfen.day_of(quillfen.head.last_at)
    for at, value in enumerate(values):
        after = (left or {}).get(at)
        actions.enter_earlier(
            axis=axis("length-1"), on=today - timedelta(days=400 - 30 * at),
            as_found=from_record(f"{value} mm"), source="Book 3", who=officer(quillfen),
            as_left=from_record(f"{after} mm") if after else None,
        )  # fmt: skip


@pytest.fixture
def four(quillfen, cell):
    enter(quillfen, *FOUND)
    return history(axis("length-1"))


def test_limits_as_computed_by_hand(four):
    chart = four.found.chart
    assert float(chart.centre) == pytest.approx(CENTRE)
    assert float(chart.lower) == pytest.approx(LOWER, abs=1e-6)
    assert float(chart.upper) == pytest.approx(UPPER, abs=1e-6)
    assert float(chart.range_upper) == pytest.approx(RANGE_UPPER)
    assert four.provisional  # common practice: fewer than twenty


def test_as_left_is_as_found_where_nothing_was_adjusted(quillfen, cell):
    enter(quillfen, *FOUND, left={1: "0.05"})
    found = history(axis("length-1"))
    assert [float(value) for value in found.left.values] == [0.2, 0.05, 0.1, 0.5]
    assert [line.left for line in found.visits] == ["", "+0.05 mm", "", ""]


def test_our_own_visits_stand_beside_those_from_paper(bench, quillfen):
    enter(quillfen, *FOUND)
    bench.opened().readings(*TOO_LONG).change().readings(*RIGHT).judge().end_axis()
    last = history(axis("length-1")).visits[-1]
    assert (last.found, last.left, last.decision, last.permit) == ("+2 mm", "0 mm", "adjust", bench.permit)
    assert (last.source, last.adjusted, last.override) == ("", True, False)


def test_an_axis_still_at_work_is_no_visit_yet(bench):
    bench.opened().readings(*RIGHT)
    assert history(axis("length-1")).visits == []


def test_an_axis_given_up_without_a_reading_is_no_visit(bench):
    bench.opened().end_axis(abandon=True)
    assert history(axis("length-1")).visits == []


def test_a_visit_that_was_adjusted_against_the_readings_says_so(bench):
    bench.opened().readings(*RIGHT).change(reason="tighter").readings(*RIGHT).judge().end_axis()
    found = history(axis("length-1"))
    assert found.visits[0].override
    assert "1 of them for nothing" in found.adjustments


def test_fewer_than_two_visits_have_no_chart(quillfen, cell):
    enter(quillfen, "0.2")
    found = history(axis("length-1"))
    assert found.found.chart is None
    assert charts.figures(found) == []
    assert charts.drawing(axis("length-1")) is None


def test_the_history_costs_the_same_with_many_visits(bench, quillfen, django_assert_max_num_queries):
    enter(quillfen, *FOUND)
    bench.opened()
    for _ in range(3):
        bench.readings(*RIGHT).end_axis().take_up()
    bench.end_axis(abandon=True)
    row = axis("length-1")
    with django_assert_max_num_queries(9):
        assert len(history(row).visits) == 7


# ── the drawing ─────────────────────────────────────────────────────────────────────────────────────────


def lines(svg: str, ink: str) -> list[list[tuple[float, float]]]:
    found = re.findall(rf'<polyline class="ch-{ink}" points="([^"]+)"', svg)
    return [[tuple(map(float, place.split(","))) for place in one.split()] for one in found]


def value_at(svg: str, y: float) -> float:
    """The value that a height of the upper plot stands for, read off its own ticks like a person would."""
    ticks = [
        (float(tick_y) - 4.5, float(text))
        for tick_y, text in re.findall(r'<text class="ch-words" x="[\d.]+" y="([\d.]+)" font-size="13" '
                                       r'text-anchor="end">(-?[\d.]+)</text>', svg)
        if float(tick_y) < 225
    ]  # fmt: skip
    (y0, v0), (y1, v1) = ticks[0], ticks[-1]
    return v0 + (y - y0) * (v1 - v0) / (y1 - y0)


def test_lines_stand_where_the_numbers_say(four):
    svg = charts.figures(four)[0].wide
    mean, _ = lines(svg, "mean")
    limits = sorted(value_at(svg, one[0][1]) for one in lines(svg, "limit") if one[0][1] < 225)
    assert value_at(svg, mean[0][1]) == pytest.approx(CENTRE, abs=0.01)
    assert limits == pytest.approx([LOWER, UPPER], abs=0.01)
    tolerance = sorted(value_at(svg, one[0][1]) for one in lines(svg, "tolerance"))
    assert tolerance == pytest.approx([-0.5, 0.5], abs=0.01)
    values = lines(svg, "values")[0]
    assert [value_at(svg, y) for _, y in values] == pytest.approx([0.2, 0.4, 0.1, 0.5], abs=0.01)


def test_the_drawing_says_in_words_what_it_shows(four):
    for figure in charts.figures(four):
        for svg in (figure.wide, figure.narrow):
            root = ElementTree.fromstring(svg)
            space = "{http://www.w3.org/2000/svg}"
            title, description = root.find(f"{space}title"), root.find(f"{space}desc")
            assert root.get("role") == "img"
            assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
            assert title.text.startswith("Length, short system, as ")
            assert "4 visits from " in description.text
            assert "limits -0.4979 mm to +1.098 mm, tolerance ±0.5 mm" in description.text
            assert root.findall(f".//{space}text")  # words stay words


def test_nothing_in_the_drawing_needs_a_style_or_a_script(four):
    """The site's policy allows only our own files: no style attribute, no script, nothing fetched."""
    for figure in charts.figures(four):
        assert not re.search(r"style=|<script|<style|href|onload|url\(", figure.wide + figure.narrow)


def test_a_name_with_markup_in_it_stays_a_name(quillfen, cell):
    from permits.calibration import models as rows

    enter(quillfen, *FOUND)
    rows.Axis.objects.filter(code="length-1").update(name="<b>Länge</b> & Höhe")
    svg = charts.figures(history(axis("length-1")))[0].wide
    assert "&lt;b&gt;Länge&lt;/b&gt; &amp; Höhe" in svg
    ElementTree.fromstring(svg)


def test_a_value_at_which_a_rule_speaks_has_a_ring_and_a_sentence(quillfen, cell):
    enter(quillfen, *["0.1", "0.12"] * 5, "0.9")
    figure = charts.figures(history(axis("length-1")))[0]
    assert (
        figure.wide.count('class="ch-ring"') == 3
    )  # the run of ten below the mean, the value, the step to it
    assert any("lies beyond the limits" in words for words in figure.signals)


def test_results_from_paper_have_an_open_dot(bench, quillfen):
    enter(quillfen, *FOUND)
    bench.opened().readings(*RIGHT).end_axis()
    svg = charts.figures(history(axis("length-1")))[0].narrow
    assert svg.count('class="ch-hollow"') == 4 + 3  # values and steps
    assert svg.count('class="ch-dot"') == 2


@pytest.mark.parametrize("values", [("0", "0"), ("0.1", "0.1", "0.1"), ("-3", "4"), ("0.0001", "0.0002")])
def test_whatever_the_values_it_can_be_drawn(quillfen, cell, values):
    enter(quillfen, *values)
    for figure in charts.figures(history(axis("length-1"))):
        numbers = re.findall(r'(?:points|cx|cy|x|y)="([^"]+)"', figure.wide)
        assert not any("nan" in one or "inf" in one for one in numbers)
        ElementTree.fromstring(figure.narrow)


def test_no_two_dates_touch(quillfen, cell):
    enter(quillfen, *["0.1", "0.2"] * 6)
    svg = charts.figures(history(axis("length-1")))[0].narrow
    xs = sorted(float(x) for x in re.findall(r'<text class="ch-words" x="([\d.]+)"[^>]+anchor="middle"', svg))
    assert len(xs) >= 2
    assert min(after - before for before, after in pairwise(xs)) >= 70


def test_it_is_drawn_for_paper(four):
    pypdf = pytest.importorskip("pypdf")
    made = charts.drawing(four, stage=Stage.AS_LEFT, width=400)
    file = io.BytesIO()
    canvas = Canvas(file)
    made.wrapOn(canvas, 400, 800)
    made.drawOn(canvas, 50, 300)
    canvas.save()
    text = pypdf.PdfReader(io.BytesIO(file.getvalue())).pages[0].extract_text()
    for words in ("Deviation at each visit, mm", "tolerance", "limit", "mean"):
        assert words in text
    assert made.width == 400


def test_the_words_about_a_drift_depend_on_the_day_it_is_read(quillfen, cell):
    enter(quillfen, "0.1", "0.2", "0.3")
    late = history(axis("length-1"), today=date(2099, 1, 1)).drift_words
    assert late[-1].startswith("That day is past")
