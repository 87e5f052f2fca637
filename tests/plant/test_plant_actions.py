"""Changing the plant row by row, writing and approving procedures, issuing tags: what is done and refused."""

import json
from datetime import timedelta
from uuid import UUID

import pytest

from permits.ledger.models import Entry
from permits.ledger.pen import AlreadyDone
from permits.people import machines as machines_below
from permits.plant import queries, reproving
from permits.plant.actions import (
    PlantRefused,
    approve_procedure,
    draft_procedure,
    import_plant,
    issue_tag,
    issue_tags,
    reissue_tag,
    remove_link,
    remove_machine,
    remove_node,
    save_link,
    save_machine,
    save_node,
)
from permits.plant.models import Link, Node, Procedure, Tag
from permits.plant.rules.codes import CodeError, parse_short_code
from permits.plant.rules.plantfile import PlantFileErrors
from permits.plant.store import graph_of, plant_file_of, version_of
from tests.factories_plant import (
    CLERK,
    SAW_ZONES,
    SEVEN,
    WRITTEN,
    approved_procedure,
    officer,
    quillfen,
    site_with,
    small_file,
    small_plant,
)

pytestmark = pytest.mark.django_db
LATER = SEVEN + timedelta(hours=1)
DONE = {"by": CLERK, "at": LATER}


@pytest.fixture
def site():
    return site_with(small_file())


@pytest.fixture
def maud():
    return officer("maud")


@pytest.fixture
def odo():
    return officer("odo")


@pytest.fixture
def mill(site):
    return queries.machine_of(site, "M1")


def entries(kind: str) -> list[dict]:
    return [
        json.loads(body)["data"] for body in Entry.objects.filter(kind=kind).values_list("body", flat=True)
    ]


def refusal(act, **values) -> tuple[str, ...]:
    with pytest.raises(PlantRefused) as caught:
        act(**values)
    return caught.value.reasons


def wrong(act, **values) -> list[tuple[str, str]]:
    with pytest.raises(PlantFileErrors) as caught:
        act(**values)
    return [(error.row, error.field) for error in caught.value.errors]


class TestGraph:
    def test_a_node_is_added_and_changed(self, site):
        report = save_node(site=site, node={"id": "V2", "kind": "isolator", "machine": "M1"}, **DONE)
        assert (report.added, report.changed, report.version) == (1, 0, 2)
        assert save_node(site=site, node={"id": "V2", "kind": "isolator", "effort": 3}, **DONE).changed == 1
        assert graph_of(site)["V2"].effort == 3
        assert graph_of(site)["V2"].machine is None

    def test_saving_what_is_there_already_writes_nothing(self, site):
        before = Entry.objects.count()
        assert save_node(site=site, node=small_plant()["nodes"][1], **DONE).version == 1
        assert Entry.objects.count() == before

    def test_a_node_is_checked_as_in_a_file(self, site):
        device = {"id": "S1", "kind": "isolator", "device": "emergency stop"}
        assert wrong(save_node, site=site, node=device, **DONE) == [("nodes[7] (id 'S1')", "device")]
        assert wrong(save_node, site=site, node={"id": "Q1", "kind": "isolator", "effort": 0}, **DONE) == [
            ("nodes[1] (id 'Q1')", "effort")
        ]
        assert wrong(save_node, site=site, node={"id": "Q1", "kind": "zone"}, **DONE) == [
            ("links[1] ('Q1' to 'CAP')", "from")
        ]
        assert wrong(save_node, site=site, node={"kind": "zone"}, **DONE) == [("nodes[7]", "id")]
        assert version_of(site) == 1

    def test_what_is_to_be_new_never_changes_what_is_there(self, site):
        before = Entry.objects.count()
        with pytest.raises(PlantFileErrors) as caught:
            save_node(site=site, node={"id": "Q1", "kind": "isolator", "effort": 9}, only_new=True, **DONE)
        assert str(caught.value) == (
            "nodes[7] (id 'Q1'): id: is already the code of Main switch (isolator). Right would be a code of "
            "its own."
        )
        with pytest.raises(PlantFileErrors, match="is already the code of the machine Mill"):
            save_machine(site=site, machine={"id": "M1", "name": "Moulder"}, only_new=True, **DONE)
        same = small_plant()["nodes"][4]
        with pytest.raises(PlantFileErrors, match="is already the code of an isolator without a name"):
            save_node(site=site, node=same, only_new=True, **DONE)
        assert graph_of(site)["Q1"].effort == 1
        assert Entry.objects.count() == before

    def test_what_is_new_is_added_once_by_its_key(self, site):
        key = UUID(int=5)
        node = {"id": "V2", "kind": "isolator", "machine": "M1"}
        assert save_node(site=site, node=node, only_new=True, key=key, **DONE).added == 1
        with pytest.raises(AlreadyDone):
            save_node(site=site, node=node, only_new=True, key=key, **DONE)
        machine = {"id": "M2", "name": "Moulder"}
        assert save_machine(site=site, machine=machine, only_new=True, **DONE).added == 1

    def test_a_link_is_added_changed_and_removed(self, site):
        save_link(site=site, link={"from": "AIR", "to": "CAP"}, **DONE)
        assert "AIR" in graph_of(site).fed_by["CAP"]
        save_link(site=site, link={"from": "AIR", "to": "CAP", "both": True}, **DONE)
        assert "AIR" in graph_of(site).feeds["CAP"]
        remove_link(site=site, source="AIR", target="CAP", **DONE)
        assert "AIR" not in graph_of(site).fed_by["CAP"]

    def test_a_link_out_of_a_zone_is_refused(self, site):
        assert wrong(save_link, site=site, link={"from": "BED", "to": "CYL"}, **DONE) == [
            ("links[6] ('BED' to 'CYL')", "from")
        ]

    def test_a_node_goes_with_its_links(self, site):
        report = remove_node(site=site, code="CYL", **DONE)
        assert report.removed == 3
        assert Link.objects.count() == 4
        assert "CYL" not in graph_of(site).nodes

    def test_what_is_not_there_can_not_be_removed(self, site):
        assert "no node NONE" in refusal(remove_node, site=site, code="NONE", **DONE)[0]
        assert "no link AIR to BED" in refusal(remove_link, site=site, source="AIR", target="BED", **DONE)[0]
        assert "no machine M2" in refusal(remove_machine, site=site, code="M2", **DONE)[0]

    def test_a_node_that_carries_a_lock_stays(self, site, monkeypatch):
        monkeypatch.setattr(
            reproving, "_on_removal", [lambda where, codes: [f"{code} is locked." for code in codes]]
        )
        assert refusal(remove_node, site=site, code="V1", **DONE) == ("V1 is locked.",)
        save_node(site=site, node={"id": "V1", "kind": "isolator", "machine": "M1", "effort": 5}, **DONE)

    def test_a_machine_is_added_and_changed_and_goes_when_nothing_belongs_to_it(self, site, mill):
        save_machine(site=site, machine={"id": "M2", "name": "Lathe"}, **DONE)
        save_machine(site=site, machine={"id": "M1", "name": "Big mill", "hazards": "Cutter."}, **DONE)
        assert queries.machine_codes(site) == [("M1", "Big mill"), ("M2", "Lathe")]
        assert ("nodes[1] (id 'Q1')", "machine") in wrong(remove_machine, site=site, code="M1", **DONE)
        remove_machine(site=site, code="M2", **DONE)
        assert queries.machine_codes(site) == [("M1", "Big mill")]
        mill.refresh_from_db()
        assert mill.name == "Big mill"

    def test_a_machine_that_comes_back_is_a_new_one(self, site):
        save_machine(site=site, machine={"id": "M2", "name": "Lathe"}, **DONE)
        remove_machine(site=site, code="M2", **DONE)
        save_machine(site=site, machine={"id": "M2", "name": "Other lathe"}, **DONE)
        assert queries.machine_of(site, "M2").name == "Other lathe"

    def test_a_request_sent_twice_counts_once(self, site):
        key = UUID(int=7)
        save_node(site=site, node={"id": "A", "kind": "carrier"}, key=key, **DONE)
        with pytest.raises(AlreadyDone):
            save_node(site=site, node={"id": "B", "kind": "carrier"}, key=key, **DONE)
        assert version_of(site) == 2

    def test_the_people_room_learns_which_machines_there_are(self, site):
        assert machines_below.machines_at(site) == [("M1", "Mill")]


class TestProcedures:
    def test_a_draft_holds_the_plan_for_its_zones(self, site, mill, maud):
        draft = draft_procedure(
            machine=mill, zones=["BED"], texts={"shutdown": " Press stop. "}, by=maud, at=LATER
        )
        assert (draft.revision, draft.state, draft.author) == (1, "draft", maud)
        assert (draft.lock, draft.release, draft.effort) == (["Q1", "V1"], ["CAP"], 4)
        assert draft.order[0] == {"do": "stop", "point": None}
        assert draft.shutdown == "Press stop."
        assert entries("PROCEDURE_DRAFTED")[0]["lock"] == ["Q1", "V1"]
        assert not draft.holds

    def test_the_saw_needs_a_plan_across_two_boards(self, maud):
        saw = queries.machine_of(site_with(quillfen()), "C1")
        draft = draft_procedure(machine=saw, zones=SAW_ZONES, texts={}, by=maud, at=LATER)
        assert draft.lock == ["C1-QB1", "C1-QB2", "C1-QB3", "C1-QM1", "OUT-QB1"]

    def test_a_draft_names_zones_of_its_machine_and_known_parts(self, site, mill, maud):
        save_node(site=site, node={"id": "ELSE", "kind": "zone"}, **DONE)
        reasons = refusal(
            draft_procedure, machine=mill, zones=["ELSE", "Q1"], texts={"shut": "x"}, by=maud, at=LATER
        )
        assert len(reasons) == 3
        assert "ELSE is no zone of Mill; right would be one of BED." in reasons
        assert "No zone" in refusal(draft_procedure, machine=mill, zones=[], texts={}, by=maud, at=LATER)[0]

    def test_nothing_is_drafted_where_nothing_isolates(self, site, mill, maud):
        save_link(site=site, link={"from": "FEED", "to": "BED"}, **DONE)
        assert (
            "FEED → BED"
            in refusal(draft_procedure, machine=mill, zones=["BED"], texts={}, by=maud, at=LATER)[0]
        )
        assert Procedure.objects.count() == 0

    def test_approval_is_by_another_and_supersedes(self, site, mill, maud, odo):
        first = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        second = draft_procedure(machine=mill, zones=["BED"], texts=WRITTEN, by=odo, at=LATER)
        assert queries.approved_procedure(mill) == first
        approve_procedure(procedure=second, by=maud, at=LATER)
        first.refresh_from_db()
        assert (first.state, first.approver) == ("superseded", odo)
        assert queries.approved_procedure(mill) == second
        assert second.holds
        assert [procedure.revision for procedure in queries.procedures(mill)] == [2, 1]

    def test_approval_lists_everything_that_stands_against_it(self, site, mill, maud):
        draft = draft_procedure(machine=mill, zones=["BED"], texts={"shutdown": "Stop."}, by=maud, at=LATER)
        save_link(site=site, link={"from": "FEED", "to": "CYL"}, **DONE)
        reasons = refusal(approve_procedure, procedure=draft, by=maud, at=LATER)
        assert reasons[0] == "Nobody approves what they wrote; another safety officer can."
        assert [reason for reason in reasons if "does not say" in reason] == [
            f"It does not say {words}; a revision that does would be right."
            for words in (
                "how it is isolated, and how locks are placed, removed and handed over",
                "how stored energy is made harmless",
                "how zero energy is tested",
                "how it is brought back",
            )
        ]
        assert "Energy reaches BED by FEED → CYL → BED." in reasons[-1]

    def test_only_a_draft_can_be_approved(self, site, mill, maud, odo):
        procedure = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        assert "only a draft" in refusal(approve_procedure, procedure=procedure, by=odo, at=LATER)[0]

    def test_a_change_of_the_plant_proves_approved_procedures_again(self, site, mill, maud, odo):
        procedure = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        save_link(site=site, link={"from": "FEED", "to": "CYL"}, **DONE)
        procedure.refresh_from_db()
        assert procedure.flaws == [{"id": "BED", "path": ["FEED", "CYL", "BED"]}]
        assert not procedure.holds
        save_node(site=site, node={"id": "LAMP", "kind": "carrier"}, **DONE)
        remove_link(site=site, source="FEED", target="CYL", **DONE)
        procedure.refresh_from_db()
        assert procedure.holds
        assert len(entries("PROCEDURE_UNPROVEN")) == len(entries("PROCEDURE_PROVEN_AGAIN")) == 1

    def test_a_point_that_can_no_longer_be_locked_is_a_flaw(self, site, mill, maud, odo):
        procedure = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        save_node(
            site=site, node={"id": "Q1", "kind": "isolator", "machine": "M1", "lockable": False}, **DONE
        )
        procedure.refresh_from_db()
        assert {"id": "Q1", "path": []} in procedure.flaws
        assert {"id": "BED", "path": ["FEED", "Q1", "CAP", "BED"]} in procedure.flaws

    def test_a_zone_or_point_that_is_gone_is_a_flaw(self, site, mill, maud, odo):
        procedure = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        remove_node(site=site, code="V1", **DONE)
        procedure.refresh_from_db()
        assert procedure.flaws == [{"id": "V1", "path": []}]
        remove_node(site=site, code="BED", **DONE)
        procedure.refresh_from_db()
        assert {"id": "BED", "path": []} in procedure.flaws

    def test_the_procedure_of_a_machine_that_is_gone_no_longer_holds(self, site, mill, maud, odo):
        procedure = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        nodes = [
            {key: value for key, value in node.items() if key != "machine"} for node in small_plant()["nodes"]
        ]
        import_plant(site=site, plant_file=small_file(nodes=nodes, machines=[]), **DONE)
        procedure.refresh_from_db()
        assert procedure.flaws == [{"id": "M1", "path": []}]

    def test_other_sites_procedures_are_left_alone(self, site, mill, maud, odo):
        procedure = approved_procedure(mill, ("BED",), author=maud, approver=odo)
        other = site_with(small_file(code="OTHER"))
        save_link(site=other, link={"from": "FEED", "to": "BED"}, **DONE)
        procedure.refresh_from_db()
        assert procedure.holds


class TestTags:
    def test_a_point_gets_a_tag_that_is_found_by_token_and_by_hand(self, site):
        node = queries.node_of(site, "Q1")
        tag = issue_tag(node=node, **DONE)
        assert (len(tag.token), tag.reissue, tag.node) == (16, 0, node)
        assert queries.tag_by_token(tag.token.lower()) == tag
        typed = f" {tag.short_code[:3].lower()}-{tag.short_code[3:6]} {tag.short_code[6:]}"
        assert queries.tag_by_short_code(site, typed) == tag
        assert parse_short_code(tag.short_code) == tag.short_code
        entry = Entry.objects.get(kind="TAG_ISSUED")
        assert entry.about == "point:Q1"
        assert json.loads(entry.body)["data"] == {
            "token": tag.token,
            "short_code": tag.short_code,
            "reissue": 0,
        }

    def test_what_can_be_no_code_is_said_in_words(self, site):
        with pytest.raises(CodeError):
            queries.tag_by_short_code(site, "ABC")
        with pytest.raises(Tag.DoesNotExist):
            queries.tag_by_token("0" * 16)

    def test_a_reissued_tag_withdraws_the_old_one_which_is_still_found(self, site):
        old = issue_tag(node=queries.node_of(site, "Q1"), **DONE)
        new = reissue_tag(tag=old, why="worn off", **DONE)
        found = queries.tag_by_token(old.token)
        assert (found.withdrawn_at, found.withdrawn_why) == (LATER, "worn off")
        assert (new.reissue, new.withdrawn_at) == (1, None)
        assert new.token != old.token
        assert queries.tags_of(new.node) == [new, old]
        assert entries("TAG_WITHDRAWN") == [{"short_code": old.short_code, "why": "worn off"}]

    def test_a_tag_is_withdrawn_once_and_for_a_reason(self, site):
        tag = issue_tag(node=queries.node_of(site, "Q1"), **DONE)
        assert "No reason" in refusal(reissue_tag, tag=tag, why="  ", **DONE)[0]
        reissue_tag(tag=tag, why="lost", **DONE)
        assert "withdrawn already" in refusal(reissue_tag, tag=tag, why="lost", **DONE)[0]

    def test_only_a_point_without_a_tag_gets_one(self, site):
        nodes = {node.code: node for node in Node.objects.all()}
        issue_tag(node=nodes["Q1"], **DONE)
        remove_node(site=site, code="V1", **DONE)
        reasons = refusal(
            issue_tags, site=site, nodes=[nodes["Q1"], nodes["V1"], nodes["BED"], nodes["CAP"]], **DONE
        )
        assert [reason.split(" ")[0] for reason in reasons] == ["Main", "V1", "BED"]
        assert Tag.objects.count() == 1
        assert "No point" in refusal(issue_tags, site=site, nodes=[], **DONE)[0]

    def test_all_points_of_a_machine_are_tagged_in_one_go(self, site, mill, django_assert_num_queries):
        points = queries.points(site, mill)
        assert [point.node.code for point in points] == ["Q1", "CAP", "V1"]
        tags = issue_tags(site=site, nodes=[point.node for point in points], **DONE)
        assert len({tag.token for tag in tags}) == 3
        with django_assert_num_queries(2):
            assert [point.tag for point in queries.points(site, mill)] == tags

    def test_a_point_that_goes_takes_its_tag_along(self, site):
        tag = issue_tag(node=queries.node_of(site, "V1"), **DONE)
        remove_node(site=site, code="V1", **DONE)
        tag.refresh_from_db()
        assert tag.withdrawn_at == LATER
        assert "taken out" in tag.withdrawn_why

    def test_a_short_code_that_is_taken_is_not_given_again(self, site, monkeypatch):
        seeds = iter([b"\0\0\0\1", b"\0\0\0\1", b"\0\0\0\2"])
        real = __import__("secrets").token_bytes
        monkeypatch.setattr(
            "permits.plant.actions.tags.secrets.token_bytes", lambda n: next(seeds) if n == 4 else real(n)
        )
        first = issue_tag(node=queries.node_of(site, "Q1"), **DONE)
        second = issue_tag(node=queries.node_of(site, "V1"), **DONE)
        assert first.short_code != second.short_code


def test_the_plant_at_a_glance(site):
    facts = queries.plant_facts(site)
    assert (facts.version, facts.machines, facts.nodes, facts.points) == (1, 1, 7, 3)
    assert facts.changed_at == SEVEN
    assert plant_file_of(site) == small_file()
