"""The plant file: what is read from it, and that every mistake is named with its row, field and remedy."""

import json
import math
import time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.energy import Kind, Medium, Release
from permits.plant.rules.energy import Test as ZeroTest
from permits.plant.rules.plantfile import PlantFileErrors, as_dict, check, in_order, parse
from tests.factories_plant import plants, small_plant, text_of


def bare(*nodes: dict, links: tuple = (), **top) -> str:
    return text_of({"plant": "P", "nodes": list(nodes), "links": list(links)} | top)


def node(id: str = "N", kind: str = "carrier", **more) -> dict:
    return {"id": id, "kind": kind} | more


def link(source: str, target: str, **more) -> dict:
    return {"from": source, "to": target} | more


def wrong(text: str | bytes, *, strict: bool = True) -> list[tuple[str, str, str, str]]:
    with pytest.raises(PlantFileErrors) as caught:
        parse(text, strict=strict)
    return [(error.row, error.field, error.wrong, error.right) for error in caught.value.errors]


def the_one_wrong(text: str | bytes, *, strict: bool = True) -> tuple[str, str, str, str]:
    found = wrong(text, strict=strict)
    assert len(found) == 1, found
    return found[0]


def test_a_full_node_is_read_with_everything_on_it():
    text = bare(
        node(
            "S", "store", label="Bus", effort=3, releasable=True, sequence=-2, machine="M",
            designation="=A-CA1", place="Cabinet", medium="electrical", magnitude="565 V", device="capacitor",
            test={"quantity": "voltage", "unit": "V", "limit": "50.0", "conductors": ["PE", "L1", "L2"]},
            release={"method": "Wait.", "wait_s": 300, "undoable": True, "recheck_min": 30},
        ),
        machines=[{"id": "M", "name": "Mill"}],
    )  # fmt: skip
    found = parse(text).graph["S"]
    assert (found.kind, found.name, found.effort, found.sequence) == (Kind.STORE, "Bus", 3, -2)
    assert found.medium is Medium.ELECTRICAL
    assert found.test == ZeroTest("voltage", "V", Decimal(50), ("L1-L2", "L1-PE", "L2-PE"))
    assert found.release == Release("Wait.", 300, undoable=True, recheck_min=30)


def test_what_is_left_out_has_the_documented_defaults():
    found = parse(bare(node())).graph["N"]
    assert (found.effort, found.lockable, found.releasable, found.sequence) == (1, True, True, 0)
    assert (found.test, found.release, found.machine, found.medium) == (None, None, None, None)


def test_a_limit_written_as_a_number_is_kept_exactly():
    text = bare(node("V", "isolator", test={"quantity": "p", "unit": "bar", "limit": 0})).replace(
        '"limit": 0', '"limit": 0.050'
    )
    test = parse(text).graph["V"].test
    assert test is not None
    assert test.limit == Decimal("0.05")


@pytest.mark.parametrize("text", ["", "  \n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_said_to_be_empty(text):
    assert the_one_wrong(text)[2] == "is empty"


def test_what_is_not_json_is_found_by_line_and_column():
    row, _, what, _ = the_one_wrong('{"plant": "P",\n "nodes": [}')
    assert row == "line 2, column 12"
    assert "not JSON" in what


@pytest.mark.parametrize("value", ["[]", '"plant"', "3", "null", "NaN"])
def test_the_top_must_be_an_object(value):
    assert "one object" in the_one_wrong(value)[3]


def test_text_that_is_not_utf8_is_found_by_its_byte():
    assert the_one_wrong(b'{"plant": "\xff"}')[:1] == ("byte 11",)


def test_a_byte_order_mark_is_passed_over():
    assert parse(b"\xef\xbb\xbf" + bare(node()).encode()).plant == "P"


@pytest.mark.parametrize(
    "deep", ["[" * 100_000, '{"a":' * 100_000, '{"plant": ' + "[" * 900 + "]" * 900 + "}"]
)
def test_deep_nesting_is_refused_in_words(deep):
    assert wrong(deep)


def test_a_file_too_long_is_refused_before_it_is_read(monkeypatch):
    monkeypatch.setattr("permits.plant.rules.jsontext.LARGEST", 10)
    assert the_one_wrong(bare(node()))[3] == "at most 10"


@pytest.mark.parametrize("strict", [True, False])
def test_the_three_needed_members_are_asked_for(strict):
    assert [error[1] for error in wrong("{}", strict=strict)] == ["plant", "nodes", "links"]


@pytest.mark.parametrize("field", ["nodes", "links", "machines"])
def test_lists_must_be_lists_of_objects(field):
    plant = {"plant": "P", "nodes": [], "links": []}
    assert the_one_wrong(text_of(plant | {field: {}}))[1:3] == (field, "is an object")
    assert the_one_wrong(text_of(plant | {field: ["x"]}))[:3:2] == (f"{field}[0]", "is 'x'")


def test_an_unknown_member_is_named_with_the_nearest_known_one():
    row, field, _, right = the_one_wrong(bare(node("Q1", "isolator", Lockible=False)))
    assert (row, field) == ("nodes[0] (id 'Q1')", "Lockible")
    assert "'lockable'" in right


def test_unknown_members_are_passed_over_where_only_the_graph_is_wanted():
    text = bare(node(colour="red"), drawn_by={"who": [1]}, links=())
    assert parse(text, strict=False).graph["N"].kind is Kind.CARRIER


@pytest.mark.parametrize("text", ['{"a": NaN}', '{"a": -Infinity}'])
def test_no_number_is_no_number_anywhere(text):
    assert any(error[1:3] == ("a", f"is {text[6:-1]}") for error in wrong(text, strict=False))


def test_a_member_given_twice_is_named():
    text = bare(node()).replace('"kind": "carrier"', '"kind": "carrier", "kind": "zone"')
    assert the_one_wrong(text)[:3] == ("nodes[0] (id 'N')", "kind", "the member stands here more than once")


def test_an_id_given_twice_names_both_rows():
    assert the_one_wrong(bare(node("A"), node("B"), node("A")))[:3] == (
        "nodes[2] (id 'A')", "id", "nodes[0] has it already",
    )  # fmt: skip
    text = bare(node(), machines=[{"id": "M", "name": "A"}, {"id": "M", "name": "B"}])
    assert the_one_wrong(text)[0] == "machines[1] (id 'M')"


@pytest.mark.parametrize("id", [7, None, "", "  ", " A", "A\n", "x" * 65, True, ["A"], "\ud800"])
def test_an_id_is_a_text_that_a_person_can_type(id):
    row, field, _, _ = the_one_wrong(bare(node(id)))
    assert row.startswith("nodes[0]")
    assert field == "id"


def test_an_id_of_64_characters_is_taken():
    assert "x" * 64 in parse(bare(node("x" * 64))).graph.nodes


@pytest.mark.parametrize("kind", ["isolater", "Zone", 3, None, ["zone"], {}])
def test_an_unknown_kind_is_answered_with_the_five(kind):
    right = the_one_wrong(bare(node(kind=kind)))[3]
    assert "supply, isolator, store, carrier, zone" in right
    if kind == "isolater":
        assert right.startswith("'isolator'")


def test_a_missing_kind_is_asked_for():
    assert the_one_wrong(bare({"id": "A"}))[1:3] == ("kind", "is missing")


@pytest.mark.parametrize(
    "effort", ["0", "-1", "true", "1.0", '"1"', "null", "1.5", "NaN", "[]", "1" * 60, "1e2"]
)
@pytest.mark.parametrize("strict", [True, False])
def test_an_effort_is_a_positive_whole_number(effort, strict):
    text = bare(node(effort=0)).replace('"effort": 0', f'"effort": {effort}')
    assert the_one_wrong(text, strict=strict)[:2] == ("nodes[0] (id 'N')", "effort")


@pytest.mark.parametrize("field", ["lockable", "releasable", "danger_area", "outfeed"])
@pytest.mark.parametrize("value", [1, "true", None, []])
def test_yes_or_no_is_true_or_false(field, value):
    assert the_one_wrong(bare(node(kind="zone", **{field: value})))[1] == field


@pytest.mark.parametrize("kind", list(Kind))
def test_effort_lockable_and_releasable_may_stand_on_any_kind(kind):
    assert parse(bare(node(kind=kind.value, effort=2, lockable=False, releasable=False)))


@pytest.mark.parametrize("sequence", [1.5, "2", True, None, 10**9])
def test_a_sequence_is_a_whole_number(sequence):
    assert the_one_wrong(bare(node(sequence=sequence)))[1] == "sequence"


@pytest.mark.parametrize("field", ["danger_area", "outfeed"])
def test_only_a_zone_is_a_danger_area_or_an_outfeed(field):
    assert the_one_wrong(bare(node(**{field: True})))[1] == field
    assert parse(bare(node(**{field: False})))


def test_a_medium_is_a_known_one():
    assert the_one_wrong(bare(node(medium="electric")))[3].startswith("'electrical'")


@pytest.mark.parametrize("value", [3, None, "x" * 121, "two\nlines", "\x00"])
def test_a_label_is_one_line_of_text(value):
    assert the_one_wrong(bare(node(label=value)))[1] == "label"


@pytest.mark.parametrize("strict", [True, False])
def test_a_link_to_nowhere_names_the_nearest_node(strict):
    row, field, what, right = the_one_wrong(
        bare(node("BLADE-1"), node("RAIL"), links=(link("RAIL", "BLADE1"),)), strict=strict
    )
    assert (row, field) == ("links[0] ('RAIL' to 'BLADE1')", "to")
    assert "BLADE1" in what
    assert right.startswith("'BLADE-1'")


@pytest.mark.parametrize("strict", [True, False])
@pytest.mark.parametrize(
    "out", [link("Z", "A"), link("Z", "A", both=True), link("A", "Z", both=True), link("Z", "Z")]
)
def test_a_zone_has_no_way_out(out, strict):
    errors = wrong(bare(node("A"), node("Z", "zone"), links=(out,)), strict=strict)
    assert any("no way out" in error[2] for error in errors)


@pytest.mark.parametrize("end", ["from", "to"])
@pytest.mark.parametrize("value", [None, 3, ["A"], {}])
def test_both_ends_of_a_link_are_ids(end, value):
    assert the_one_wrong(bare(node("A"), node("B"), links=(link("A", "B") | {end: value},)))[1] == end


def test_a_link_without_ends_asks_for_both():
    assert [error[1] for error in wrong(bare(links=({},)))] == ["from", "to"]


@pytest.mark.parametrize("value", [1, "true", None])
def test_both_is_true_or_false(value):
    assert the_one_wrong(bare(node("A"), node("B"), links=(link("A", "B", both=value),)))[1] == "both"


def test_a_link_to_itself_and_one_given_twice_are_mistakes_in_a_plant_but_harmless_in_a_graph():
    twice = bare(node("A"), node("B"), links=(link("A", "B"), link("A", "B"), link("A", "A")))
    assert [error[0] for error in wrong(twice)] == ["links[1] ('A' to 'B')", "links[2] ('A' to 'A')"]
    assert len(parse(twice, strict=False).graph.links) == 3


def test_a_node_of_an_unknown_machine_names_the_nearest():
    text = bare(node(machine="MIL"), machines=[{"id": "MILL", "name": "Mill"}])
    assert the_one_wrong(text)[3].startswith("'MILL'")
    assert the_one_wrong(bare(node(machine="MILL")))[2] == "is 'MILL', but the file lists no machines"
    assert parse(bare(node(machine="MILL")), strict=False).graph["N"].machine == "MILL"


def test_a_machine_needs_a_name():
    assert the_one_wrong(bare(machines=[{"id": "M"}]))[:2] == ("machines[0] (id 'M')", "name")


@pytest.mark.parametrize(
    "device",
    [
        "Emergency stop", "e-stop", "E-STOP", "push button", "pushbutton", "selector", "key switch",
        "safe torque off", "Safe-Torque-Off", "STO", "light curtain", "5/2 solenoid valve", "solenoid",
        "check valve", "non-return valve", "contactor", "PLC output", "interlock",
        "guard interlock switch", "safety relay",
    ],
)  # fmt: skip
@pytest.mark.parametrize("strict", [True, False])
def test_a_control_device_is_no_isolator_but_a_carrier(device, strict):
    _, field, what, right = the_one_wrong(bare(node("S1", "isolator", device=device)), strict=strict)
    assert field == "device"
    assert "cannot isolate" in what
    assert "'carrier'" in right
    assert parse(bare(node("S1", "carrier", device=device)))


def test_a_label_that_reads_like_a_control_device_asks_what_the_device_is():
    assert the_one_wrong(bare(node("S1", "isolator", label="Emergency stop S1")))[1] == "label"
    assert parse(bare(node("S1", "isolator", label="Disconnector before contactor K1")))
    assert parse(bare(node("S1", "isolator", label="Emergency stop feed", device="disconnector")))


@pytest.mark.parametrize(
    "device",
    ["load-break disconnector", "ball valve", "prop", "interlocked socket", "stop valve", "plug and socket"],
)
def test_what_parts_the_energy_is_an_isolator(device):
    assert parse(bare(node("Q", "isolator", device=device)))


@pytest.mark.parametrize(
    "limit",
    [
        "-1",
        '"-0.1"',
        "NaN",
        "Infinity",
        '"ten"',
        "true",
        "null",
        '""',
        '"1e3"',
        "1e999999999999999999999",
        "1e400",
    ],
)
def test_a_limit_is_a_number_from_zero_up(limit):
    text = bare(node("Q", "isolator", test={"quantity": "v", "unit": "V", "limit": "LIMIT"}))
    assert the_one_wrong(text.replace('"LIMIT"', limit))[:2] == ("nodes[0] (id 'Q')", "test.limit")


def test_a_test_says_what_is_read_and_in_which_unit():
    fields = [error[1] for error in wrong(bare(node("Q", "isolator", test={})))]
    assert fields == ["test.quantity", "test.unit", "test.limit"]
    assert the_one_wrong(bare(node("Q", "isolator", test=50)))[1] == "test"
    assert (
        the_one_wrong(
            bare(node("Q", "isolator", test={"quantity": "v", "unit": "V", "limit": 1, "limits": 1}))
        )[1]
        == "test.limits"
    )


def test_a_test_stands_on_a_point_and_a_release_on_a_store():
    assert the_one_wrong(bare(node(test={"quantity": "v", "unit": "V", "limit": 1})))[1] == "test"
    assert the_one_wrong(bare(node("Q", "isolator", release={"method": "Bleed."})))[1] == "release"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"conductors": ["L1", "L4"]}, "conductors[1]"),
        ({"conductors": ["L1"]}, "conductors"),
        ({"conductors": []}, "conductors"),
        ({"conductors": "L1"}, "conductors"),
        ({"conductors": ["L1", "L1"]}, "conductors"),
        ({"conductors": ["L1", ["L2"]]}, "conductors[1]"),
        ({"combinations": ["L2-L1"]}, "combinations[0]"),
        ({"conductors": ["L1", "L2"], "combinations": ["L1-L2"]}, "combinations"),
    ],
)
def test_conductors_are_known_and_different(more, field):
    test = {"quantity": "voltage", "unit": "V", "limit": 50} | more
    assert the_one_wrong(bare(node("Q", "isolator", test=test)))[1] == f"test.{field}"


def test_only_an_electrical_point_has_conductors():
    test = {"quantity": "p", "unit": "bar", "limit": 0, "conductors": ["L1", "L2"]}
    assert the_one_wrong(bare(node("V", "isolator", medium="pneumatic", test=test)))[1] == "test.conductors"


def test_four_conductors_make_six_pairs():
    test = {"quantity": "voltage", "unit": "V", "limit": 50, "conductors": ["L1", "L2", "L3", "PE"]}
    found = parse(bare(node("Q", "isolator", test=test))).graph["Q"].test
    assert found is not None
    assert found.combinations == ("L1-L2", "L1-L3", "L1-PE", "L2-L3", "L2-PE", "L3-PE")
    assert len(found.combinations) == math.comb(4, 2)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"method": ""}, "method"),
        ({"wait_s": -1}, "wait_s"),
        ({"wait_s": 1.5}, "wait_s"),
        ({"wait_s": 604801}, "wait_s"),
        ({"undoable": "yes"}, "undoable"),
        ({"recheck_min": 0}, "recheck_min"),
        ({"recheck_min": "30"}, "recheck_min"),
        ({"wait_min": 3}, "wait_min"),
    ],
)
def test_a_release_says_how_and_waits_a_sound_time(more, field):
    release = {"method": "Bleed."} | more
    assert the_one_wrong(bare(node("S", "store", release=release)))[1] == f"release.{field}"


@pytest.mark.parametrize("code", ["q1", "A B", "A" * 17, "Ä", 7])
def test_a_site_code_is_short_and_in_capitals(code):
    assert the_one_wrong(bare(code=code))[1] == "code"


def test_all_mistakes_are_collected_and_each_is_one_line():
    text = bare(
        node("A", effort=0), node("A", "zone"), node("B", "kine"), links=(link("A", "C"), link("B", "B"))
    )
    with pytest.raises(PlantFileErrors) as caught:
        parse(text)
    lines = str(caught.value).split("\n")
    assert len(lines) == len(caught.value.errors) == 5
    assert all("Right would be" in line for line in lines)


def test_ten_thousand_wrong_links_are_answered_in_seconds():
    nodes = [node(f"N{at:05}") for at in range(10_000)]
    links = [link(f"N{at:05}", f"M{at:05}") for at in range(10_000)]
    started = time.process_time()
    assert len(wrong(bare(*nodes, links=links))) == 10_000
    assert time.process_time() - started < 10


@given(plants())
def test_what_is_written_reads_back_the_same(plant):
    read = check(plant)
    assert check(as_dict(read)) == read
    assert parse(json.dumps(as_dict(read))) == read


@given(plants(), st.randoms())
def test_the_order_of_rows_does_not_matter_to_what_is_hashed(plant, random):
    turned = plant | {
        name: random.sample(plant[name], len(plant[name])) for name in ("machines", "nodes", "links")
    }
    assert in_order(as_dict(check(plant))) == in_order(as_dict(check(turned)))


_json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                [
                    "plant",
                    "code",
                    "machines",
                    "nodes",
                    "links",
                    "id",
                    "kind",
                    "test",
                    "release",
                    "limit",
                    "from",
                    "to",
                ]
            ),
            inner,
            max_size=6,
        )
    ),
    max_leaves=20,
)


@given(_json, st.booleans())
def test_whatever_json_comes_it_is_read_or_refused_in_words(value, strict):
    try:
        said: object = parse(json.dumps(value), strict=strict)
    except PlantFileErrors as errors:
        said = str(errors)
    assert said


@given(st.binary(max_size=60))
def test_whatever_bytes_come_they_are_refused_in_words(raw):
    with pytest.raises(PlantFileErrors):
        parse(raw)


def test_the_small_plant_of_these_tests_is_sound():
    assert len(check(small_plant()).graph.nodes) == 7
