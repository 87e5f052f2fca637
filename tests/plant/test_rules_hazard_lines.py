"""A site's own hazard lines and the limits of its tests: tightened as far as one likes, loosened never."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal
from math import ceil, log

import pytest
from hypothesis import given

from permits.plant.rules.difference import difference
from permits.plant.rules.energy import Node, Release, Test
from permits.plant.rules.plantfile import PlantFileErrors, as_dict, check, parse
from permits.plant.rules.stores import hazard
from permits.plant.rules.stores.hazard import PUBLISHED, Lines
from permits.plant.rules.stores.lines import LINES, lines_of
from permits.plant.rules.stores.numbers import numbers_of, wait_needed
from permits.plant.rules.stores.physics import stored_physics
from permits.plant.rules.testlimits import looser_than_published, looser_than_usual
from permits.plant.rules.validation import Concern, findings
from permits.plant.store import digest_of, graph_for
from tests.factories_plant import plants, small_plant, text_of

# name, published value, and the document; the marks in `sources.py` say how sure each is
DOCUMENTS = [
    ("shock_v", "100", "LBNL, ESM table 2.2.13"),
    ("shock_j", "10", "LBNL, ESM table 2.2.13"),
    ("reflex_v", "400", "DOE-HDBK-1092-2013"),  # from memory
    ("reflex_j", "0.25", "DOE-HDBK-1092-2013"),  # from memory
    ("heat_j", "100", "LBNL, ESM table 2.3.5"),
    ("gas_gauge_pa", "50000", "Pressure Systems Safety Regulations 2000 (UK), reg. 2"),  # second-hand
    ("burn_cooler_by_k", "0", "ISO 13732-1"),  # nothing is taken off its thresholds; from memory
]
PLATEN = {"kind": "hot", "temperature_c": "140", "ambient_c": "20", "time_constant_s": "3200"}


def wrong(plant: dict, **how) -> list[tuple[str, str, str]]:
    with pytest.raises(PlantFileErrors) as caught:
        check(plant, **how)
    return [(error.field, error.wrong, error.right) for error in caught.value.errors]


def with_lines(**lines: object) -> dict:
    return small_plant(hazard_lines=lines)


def plant_with_test(limit: str, unit: str = "V", **more: object) -> dict:
    node = {
        "id": "P",
        "kind": "isolator",
        "test": {"quantity": "reading", "unit": unit, "limit": limit},
    } | more
    return small_plant(nodes=[*small_plant()["nodes"], node])


# ---- each line


@pytest.mark.parametrize(("name", "value", "document"), DOCUMENTS)
def test_each_line_has_its_published_value_and_its_document(name, value, document):
    assert LINES[name].published == Decimal(value)
    assert document in str(LINES[name].source)
    assert LINES[name].meaning
    assert list(LINES) == [field.name for field in fields(Lines)]


@pytest.mark.parametrize(("name", "value", "document"), DOCUMENTS)
def test_a_looser_line_names_the_published_one_and_its_document(name, value, document):
    looser = "-0.5" if name == "burn_cooler_by_k" else str(Decimal(value) + Decimal("0.01"))
    [(field, said, right)] = wrong(with_lines(**{name: looser}))
    assert field == f"hazard_lines.{name}"
    assert f"looser than the published line of {value} {LINES[name].unit}" in said
    assert document in said
    assert "a line may be tightened, never loosened" in right
    assert wrong(with_lines(**{name: looser}), strict=False)  # however strict: it is about people's safety


@pytest.mark.parametrize("name", LINES)
def test_a_tighter_line_is_kept_exactly_and_one_as_published_is_none_of_the_site(name):
    tighter = "3.125" if name == "burn_cooler_by_k" else "0.125"
    plant = check(with_lines(**{name: tighter}))
    assert plant.hazard_lines == {name: Decimal(tighter)}
    assert as_dict(plant)["hazard_lines"] == {name: tighter}
    assert getattr(lines_of(plant.hazard_lines), name) == float(tighter)
    published = check(with_lines(**{name: str(LINES[name].published)}))
    assert "hazard_lines" not in as_dict(published)


def test_an_unknown_line_names_the_nearest_and_what_is_no_number_is_said():
    [(field, said, right)] = wrong(with_lines(shock_w="60"))
    assert (field, said) == ("hazard_lines.shock_w", "is no line")
    assert right.startswith("'shock_v', if that was meant, or one of shock_v, shock_j")
    [(field, said, right)] = wrong(with_lines(heat_j="fifty"))
    assert (field, said, right) == ("hazard_lines.heat_j", "is 'fifty'", "a number from 0 to 100 J")
    assert wrong(small_plant(hazard_lines=["shock_v"]))[0][0] == "hazard_lines"
    assert wrong(with_lines(shock_v="-1"))[0][2] == "a number from 0 to 100 V"
    assert wrong(with_lines(burn_cooler_by_k="41"))[0][2] == "a number from 0 to 40 K"
    with pytest.raises(PlantFileErrors, match="more than once"):
        parse(text_of(with_lines(shock_v="60")).replace('"shock_v"', '"shock_v": "50", "shock_v"'))


@given(plants())
def test_what_is_written_reads_back_the_same_and_changes_nothing(plant):
    read = check(plant)
    again = check(as_dict(read))
    assert again.hazard_lines == read.hazard_lines
    assert not difference(as_dict(read), as_dict(again))


def test_the_lines_are_part_of_what_the_plant_is():
    plain, drawn = as_dict(check(small_plant())), as_dict(check(with_lines(shock_v="60")))
    assert digest_of(plain) != digest_of(drawn)
    assert difference(plain, drawn).renamed
    assert graph_for(check(with_lines(shock_v="60"))).lines == replace(PUBLISHED, shock_v=60)
    assert graph_for(check(small_plant())).lines == PUBLISHED


# ---- what they change


def test_a_verdict_by_a_site_line_says_the_published_one():
    found = hazard.capacitor(80, 12, replace(PUBLISHED, shock_v=60))
    assert found.hazardous
    assert found.threshold == "60 V or more and 10 J or more"
    assert found.published == "100 V or more and 10 J or more"
    assert hazard.capacitor(80, 12).published == ""
    assert hazard.capacitor(120, 12, replace(PUBLISHED, heat_j=50)).published == ""  # another line
    assert hazard.capacitor(24, 1, replace(PUBLISHED, heat_j=50)).why.endswith("below every line of the site")
    gas = hazard.gas(40_000, 10, replace(PUBLISHED, gas_gauge_pa=30_000))
    assert (gas.threshold, gas.published) == ("more than 0.3 bar gauge", "more than 0.5 bar gauge")


def test_a_cooler_burn_line_lengthens_the_wait():
    node = Node("HOT", kind="store", physics=stored_physics(PLATEN))
    # Newton's law of cooling: t = tau ln((T0 - Ta) / (Ts - Ta)); Ts = 43 °C of ISO 13732-1, then 3 K less
    cooler = replace(PUBLISHED, burn_cooler_by_k=3)
    assert wait_needed(node) == ceil(3200 * log(120 / 23))
    assert wait_needed(node, cooler) == ceil(3200 * log(120 / 20))
    assert numbers_of(node, cooler).hazard_published.startswith("more than 43 °C")


def test_a_line_below_the_surroundings_never_shortens_the_wait():
    node = Node("HOT", kind="store", physics=stored_physics(PLATEN), release=Release("wait", 60))
    cold = replace(PUBLISHED, burn_cooler_by_k=30)  # 13 °C, where it is 20 °C around
    assert numbers_of(node, cold).wait_s is None
    assert wait_needed(node, cold) == wait_needed(node) == ceil(3200 * log(120 / 23))


# ---- what a test may pass


@pytest.mark.parametrize(
    ("limit", "unit", "more"),
    [
        # IEC 60204-1, 6.2.4 (second-hand): 60 V is the looser of the two published lines
        ("60.1", "V", {}),
        ("0.061", "kV", {"medium": "electrical"}),
        ("61", "V", {"kind": "store", "physics": {"kind": "capacitor", "capacitance_f": 1, "voltage_v": 70}}),
        # ISO 13732-1 (from memory): 43 °C for hands on it all shift, 55 °C for 10 s
        ("44", "°C", {"kind": "store", "physics": PLATEN}),
        ("56", "°C", {"kind": "store", "physics": PLATEN | {"contact_s": 10}}),
    ],
)
def test_a_test_that_passes_more_than_the_published_limit_is_refused(limit, unit, more):
    [(field, said, right)] = wrong(plant_with_test(limit, unit, **more))
    assert field == "test.limit"
    assert said.startswith(f"is {limit} {unit}, looser than the published limit of ")
    assert "or less: a limit may be tightened, never loosened" in right


@pytest.mark.parametrize(
    ("limit", "unit", "more"),
    [
        ("50", "V", {}),
        ("60", "V", {}),
        ("0.05", "kV", {}),
        ("12", "V", {"medium": "electrical"}),
        ("60", "V", {"medium": "chemical"}),  # a voltage that stands for something else
        ("43", "°C", {"kind": "store", "physics": PLATEN}),
        ("55", "°C", {"kind": "store", "physics": PLATEN | {"contact_s": 10}}),
        ("700", "bar", {}),  # no published limit is known: the point's own test states it
    ],
)
def test_a_test_at_the_published_limit_or_with_none_known_is_right(limit, unit, more):
    assert looser_than_published(check(plant_with_test(limit, unit, **more)).graph["P"]) is None


@pytest.mark.parametrize(
    ("limit", "unit", "medium", "found"),
    [
        ("5", "rpm", "rotating", True),  # standstill is seen or read as 0: common practice
        ("0", "rpm", "rotating", False),
        ("55", "°C", "thermal", True),
        ("43", "°C", "thermal", False),
    ],
)
def test_what_is_only_usual_is_a_finding_and_no_error(limit, unit, medium, found):
    graph = check(plant_with_test(limit, unit, kind="store", medium=medium)).graph
    loose = [one.id for one in findings(graph) if one.concern is Concern.LOOSE_TEST]
    assert loose == (["P"] if found else [])


def test_a_bare_graph_is_read_all_the_same():
    assert check(plant_with_test("60"), strict=False).graph["P"].test.limit == 60


def test_a_voltage_between_the_two_published_lines_is_worth_a_look():
    """50 V (29 CFR 1910.333(a)(1)) and 60 V (IEC 60204-1, 6.2.4); both second-hand."""
    node = Node("P", kind="isolator", test=Test("voltage", "V", Decimal(60)))
    assert looser_than_published(node) is None
    assert str(looser_than_usual(node)).startswith("50 V (29 CFR 1910.333(a)(1)")
