"""The energy picture: what it shows is what the graph says, in any form, at any size, and safe to embed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import networkx
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from permits.plant.picture import Facts, Form, PadlockLabel, as_text, ladder, pdf, picture, svg
from permits.plant.picture.drawing import Box, Dot, Drawing, Ink, Line, Mark, Shape, Words
from permits.plant.picture.folding import without_chains, without_the_far
from permits.plant.picture.scene import Flow, Scene, scene
from permits.plant.picture.standing import State, states_of
from permits.plant.prints import fonts, page
from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.exposure import witness
from permits.plant.rules.plan import Plan, plan
from permits.plant.rules.plantfile import parse

QUILLFEN = parse(Path("fixtures/quillfen.json").read_text()).graph
ZONES = ("C1-CHAMBER", "C1-OUTFEED", "C1-INFEED")
CLASSES = Path("permits/static/picture.css").read_text()

# Two supplies meet on one board; a saw behind it, with a capacitor, and a fan that carries nothing dangerous.
SAW = Graph.of(
    [
        Node("S1", Kind.SUPPLY, "Feeder one"),
        Node("S2", Kind.SUPPLY, "Feeder two"),
        Node("Q1", Kind.ISOLATOR, "Switch one"),
        Node("Q2", Kind.ISOLATOR, "Switch two"),
        Node("B", Kind.CARRIER, "Board"),
        Node("D", Kind.CARRIER, "Drive"),
        Node("C", Kind.STORE, "Capacitor"),
        Node("M", Kind.CARRIER, "Motor"),
        Node("Z", Kind.ZONE, "Saw chamber"),
    ],
    [
        Link(*ends)
        for ends in ("S1 Q1", "S2 Q2", "Q1 B", "Q2 B", "B D", "D C", "C M", "M Z")
        for ends in (ends.split(),)
    ],
)
LOCKS = {"Q1": (PadlockLabel("4711", "Odo"),), "Q2": (PadlockLabel("12"), PadlockLabel("13"))}


def of(graph: Graph = SAW, zones: Iterable[str] = ("Z",), **facts: object) -> Scene:
    return scene(graph, zones, Facts(**facts))  # type: ignore[arg-type]


def flows(shown: Scene) -> dict[tuple[str, str], Flow]:
    return {(wire.source, wire.target): wire.flow for wire in shown.wires}


def states(shown: Scene) -> dict[str, State]:
    return {part.id: part.state for part in shown.parts}


def marks(drawing: Drawing) -> list[Mark]:
    return [*drawing.lines, *(mark for group in drawing.groups for mark in group.marks)]


def words(drawing: Drawing) -> str:
    return " ".join(mark.text for mark in marks(drawing) if isinstance(mark, Words))


def both_forms(graph: Graph, **facts: object) -> list[Drawing]:
    return [picture(graph, form=form, **facts) for form in Form]  # type: ignore[arg-type]


def test_without_a_lock_every_line_is_live() -> None:
    shown = of()
    assert set(flows(shown).values()) == {Flow.LIVE}
    assert states(shown)["Z"] is State.EXPOSED
    assert states(shown)["Q1"] is State.LIVE


def test_a_lock_leaves_the_line_live_up_to_the_gap_and_dead_after_it() -> None:
    found = flows(of(locks=LOCKS, released={"C"}))
    assert found["S1", "Q1"] is Flow.LIVE
    assert found["Q1", "B"] is Flow.DEAD
    assert found["M", "Z"] is Flow.DEAD


def test_a_gap_is_dashed_until_it_is_proven() -> None:
    shown = states(of(locks=LOCKS, released={"C"}, proven={"Q1"}))
    assert shown["Q1"] is State.PROVEN
    assert shown["Q2"] is State.LOCKED
    assert shown["C"] is State.LOCKED
    assert shown["Z"] is State.LOCKED


def test_a_zone_is_proven_only_when_every_point_that_cuts_it_off_is() -> None:
    assert states(of(locks=LOCKS, released={"C"}, proven={"Q1", "Q2", "C"}))["Z"] is State.PROVEN
    assert states(of(locks=LOCKS, released={"C"}, proven={"Q1", "Q2"}))["Z"] is State.LOCKED


def test_a_zone_that_nothing_feeds_is_never_called_proven() -> None:
    graph = Graph.of(
        [Node("Q", Kind.ISOLATOR, "Old switch"), Node("Z", Kind.ZONE, "Locker")], [Link("Q", "Z")]
    )
    for facts in ({}, {"locks": {"Q": (PadlockLabel("7"),)}, "proven": {"Q"}}):
        for drawing in both_forms(graph, zones=["Z"], **facts):
            (zone,) = [group for group in drawing.groups if group.title.startswith("Locker")]
            assert zone.title == "Locker, zone: nothing leads to it"
            assert any(mark.ink is Ink.ZONE_UNFED for mark in zone.marks)
            assert Ink.ZONE_PROVEN not in {mark.ink for mark in marks(drawing)}
        assert "nothing leads to it" in words(picture(graph, zones=["Z"]))


def test_a_released_store_that_is_fed_again_holds_energy() -> None:
    drawing = picture(SAW, zones=["Z"], released={"C"}, proven={"C"})
    assert "released, but" in words(drawing)
    assert states(of(released={"C"}, proven={"C"}, planned={"C"}))["C"] is State.LIVE


def test_the_path_is_drawn_from_source_to_zone() -> None:
    shown = of(path=("S2", "Q2", "B", "D", "C", "M", "Z"))
    assert [pair for pair, flow in flows(shown).items() if flow is Flow.PATH] == [
        pair for pair in flows(shown) if pair not in {("S1", "Q1"), ("Q1", "B")}
    ]
    # Nothing on the path is folded away: a person can follow it name by name.
    kept = {part.id for part in without_chains(shown).parts}
    assert {"S2", "Q2", "B", "D", "C", "M", "Z"} <= kept


@pytest.mark.parametrize("form", Form)
def test_the_locks_number_stands_in_the_gap(form: Form) -> None:
    drawing = picture(SAW, zones=["Z"], locks=LOCKS, released={"C"}, proven={"Q1"}, form=form)
    group = next(group for group in drawing.groups if group.title.startswith("Switch one"))
    plate = next(mark for mark in group.marks if isinstance(mark, Box) and mark.ink is Ink.PLATE_PROVEN)
    number = next(mark for mark in group.marks if isinstance(mark, Words) and mark.ink is Ink.ON_PLATE)
    assert number.text == "4711"
    assert plate.x < number.x < plate.x + plate.width
    assert plate.y < number.y < plate.y + plate.height
    assert "12 +1" in words(drawing)
    assert "Odo" in words(drawing)


@pytest.mark.parametrize("form", Form)
def test_a_planned_point_is_marked(form: Form) -> None:
    found = plan(QUILLFEN, ["D1-BED"])
    assert isinstance(found, Plan)
    drawing = picture(QUILLFEN, zones=["D1-BED"], planned={*found.lock, *found.release}, form=form)
    titles = [group.title for group in drawing.groups]
    assert sum(title.endswith(": to be locked") for title in titles) == len(found.lock)
    assert sum(title.endswith(": to be released") for title in titles) == len(found.release)
    assert any(isinstance(mark, Box) and mark.ink is Ink.PLATE_PLANNED for mark in marks(drawing))


def test_a_link_that_carries_both_ways_is_live_from_either_end() -> None:
    graph = Graph.of(
        [Node("S", Kind.SUPPLY), Node("Q", Kind.ISOLATOR), Node("R", Kind.CARRIER), Node("Z", Kind.ZONE)],
        [Link("S", "R"), Link("Q", "R", both=True), Link("R", "Z")],
    )
    shown = of(graph, locks={"Q": (PadlockLabel("1"),)})
    wire = next(wire for wire in shown.wires if "Q" in (wire.source, wire.target))
    assert wire.both
    assert wire.flow is Flow.LIVE


def test_an_unknown_zone_is_no_picture() -> None:
    with pytest.raises(KeyError):
        picture(SAW, zones=["nowhere"])


# ---- against reachability by networkx, on random plants ----


@st.composite
def plants(draw: st.DrawFn, most: int = 24) -> Graph:
    kinds = draw(
        st.lists(st.sampled_from([k for k in Kind if k is not Kind.ZONE]), min_size=2, max_size=most)
    )
    nodes = [Node(f"n{i}", kind, f"{kind.value} {i}") for i, kind in enumerate(kinds)] + [
        Node("z", Kind.ZONE, "zone")
    ]
    ends = st.integers(0, len(kinds) - 1)
    links = draw(
        st.lists(st.builds(lambda a, b, both: (a, b, both), ends, ends, st.booleans()), max_size=3 * most)
    )
    made = [Link(f"n{a}", f"n{b}", both and b != a) for a, b, both in links if a != b]
    made += [Link(f"n{a}", "z") for a in draw(st.lists(ends, min_size=1, max_size=4, unique=True))]
    return Graph.of(nodes, made)


@st.composite
def standing(draw: st.DrawFn) -> tuple[Graph, Facts]:
    graph = draw(plants())
    points = [id for id, node in graph.nodes.items() if node.kind is Kind.ISOLATOR]
    stores = [id for id, node in graph.nodes.items() if node.kind is Kind.STORE]
    locked = draw(st.sets(st.sampled_from(points))) if points else set()
    released = draw(st.sets(st.sampled_from(stores))) if stores else set()
    proven = draw(st.sets(st.sampled_from(points + stores))) if points + stores else set()
    return graph, Facts({id: (PadlockLabel(id),) for id in locked}, released, proven)


def reached(graph: Graph, locked: set[str], released: set[str]) -> set[str]:
    """What energy reaches, by networkx on the graph without the locked isolators."""
    whole = networkx.DiGraph()
    whole.add_nodes_from(graph.nodes)
    whole.add_edges_from((id, near) for id in graph.nodes for near in graph.feeds[id])
    whole.remove_nodes_from(locked)
    sources = {
        id
        for id, node in graph.nodes.items()
        if node.kind is Kind.SUPPLY or (node.kind is Kind.STORE and id not in released)
    }
    return sources.union(*(networkx.descendants(whole, id) for id in sources))


@given(standing())
def test_lines_and_zones_say_what_reachability_says(plant: tuple[Graph, Facts]) -> None:
    graph, facts = plant
    live = reached(graph, set(facts.locks), set(facts.released))
    shown = scene(graph, ["z"], facts)
    for wire in shown.wires:
        carries = wire.source in live or (wire.both and wire.target in live)
        assert (wire.flow is Flow.LIVE) == carries
    doubtful = reached(graph, set(facts.locks) & facts.proven, set(facts.released) & facts.proven)
    expected = State.EXPOSED if "z" in live else State.LOCKED if "z" in doubtful else State.PROVEN
    if "z" not in reached(graph, set(), set()):
        expected = State.UNFED
    assert states(shown)["z"] is expected
    assert states_of(graph, graph.nodes, facts)["z"].state is expected


@given(standing(), st.integers(1, 12))
def test_folding_loses_no_node_and_no_point_of_the_work(plant: tuple[Graph, Facts], most: int) -> None:
    graph, facts = plant
    whole = scene(graph, ["z"], facts)
    folded = without_the_far(without_chains(whole), ["z"], most)
    assert sorted(id for part in folded.parts for id in part.ids) == sorted(part.id for part in whole.parts)
    alone = {part.id for part in folded.parts if len(part.ids) == 1}
    points = {
        id for id in {*facts.locks, *facts.released} if states(whole).get(id) in (State.LOCKED, State.PROVEN)
    }
    assert points <= alone
    ids = {part.id for part in folded.parts}
    assert all(wire.source in ids and wire.target in ids for wire in folded.wires)
    if "z" in alone and states(whole)["z"] is State.EXPOSED:
        assert any(wire.flow is Flow.LIVE and wire.target == "z" for wire in folded.wires)


@settings(max_examples=60, deadline=None)
@given(standing())
def test_nothing_leaves_the_picture(plant: tuple[Graph, Facts]) -> None:
    graph, facts = plant
    for form in Form:
        drawing = picture(
            graph, zones=["z"], locks=facts.locks, released=facts.released, proven=facts.proven, form=form
        )
        for mark in marks(drawing):
            left, right, top, bottom = edges(mark)
            assert left >= -0.1
            assert right <= drawing.width + 0.1
            assert top >= -0.1
            assert bottom <= drawing.height + 0.1


def edges(mark: Mark) -> tuple[float, float, float, float]:
    match mark:
        case Line() | Shape():
            xs, ys = [x for x, _ in mark.places], [y for _, y in mark.places]
            return min(xs), max(xs), min(ys), max(ys)
        case Box():
            return mark.x, mark.x + mark.width, mark.y, mark.y + mark.height
        case Dot():
            return mark.x - mark.radius, mark.x + mark.radius, mark.y - mark.radius, mark.y + mark.radius
        case Words():
            wide = fonts.width(mark.text, mark.size, bold=mark.bold)
            left = mark.x - (wide / 2 if mark.centred else 0)
            return left, left + wide, mark.y - mark.size, mark.y + mark.size * 0.3


@given(standing())
def test_no_line_runs_through_another_or_through_a_part(plant: tuple[Graph, Facts]) -> None:
    """In a ladder each lane belongs to one line at a time, and a part stands right of all that pass it."""
    shown = scene(plant[0], ["z"], plant[1])
    place = {part.id: row for row, part in enumerate(shown.parts)}
    lanes = ladder._lanes(shown, place).of
    last = {
        id: max([place[w.target] for w in shown.wires if w.source == id], default=row)
        for id, row in place.items()
    }
    for one in place:
        for other in place:
            if place[one] < place[other] < last[one]:
                assert lanes[one] < lanes[other]


# ---- as it is embedded and printed ----


def test_the_svg_is_well_formed_and_carries_nothing_of_its_own() -> None:
    nasty = '<script>alert("x")</script> & \' "'
    graph = Graph.of([Node("S", Kind.SUPPLY, nasty), Node("Z", Kind.ZONE, nasty)], [Link("S", "Z")])
    for drawing in both_forms(graph, zones=["Z"], urls={"S": "/t/1?a=1&b=2", "Z": "javascript:alert(1)"}):
        text = svg.render(drawing)
        root = ElementTree.fromstring(text)
        tags = {element.tag.split("}")[1] for element in root.iter()}
        assert tags <= {"svg", "title", "desc", "g", "a", "polyline", "polygon", "rect", "circle", "text"}
        attributes = {name for element in root.iter() for name in element.attrib}
        assert not any(name == "style" or name.startswith("on") for name in attributes)
        assert [element.get("href") for element in root.iter() if element.get("href")] == ["/t/1?a=1&b=2"]
        assert root.get("role") == "img"
        named = (root.get("aria-labelledby") or "").split()
        assert [element.get("id") for element in list(root)[:2]] == named
        assert all(element.text for element in list(root)[:2])


def test_every_class_of_the_svg_has_its_look() -> None:
    drawings = both_forms(SAW, zones=["Z"], locks=LOCKS, released={"C"}, proven={"Q1"})
    drawings += both_forms(SAW, zones=["Z"], planned={"Q1"}, path=("S2", "Q2", "B", "D", "C", "M", "Z"))
    inks = {mark.ink for drawing in drawings for mark in marks(drawing)}
    assert inks
    assert all(re.search(rf"\.ep-{ink}\b(?!-)", CLASSES) for ink in Ink)


def test_the_same_facts_make_the_same_picture() -> None:
    pairs = [both_forms(QUILLFEN, zones=ZONES, planned={"C1-QB1"}) for _ in range(2)]
    assert [svg.render(drawing) for drawing in pairs[0]] == [svg.render(drawing) for drawing in pairs[1]]


def test_a_phone_never_scrolls_sideways() -> None:
    every_zone = [node.id for node in QUILLFEN.nodes.values() if node.kind is Kind.ZONE]
    drawing = picture(QUILLFEN, zones=every_zone, form=Form.TALL)
    assert drawing.width == 358
    assert all(edges(mark)[1] <= 358 for mark in marks(drawing))
    assert drawing.legend is not None
    assert all(edges(mark)[1] <= 358 for mark in marks(drawing.legend))


def test_words_on_a_desk_stay_readable() -> None:
    drawing = picture(QUILLFEN, zones=ZONES)
    shown = float(ElementTree.fromstring(svg.render(drawing)).get("width", "0"))
    smallest = min(mark.size for mark in marks(drawing) if isinstance(mark, Words))
    assert smallest * shown / drawing.width >= 10


def test_the_print_goes_on_on_the_next_page_with_every_name() -> None:
    frame = page.PageFrame(
        "Quillfen", "Picture", "https://permits.example/1", datetime(2026, 11, 25, 8, tzinfo=UTC), "Entry 4"
    )
    drawing = picture(QUILLFEN, zones=ZONES, form=Form.PAGE)
    bound = page.bind(frame, [pdf.render(drawing, frame.room[0])])
    assert bound == page.bind(frame, [pdf.render(drawing, frame.room[0])])
    reader = pypdf.PdfReader(BytesIO(bound))
    assert len(reader.pages) >= 2
    text = "".join("".join(sheet.extract_text().split()) for sheet in reader.pages)
    for group in drawing.groups:
        for mark in group.marks:
            if isinstance(mark, Words):
                assert "".join(mark.text.split()) in text
    for number, sheet in enumerate(reader.pages, 1):
        said = sheet.extract_text()
        assert f"Page {number} of {len(reader.pages)}" in said
        assert "Entry 4" in said
        assert "do not make a machine safe" in said
        for font in sheet["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_the_sentences_say_the_same() -> None:
    said = as_text(SAW, zones=["Z"], locks=LOCKS, proven={"Q1"})
    assert said[0] == "Energy reaches Saw chamber: Capacitor → Motor → Saw chamber."
    assert "Switch one: locked, proven; lock 4711 of Odo." in said
    assert "Switch two: locked, not proven yet; lock 12; lock 13." in said
    assert "Capacitor: holds energy." in said
    said = as_text(SAW, zones=["Z"], locks=LOCKS, released={"C"}, proven={"Q1", "C"})
    assert said[0].startswith("Saw chamber is cut off, but not proven yet")
    assert said[0].endswith("Switch two.")
    said = as_text(SAW, zones=["Z"], locks=LOCKS, released={"C"}, proven={"Q1", "Q2", "C"})
    assert said[0].startswith("No energy reaches Saw chamber")
    alone = Graph.of([Node("Z", Kind.ZONE, "Attic")], [])
    assert as_text(alone, zones=["Z"]) == ["No supply and no stored energy leads to Attic."]


def test_a_path_of_the_demo_plant_can_be_followed_in_every_form() -> None:
    path = witness(QUILLFEN, "C1-OUTFEED", locked={"C1-QB1", "C1-QB2"}, released={"C1-BLADE", "C1-CDC"})
    assert path is not None
    for drawing in both_forms(QUILLFEN, zones=ZONES, path=path):
        titles = " ".join(group.title for group in drawing.groups)
        assert all(QUILLFEN.name(id) in titles for id in path)
        assert sum(isinstance(mark, Line) and mark.ink is Ink.PATH for mark in drawing.lines) == len(path) - 1
