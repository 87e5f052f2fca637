"""A node's page; adding, editing, removing nodes of each kind, with test and release; links."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.plant import queries
from permits.plant.actions import save_node
from permits.plant.forms import LinkForm
from permits.plant.models import Link, Node, Tag
from permits.plant.rules import energy
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.noderows import write_node
from permits.plant.store import graph_of, node_of, to_plant_file
from permits.records.demo import approve_procedures
from tests.factories_plant import CLERK, neighbours_at_work

ADD_ISOLATOR = "/plant/nodes/add/isolator/?machine=C1"
ADD_STORE = "/plant/nodes/add/store/?machine=C1"
ADD_LINK = "/plant/links/add/"
SWITCH = {
    "id": "C1-QB9",
    "label": "Spare feed switch",
    "machine": "C1",
    "designation": "=L3.C1+H7-QB9",
    "place": "Cell cabinet",
    "medium": "electrical",
    "magnitude": "400 V AC, 16 A",
    "device": "switch-disconnector",
    "lockable": "on",
    "effort": "3",
    "sequence": "12",
    "test_quantity": "voltage",
    "test_unit": "V",
    "test_limit": "50",
    "test_conductors": ["L1", "N", "PE"],
}
TANK = {
    "id": "C1-TANK",
    "machine": "C1",
    "medium": "pneumatic",
    "releasable": "on",
    "release_method": "Open the bleed.\r\nHang it open.",
    "release_wait_s": "90",
    "release_recheck_min": "30",
    "release_undoable": "on",
    "test_quantity": "gauge pressure",
    "test_unit": "bar",
    "test_limit": "0.05",
}


def text_of(answer) -> str:
    return answer.content.decode()


def at(name: str, code: str) -> str:
    return reverse(f"plant:{name}", args=[code])


def keyed_data(**data):
    return {"key": str(uuid4())} | data


def row(site, code):
    return write_node(node_of(queries.node_of(site, code)))


# ---- reading


def test_a_point_shows_its_test_its_links_its_tag_and_the_zones_it_reaches(as_odo, tagged):
    page = text_of(as_odo.get(at("node", "C1-QB1")))
    assert "voltage, at most 50 V, L1-L2, L1-L3, L1-PE, L2-L3, L2-PE, L3-PE" in page
    assert all(words in page for words in ("Board 3 busbar", "Cell busbar", "Saw chamber", "First issue"))
    assert "Edit" not in page


def test_a_store_shows_how_it_is_released(as_odo):
    page = text_of(as_odo.get(at("node", "P1-ACC")))
    assert "Open the bleed to the tank and leave it open. Wait 2 min before the test." in page
    assert "It could be undone, so it carries a lock of its own. Tested again every 60 min." in page


def test_a_store_whose_physics_is_described_shows_its_figures(as_odo, works):
    fork = row(works, "K4-FORK") | {"physics": {"kind": "raised", "mass_kg": "350", "height_m": "1.8"}}
    save_node(site=works, node=fork, by=CLERK, at=now())
    page = text_of(as_odo.get(at("node", "K4-FORK")))
    # 350 kg x 9.80665 m/s2 x 1.8 m = 6178 J: potential energy with the standard acceleration of free fall
    assert "6.178 kJ" in page
    assert "Computed: it says when to test, never that it is safe." in page


def test_a_zone_that_nothing_feeds_is_not_called_proven(as_odo, works):
    save_node(site=works, node={"id": "PIT", "kind": "zone", "machine": "C1"}, by=CLERK, at=now())
    for page in (at("node", "PIT"), at("machine", "C1")):
        assert "nothing leads to it" in text_of(as_odo.get(page))


def test_a_zone_says_whether_it_is_a_danger_area(as_odo):
    page = text_of(as_odo.get(at("node", "C1-OUTFEED")))
    assert "Confirmed clear before start" in page
    assert "What it feeds" not in page


def test_a_nodes_page_costs_a_fixed_number_of_queries(as_odo, tagged, django_assert_max_num_queries):
    as_odo.get(at("node", "C1-QB1"))
    with django_assert_max_num_queries(36):
        as_odo.get(at("node", "C1-QB1"))


# ---- adding


def test_the_choice_of_a_kind_says_what_is_no_isolator(as_maud):
    page = text_of(as_maud.get("/plant/nodes/add/?machine=C1"))
    assert "only controls energy: it is a carrier, never an isolator" in page
    assert "/plant/nodes/add/isolator/?machine=C1" in page


def test_an_unknown_kind_is_not_found(as_maud):
    assert as_maud.get("/plant/nodes/add/gadget/").status_code == 404


def test_the_hint_stands_beside_the_device(as_maud):
    assert "An emergency stop, push button, selector, safe torque off" in text_of(as_maud.get(ADD_ISOLATOR))


def test_an_isolator_is_added_once_with_every_pair_of_its_conductors(as_maud, works, keyed, entries):
    data = keyed(**SWITCH)
    assert (
        as_maud.post(ADD_ISOLATOR, data).url == as_maud.post(ADD_ISOLATOR, data).url == at("node", "C1-QB9")
    )
    assert row(works, "C1-QB9") == {
        "id": "C1-QB9", "kind": "isolator", "label": "Spare feed switch", "effort": 3, "sequence": 12,
        "machine": "C1", "designation": "=L3.C1+H7-QB9", "place": "Cell cabinet", "medium": "electrical",
        "magnitude": "400 V AC, 16 A", "device": "switch-disconnector",
        "test": {
            "quantity": "voltage", "unit": "V", "limit": "50", "combinations": ["L1-N", "L1-PE", "N-PE"],
        },
    }  # fmt: skip
    assert len(entries("PLANT_CHANGED")) == 2


def test_only_some_pairs_can_be_asked_for(as_maud, works, keyed):
    data = keyed(**SWITCH) | {"test_conductors": [], "test_combinations": "l1-n, L1-PE"}
    as_maud.post(ADD_ISOLATOR, data)
    assert row(works, "C1-QB9")["test"]["combinations"] == ["L1-N", "L1-PE"]
    page = text_of(as_maud.get(at("edit-node", "C1-QB9")))
    assert 'value="L1-N, L1-PE"' in page


def test_a_store_is_added_with_its_release(as_maud, works, keyed):
    as_maud.post(ADD_STORE, keyed(**TANK))
    assert row(works, "C1-TANK")["release"] == {
        "method": "Open the bleed.\nHang it open.", "wait_s": 90, "undoable": True, "recheck_min": 30,
    }  # fmt: skip
    assert row(works, "C1-TANK")["test"]["limit"] == "0.05"


def test_zone_supply_and_carrier_are_added(as_maud, works, keyed):
    as_maud.post("/plant/nodes/add/zone/", keyed(id="Z", machine="C1", danger_area="on", outfeed="on"))
    as_maud.post("/plant/nodes/add/supply/", keyed(id="S", medium="hydraulic", magnitude="200 bar"))
    as_maud.post("/plant/nodes/add/carrier/", keyed(id="C", device="contactor"))
    assert row(works, "Z") == {
        "id": "Z",
        "kind": "zone",
        "machine": "C1",
        "danger_area": True,
        "outfeed": True,
    }
    assert row(works, "S") == {"id": "S", "kind": "supply", "medium": "hydraulic", "magnitude": "200 bar"}
    assert row(works, "C") == {"id": "C", "kind": "carrier", "device": "contactor"}


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"id": ""}, "id", "Code is missing; such as C1-QB1 would be right."),
        (
            {"id": "C1-QB1"},
            "id",
            "C1-QB1 is already the code of Cell main disconnector (isolator); a code of its own would be "
            "right.",
        ),
        (
            {"device": "solenoid valve"},
            "device",
            "'solenoid valve' is a solenoid valve: it controls energy, it cannot isolate it. Right would be "
            "kind 'carrier' for 'C1-QB9', and the device that parts the energy as the isolator.",
        ),
        ({"device": "", "label": "Emergency stop S1"}, "label", "reads like an emergency stop"),
        ({"effort": "0"}, "effort", "This is 0. Right would be a positive whole number, such as 1."),
        ({"effort": "two"}, "effort", "This is not a whole number; such as 1 would be right."),
        ({"sequence": "9999999"}, "sequence", "This is 9999999. Right would be at most 1000000."),
        ({"machine": "Z9"}, "machine", "There is no machine Z9; one of the list would be right."),
        ({"medium": "steam"}, "medium", "steam is no energy of the list; one of it would be right."),
        ({"test_unit": ""}, "test_unit", "This is missing. Right would be the unit, such as 'V'."),
        ({"test_limit": ""}, "test_limit", "This is missing. Right would be the highest reading that passes"),
        ({"test_limit": "0,05"}, "test_limit", "This is '0,05'. Right would be the highest reading that"),
        ({"test_limit": "-1"}, "test_limit", "below zero"),
        # IEC 60204-1, 6.2.4 (second-hand): live parts discharged to 60 V
        ({"test_limit": "61"}, "test_limit", "This is 61 V, looser than the published limit of 60 V"),
        ({"test_conductors": ["L1"]}, "test_conductors", "This names one conductor. Right would be at least"),
        (
            {"test_combinations": "L1-N"},
            "test_combinations",
            "This stands beside conductors. Right would be one",
        ),
        (
            {"test_conductors": [], "test_combinations": "L1-L9"},
            "test_combinations",
            "This is 'L1-L9'. Right would be a list of pairs",
        ),
        ({"medium": "pneumatic"}, "test_conductors", "only an electrical point has conductors"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_what_was_typed_stays(as_maud, keyed, changes, field, says):
    answer = as_maud.post(ADD_ISOLATOR, keyed(**SWITCH) | changes)
    assert answer.status_code == 422
    assert any(says in error for error in answer.context["form"].errors[field]), answer.context["form"].errors
    assert 'value="Cell cabinet"' in text_of(answer)
    assert not Node.objects.filter(place="Cell cabinet", label="Spare feed switch").exists()


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"release_method": ""}, "release_method", "Right would be what is done to make it harmless."),
        (
            {"release_wait_s": "soon"},
            "release_wait_s",
            "This is not a whole number; such as 60 would be right.",
        ),
        ({"release_wait_s": "-1"}, "release_wait_s", "a whole number of seconds from 0 to 604800"),
        ({"release_recheck_min": "0"}, "release_recheck_min", "a whole number of minutes from 1 to 10080"),
    ],
)
def test_what_is_wrong_about_a_release_is_said_at_its_field(as_maud, keyed, changes, field, says):
    answer = as_maud.post(ADD_STORE, keyed(**TANK) | changes)
    assert answer.status_code == 422
    assert any(says in error for error in answer.context["form"].errors[field])


# ---- editing


@pytest.mark.parametrize("code", ["C1-QB1", "P1-ACC", "C1-GANTRY", "C1-OUTFEED", "UPS", "C1-STO", "OUT-QA1"])
def test_saving_a_node_as_it_is_changes_nothing(as_maud, works, code, keyed, entries):
    edit = at("edit-node", code)
    form = as_maud.get(edit).context["form"]
    data = {name: form[name].value() for name in form.fields}
    data = {name: value for name, value in data.items() if value not in (None, False)}
    before = to_plant_file(works)
    assert as_maud.post(edit, keyed() | data).url == at("node", code)
    assert to_plant_file(works) == before
    assert len(entries("PLANT_CHANGED")) == 1


def test_an_edit_changes_what_was_typed_and_keeps_the_rest(as_maud, works, keyed):
    edit = at("edit-node", "C1-QB1")
    form = as_maud.get(edit).context["form"]
    data = {name: form[name].value() for name in form.fields} | {"effort": "7", "place": ""}
    before = row(works, "C1-QB1")
    as_maud.post(edit, keyed() | data)
    del before["place"]
    assert row(works, "C1-QB1") == before | {"effort": 7}


def test_what_someone_else_changed_is_not_overwritten(as_maud, works, keyed):
    edit = at("edit-node", "C1-QB1")
    seen = as_maud.get(edit).context["form"]["seen"].value()
    save_node(site=works, node=row(works, "C1-QB1") | {"effort": 9}, by=CLERK, at=now())
    answer = as_maud.post(edit, keyed(label="Mine", lockable="on", seen=seen))
    assert answer.status_code == 422
    assert "Someone else changed this" in text_of(answer)
    assert row(works, "C1-QB1")["effort"] == 9


def test_an_isolator_that_only_controls_becomes_a_carrier_and_loses_its_tag(as_maud, tagged, keyed):
    edit = at("edit-node", "AIR-QM1") + "?kind=carrier"
    page = text_of(as_maud.get(edit))
    assert "its tag is withdrawn" in page
    answer = as_maud.post(edit, keyed(label="Air valve", device="solenoid valve", medium="pneumatic"))
    assert answer.url == at("node", "AIR-QM1")
    assert row(tagged, "AIR-QM1") == {
        "id": "AIR-QM1", "kind": "carrier", "label": "Air valve", "medium": "pneumatic",
        "device": "solenoid valve",
    }  # fmt: skip
    assert not Tag.objects.filter(node__code="AIR-QM1", withdrawn_at=None).exists()


def test_a_zone_with_a_way_out_names_the_link(as_maud, works, keyed):
    answer = as_maud.post(at("edit-node", "C1-RAIL") + "?kind=zone", keyed(machine="C1"))
    assert answer.status_code == 422
    assert "a zone has no way out" in text_of(answer)


# ---- removing


def test_a_node_is_removed_once_with_its_links(as_maud, works, keyed, entries):
    remove = at("remove-node", "D1-SOCKET")
    assert "Cabinet lamp and socket → Inside the drilling station" in text_of(as_maud.get(remove))
    data = keyed()
    assert as_maud.post(remove, data).url == at("machine", "D1")
    assert as_maud.post(remove, data).status_code == 302
    assert as_maud.get(remove).status_code == 404
    assert not Link.objects.filter(source__code="D1-SOCKET").exists()
    assert len(entries("PLANT_CHANGED")) == 2


def test_a_node_that_carries_a_lock_stays(as_maud, works, maud, torvald, eleni, keyed):
    approve_procedures(works, now())
    neighbours_at_work(works)
    answer = as_maud.post(at("remove-node", "OUT-QB1"), keyed())
    assert answer.status_code == 409
    page = text_of(answer)
    assert "Not yet: take it out" in page
    assert "padlock E-32 hangs on OUT-QB1 for permit P-1" in page
    assert queries.node_of(works, "OUT-QB1")


# ---- links


def test_a_link_is_added_changed_and_removed(as_maud, works, keyed, entries):
    ends = {"source": "CTRL-BAR", "target": "K4-M2"}
    data = keyed(**ends)
    assert as_maud.post(ADD_LINK + "?from=CTRL-BAR", data).url == at("node", "CTRL-BAR")
    as_maud.post(ADD_LINK, data)
    assert "K4-M2" in graph_of(works).feeds["CTRL-BAR"]
    change = ADD_LINK + "?from=CTRL-BAR&to=K4-M2"
    assert "Change a link" in text_of(as_maud.get(change))
    as_maud.post(change, keyed(**ends, both="on"))
    assert "CTRL-BAR" in graph_of(works).feeds["K4-M2"]
    remove, data = "/plant/links/remove/?from=CTRL-BAR&to=K4-M2", keyed()
    assert "may leave people unprotected" in text_of(as_maud.get(remove))
    assert as_maud.post(remove, data).url == as_maud.post(remove, data).url == at("node", "CTRL-BAR")
    assert "K4-M2" not in graph_of(works).feeds["CTRL-BAR"]
    assert len(entries("PLANT_CHANGED")) == 4


@pytest.mark.parametrize(
    ("data", "field", "says"),
    [
        ({"source": "", "target": "C1-RAIL"}, "source", "Energy comes from is missing; a node of the plant"),
        ({"source": "C1-RAIL", "target": "NOPE"}, "target", "There is no node NOPE; one of the list"),
        ({"source": "C1-RAIL", "target": "C1-RAIL"}, "target", "leads back to where it starts"),
        ({"source": "C1-CHAMBER", "target": "C1-RAIL"}, "source", "is a zone, and a zone has no way out"),
        ({"source": "C1-RAIL", "target": "C1-CHAMBER", "both": "on"}, "both", "Right would be false"),
    ],
)
def test_a_link_that_cannot_be_says_why(as_maud, keyed, data, field, says):
    answer = as_maud.post(ADD_LINK, keyed(**data))
    assert answer.status_code == 422
    assert any(says in error for error in answer.context["form"].errors[field]), answer.context["form"].errors


def test_in_a_plant_too_large_for_a_list_a_node_is_named_by_its_code():
    graph = Graph.of([energy.Node(f"N{number}", Kind.CARRIER) for number in range(401)], [])
    form = LinkForm(keyed_data(source="N1", target=""), graph=graph, names={}, button="Add")
    assert not form.is_valid()
    assert form.errors["target"] == ["It goes to is missing; a node of the plant would be right."]
    assert form.cleaned_data["source"] == "N1"


def test_a_link_that_is_not_there_is_not_found(as_maud):
    assert as_maud.get("/plant/links/remove/?from=C1-QB1&to=K4-M2").status_code == 404


def test_codes_with_any_characters_have_an_address(as_maud, works, keyed):
    for code in ("a/b", "..", "~1", "%2F?#", "ünï x"):
        as_maud.post("/plant/nodes/add/carrier/", keyed(id=code))
        assert code in text_of(as_maud.get(at("node", code))) or "%2F" in code
        assert as_maud.get(at("node", code)).context["page"].node.id == code
