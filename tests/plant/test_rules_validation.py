"""What the report on a plant's description finds, one plant for each concern."""

from permits.plant.rules.demands import as_demanded
from permits.plant.rules.plantfile import check
from permits.plant.rules.validation import Concern, Finding, findings
from tests.factories_plant import quillfen, small_plant


def found(*nodes: dict, links: list[tuple[str, str]], concern: Concern) -> list[Finding]:
    """The findings of one concern in the small plant with more nodes and links."""
    plant = small_plant()
    extra = {node["id"] for node in nodes}
    plant["nodes"] = [node for node in plant["nodes"] if node["id"] not in extra] + list(nodes)
    plant["links"] += [{"from": source, "to": target} for source, target in links]
    plant["machines"].append({"id": "M2", "name": "Moulder"})
    return [finding for finding in findings(check(plant).graph) if finding.concern is concern]


def test_a_zone_with_an_open_path_is_not_isolated_and_shows_it():
    sun = {"id": "SUN", "kind": "supply"}
    assert found(sun, links=[("SUN", "BED")], concern=Concern.NOT_ISOLATED) == [
        Finding(Concern.NOT_ISOLATED, "BED", path=("SUN", "BED"))
    ]


def test_an_isolator_that_cannot_be_locked_does_not_isolate():
    switch = {"id": "V1", "kind": "isolator", "machine": "M1", "lockable": False}
    [one] = found(switch, links=[], concern=Concern.NOT_ISOLATED)
    assert one.path == ("AIR", "V1", "CYL", "BED")


def test_a_zone_that_nothing_feeds_is_found():
    zone = {"id": "PIT", "kind": "zone", "machine": "M1"}
    assert [one.id for one in found(zone, links=[], concern=Concern.NOT_FED)] == ["PIT"]


def test_a_supply_with_no_lockable_point_after_it_is_found():
    sun, panel = {"id": "SUN", "kind": "supply"}, {"id": "PANEL", "kind": "carrier"}
    lamp = {"id": "LAMP", "kind": "isolator", "lockable": False}
    links = [("SUN", "PANEL"), ("PANEL", "LAMP")]
    assert [one.id for one in found(sun, panel, lamp, links=links, concern=Concern.NO_LOCK_AFTER)] == ["SUN"]


def test_a_store_without_a_test_is_found():
    assert [one.id for one in found(links=[], concern=Concern.NO_TEST)] == ["CAP"]


def test_a_link_from_one_machine_to_another_crosses_and_one_from_a_shared_node_does_not():
    bed = {"id": "BED2", "kind": "zone", "machine": "M2"}
    links = [("CYL", "BED2"), ("FEED", "BED2")]
    assert found(bed, links=links, concern=Concern.CROSSES) == [
        Finding(Concern.CROSSES, "CYL", "BED2", machines=("M1", "M2"))
    ]


def test_an_isolator_before_zones_of_two_machines_is_shared():
    bed = {"id": "BED2", "kind": "zone", "machine": "M2"}
    assert found(bed, links=[("CYL", "BED2")], concern=Concern.SHARED) == [
        Finding(Concern.SHARED, "V1", machines=("M1", "M2"))
    ]


def test_a_point_that_leads_to_no_zone_is_found_once():
    valve = {"id": "V9", "kind": "isolator"}
    assert [one.id for one in found(valve, links=[("AIR", "V9")], concern=Concern.LEADS_NOWHERE)] == ["V9"]
    assert found(valve, links=[("AIR", "V9")], concern=Concern.IN_NO_PLAN) == []


def test_a_point_that_every_plan_passes_over_is_found():
    main = {"id": "V0", "kind": "isolator", "effort": 9}
    assert [one.id for one in found(main, links=[("V0", "V1")], concern=Concern.IN_NO_PLAN)] == ["V0"]


def test_a_point_that_only_the_plan_for_all_zones_needs_is_needed():
    """The feeder's switch is dearer than either branch alone and cheaper than both together."""
    nodes = [{"id": "S", "kind": "supply"}, {"id": "Q", "kind": "isolator", "effort": 3}]
    nodes += [{"id": f"Q{n}", "kind": "isolator", "effort": 2} for n in (1, 2)]
    nodes += [{"id": f"Z{n}", "kind": "zone", "machine": "M"} for n in (1, 2)]
    links = [("S", "Q"), ("Q", "Q1"), ("Q", "Q2"), ("Q1", "Z1"), ("Q2", "Z2")]
    plant = {
        "plant": "P",
        "machines": [{"id": "M", "name": "M"}],
        "nodes": nodes,
        "links": [{"from": source, "to": target} for source, target in links],
    }
    assert findings(check(plant).graph) == ()


def test_a_point_of_a_plan_that_takes_a_tag_only_is_found():
    tagged = {"id": "V1", "kind": "isolator", "machine": "M1", "effort": 2, "lockable": False}
    tagged["tag_only"] = {"measure": "Handle taken off."}
    plant = small_plant()
    plant["nodes"] = [node for node in plant["nodes"] if node["id"] != "V1"] + [tagged]
    graph = check(plant).graph

    def in_plans(graph):
        return [one.id for one in findings(graph) if one.concern is Concern.TAG_IN_A_PLAN]

    assert in_plans(graph) == []  # no plan uses it: a tag stands for no lock
    assert in_plans(as_demanded(graph, {}, tag_out=True)) == ["V1"]


def test_findings_come_by_concern_the_dangerous_first():
    order = list(Concern)
    concerns = [order.index(finding.concern) for finding in findings(quillfen().graph)]
    assert concerns == sorted(concerns)


def test_the_demo_plant_crosses_machines_once_and_can_be_isolated_everywhere():
    by_concern = {concern: [] for concern in Concern}
    for finding in findings(quillfen().graph):
        by_concern[finding.concern].append(finding.id)
    assert by_concern[Concern.CROSSES] == ["OUT-M1"]
    assert "B3-QB1" in by_concern[Concern.SHARED]
    nothing = (Concern.NOT_ISOLATED, Concern.NOT_FED, Concern.NO_LOCK_AFTER, Concern.NO_TEST)
    assert not any(by_concern[concern] for concern in nothing)


def test_an_empty_plant_has_no_findings():
    assert findings(check({"plant": "P", "nodes": [], "links": []}).graph) == ()
