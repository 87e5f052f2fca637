"""import_plant: the file becomes the plant, once; a bad one changes nothing; what goes out comes in again."""

import itertools
import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from permits.ledger.models import Entry
from permits.people.actions import add_site
from permits.people.models import Site
from permits.plant import reproving
from permits.plant.actions import PlantRefused, compare_plant, import_plant, issue_tag
from permits.plant.models import Link, Machine, Node, PlantState
from permits.plant.rules.plantfile import as_dict, check, in_order
from permits.plant.store import digest_of, graph_for, graph_of, plant_file_of, to_plant_file, version_of
from tests.factories_plant import (
    CLERK,
    QUILLFEN,
    SEVEN,
    officer,
    plants,
    quillfen,
    site_with,
    small_file,
    small_plant,
    text_of,
)

pytestmark = pytest.mark.django_db
LATER = SEVEN + timedelta(hours=1)


def command(*arguments: str) -> str:
    out = StringIO()
    call_command("import_plant", *arguments, stdout=out)
    return out.getvalue()


def refused(*arguments: str) -> str:
    err = StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("import_plant", *arguments, stderr=err)
    assert caught.value.code == 2
    return err.getvalue()


@pytest.fixture
def small(tmp_path):
    """Writes a variation of the small plant to a file and gives its name."""

    def write(**changes) -> str:
        path = tmp_path / "plant.json"
        path.write_text(text_of(small_plant(**changes)), encoding="utf-8")
        return str(path)

    return write


def without(code: str) -> dict:
    """The small plant's nodes and links without one node."""
    plant = small_plant()
    return {
        "nodes": [node for node in plant["nodes"] if node["id"] != code],
        "links": [link for link in plant["links"] if code not in (link["from"], link["to"])],
    }


def rows() -> tuple[int, ...]:
    return (
        Site.objects.count(), Machine.objects.count(), Node.objects.count(), Link.objects.count(),
        PlantState.objects.count(), Entry.objects.count(),
    )  # fmt: skip


def test_the_demo_plant_comes_in_whole_with_a_site_of_its_own():
    said = command(str(QUILLFEN))
    assert "Quillfen Panel Works (QUILLFEN), version 1" in said
    assert "nodes: 76 added, 0 changed, 0 removed, 0 unchanged" in said
    site = Site.objects.get(code="QUILLFEN")
    assert plant_file_of(site) == quillfen()
    assert graph_of(site) == quillfen().graph


def test_the_same_file_twice_changes_nothing_and_writes_no_second_entry():
    command(str(QUILLFEN))
    before = rows()
    assert "nodes: 0 added, 0 changed, 0 removed, 76 unchanged" in command(str(QUILLFEN))
    assert rows() == before
    assert version_of(Site.objects.get()) == 1


def test_a_file_with_its_rows_in_another_order_is_the_same_plant(small):
    command(small())
    before = rows()
    plant = small_plant()
    command(small(nodes=plant["nodes"][::-1], links=plant["links"][::-1]))
    assert rows() == before


def test_the_entry_holds_counts_version_digest_and_the_rows():
    site = site_with(small_file())
    entry = Entry.objects.get(kind="PLANT_CHANGED")
    data = json.loads(entry.body)["data"]
    assert entry.about == "plant:SMALL"
    assert data["version"] == 1
    assert data["counts"]["nodes"] == {"added": 7, "changed": 0, "removed": 0, "unchanged": 0}
    assert data["sha256"] == digest_of(to_plant_file(site)) == PlantState.objects.get().digest
    assert [row["id"] for row in data["put"]["nodes"]] == [row["id"] for row in small_plant()["nodes"]]


def test_the_plant_can_be_built_again_from_the_entries_alone(small):
    keys = {"machines": ("id",), "nodes": ("id",), "links": ("from", "to")}
    command(small())
    command(small(**without("CYL"), note="No cylinder."))
    nodes = [node | {"effort": 4} for node in small_plant()["nodes"]]
    command(small(nodes=nodes, machines=[{"id": "M1", "name": "Big mill"}]))
    built: dict = {name: {} for name in keys}
    for entry in Entry.objects.filter(kind="PLANT_CHANGED").order_by("number"):
        data = json.loads(entry.body)["data"]
        for name, key in keys.items():
            for row in data["gone"][name]:
                del built[name][tuple(row[part] for part in key)]
            for row in data["put"][name]:
                built[name][tuple(row[part] for part in key)] = row
    plant = {"plant": data["plant"], "code": "SMALL"} | {
        name: list(found.values()) for name, found in built.items()
    }
    assert in_order(plant) == in_order(to_plant_file(Site.objects.get()))
    assert digest_of(plant) == data["sha256"]


def test_what_differs_is_changed_and_what_is_gone_is_kept_for_the_record(small):
    command(small())
    nodes = [
        node | ({"label": "Ball valve"} if node["id"] == "V1" else {}) for node in without("CYL")["nodes"]
    ]
    said = command(small(nodes=nodes, links=without("CYL")["links"]))
    assert "nodes: 0 added, 1 changed, 1 removed, 5 unchanged" in said
    assert "links: 0 added, 0 changed, 2 removed, 4 unchanged" in said
    site = Site.objects.get()
    assert graph_of(site)["V1"].label == "Ball valve"
    assert Node.objects.get(code="CYL").removed_at is not None
    assert "version 3" in command(small())
    assert Node.objects.filter(code="CYL").count() == 2
    assert Node.objects.live().filter(code="CYL").count() == 1


def test_a_point_that_becomes_another_kind_of_thing_loses_its_tag(small):
    command(small())
    tag = issue_tag(node=Node.objects.get(code="V1"), by=CLERK, at=SEVEN)
    nodes = [
        {"id": "V1", "kind": "carrier"} if node["id"] == "V1" else node for node in small_plant()["nodes"]
    ]
    command(small(nodes=nodes))
    tag.refresh_from_db()
    assert tag.withdrawn_at is not None
    assert Node.objects.live().get(code="V1").kind == "carrier"
    assert Link.objects.filter(source__removed_at__isnull=False).count() == 0
    assert Link.objects.count() == 6


def test_a_note_or_a_name_alone_is_a_change(small):
    command(small())
    assert "version 2" in command(small(note="Drawn again."))
    assert "version 3" in command(small(plant="Smaller works", note="Drawn again."))
    assert "version 3" in command(small(plant="Smaller works", note="Drawn again."))


def test_a_link_that_turns_both_ways_is_changed(small):
    command(small())
    links = [link | ({"both": True} if link["to"] == "CAP" else {}) for link in small_plant()["links"]]
    assert "links: 0 added, 1 changed" in command(small(links=links))
    assert graph_of(Site.objects.get()).feeds["CAP"] == ("BED", "Q1")


def test_a_bad_file_names_row_field_and_remedy_and_changes_nothing(small):
    command(small())
    before = rows()
    nodes = small_plant()["nodes"]
    nodes[1] = nodes[1] | {"efort": 2, "kind": "isolater"}
    said = refused(small(nodes=nodes, note="Changed too."))
    assert "nodes[1] (id 'Q1'): efort:" in said
    assert "'effort'" in said
    assert "'isolator'" in said
    assert rows() == before
    assert PlantState.objects.get().note == ""


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("{", "line 1, column 2"),
        ("", "empty"),
        ("[]", "one object"),
        ("[" * 99_999, "nested too deep"),
        ('{"plant": "P", "nodes": [], "links": []}', "--site CODE"),
        ('{"plant": "\\ud800", "code": "X", "nodes": [], "links": []}', "plant"),
    ],
)
def test_a_file_that_is_no_plant_makes_no_site(tmp_path, text, hint):
    path = tmp_path / "plant.json"
    path.write_text(text)
    assert hint in refused(str(path))
    assert rows() == (0, 0, 0, 0, 0, 0)


def test_a_file_that_is_not_there_is_said_to_be_missing(tmp_path):
    assert "No such file" in refused(str(tmp_path / "none.json"))
    assert "directory" in refused(str(tmp_path)).lower()


def test_the_site_comes_from_the_file_or_from_the_command_but_not_from_both(small):
    assert "--site is 'OTHER'" in refused(small(), "--site", "OTHER")
    assert "Small works (MILL2)" in command(small(code="MILL2"), "--site", "MILL2")


def test_a_file_without_a_code_is_the_same_plant_with_one(tmp_path):
    plant = small_plant()
    site = site_with(small_file())
    del plant["code"]
    path = tmp_path / "plant.json"
    path.write_text(text_of(plant))
    assert "version 1" in command(str(path), "--site", "SMALL")
    assert plant_file_of(site).code == "SMALL"


def test_the_importer_can_be_named(small):
    maud = officer("maud")
    command(small(), "--by", "maud")
    assert set(Entry.objects.values_list("by", flat=True)) == {maud.about}
    assert "nobody signs in as 'nobody'" in refused(small(), "--by", "nobody")


def test_a_dry_run_says_what_would_change_and_changes_nothing(small):
    assert "nodes: 7 added" in command(small(), "--dry-run")
    assert rows() == (0, 0, 0, 0, 0, 0)
    command(small())
    before = rows()
    said = command(small(**without("CYL")), "--dry-run")
    assert "version 2, if imported" in said
    assert "nodes: 0 added, 0 changed, 1 removed" in said
    assert rows() == before


@pytest.fixture
def lock_on_v1(monkeypatch):
    """A room above says that V1 carries a lock."""

    def against(site, codes):
        return ["V1 carries lock 17 of permit P-3; its owner takes it off first."] if "V1" in codes else []

    monkeypatch.setattr(reproving, "_on_removal", [against])


def test_a_node_that_carries_a_lock_stays(small, lock_on_v1):
    command(small())
    before = rows()
    assert "lock 17" in refused(small(**without("V1")))
    assert "lock 17" in refused(small(**without("V1")), "--dry-run")
    nodes = [node | ({"kind": "carrier"} if node["id"] == "V1" else {}) for node in small_plant()["nodes"]]
    assert "lock 17" in refused(small(nodes=nodes))
    assert rows() == before
    command(small(**without("CYL")))


def test_the_rooms_above_are_told_in_the_same_transaction(monkeypatch):
    site = site_with(small_file())
    told = []

    def prove(pen, where, graph):
        pen.write("PROVED", "permit:P-1", {"zones": [node.id for node in graph.zones_of("M1")]})
        told.append(where)

    monkeypatch.setattr(reproving, "_on_change", [prove])
    import_plant(site=site, plant_file=small_file(note="Again."), by=CLERK, at=LATER)
    assert told == [site]
    assert list(Entry.objects.order_by("number").values_list("kind", flat=True))[-2:] == [
        "PLANT_CHANGED",
        "PROVED",
    ]


def test_a_change_that_a_room_above_cannot_follow_is_undone(monkeypatch):
    site = site_with(small_file())

    def fail(pen, where, graph):
        assert (
            graph_of(where).nodes.keys() == graph.nodes.keys()
        )  # compiled under a version that never comes to be
        raise RuntimeError("out of breath")

    monkeypatch.setattr(reproving, "_on_change", [fail])
    with pytest.raises(RuntimeError):
        import_plant(site=site, plant_file=small_file(**without("CYL")), by=CLERK, at=LATER)
    assert plant_file_of(site) == small_file()
    assert graph_of(site) == small_file().graph
    monkeypatch.setattr(reproving, "_on_change", [])
    import_plant(site=site, plant_file=small_file(**without("AIR")), by=CLERK, at=LATER)
    assert "CYL" in graph_of(site).nodes
    assert "AIR" not in graph_of(site).nodes


def test_callbacks_are_registered_once(monkeypatch):
    monkeypatch.setattr(reproving, "_on_change", [])
    monkeypatch.setattr(reproving, "_on_removal", [])
    calls = []

    def note(*seen):
        calls.append(seen)
        return []

    assert reproving.on_change(reproving.on_change(note)) is note
    assert reproving.on_removal(reproving.on_removal(note)) is note
    reproving.changed(None, Site(), small_file().graph)
    assert reproving.against_removal(Site(), ["A"]) == []
    assert reproving.against_removal(Site(), []) == []
    assert len(calls) == 2


def test_one_site_knows_nothing_of_the_other():
    here, there = site_with(small_file()), site_with(small_file(code="OTHER"))
    import_plant(site=there, plant_file=small_file(code="OTHER", **without("CYL")), by=CLERK, at=LATER)
    assert plant_file_of(here) == small_file()
    assert "CYL" not in graph_of(there).nodes


def test_a_graph_is_compiled_once_for_one_version(django_assert_num_queries):
    site = site_with(small_file())
    first = graph_of(site)
    with django_assert_num_queries(1):
        assert graph_of(site) is first


def test_a_site_without_a_plant_has_an_empty_graph():
    site = add_site(code="BARE", name="Bare works", timezone="UTC", by=CLERK, at=SEVEN)
    assert len(graph_of(site).nodes) == 0
    assert to_plant_file(site) == {"plant": "Bare works", "code": "BARE", "nodes": [], "links": []}
    assert version_of(site) == 0


def test_comparing_refuses_what_importing_would(lock_on_v1):
    site = site_with(small_file())
    with pytest.raises(PlantRefused):
        compare_plant(site=site, plant_file=small_file(**without("V1")))


_numbers = itertools.count()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=plants(), second=plants(), keeps_nodes=st.booleans())
def test_any_plant_after_any_other_comes_back_as_it_was(db, first, second, keeps_nodes):
    code = f"RANDOM{next(_numbers)}"
    site = site_with(check(first), code=code)
    if keeps_nodes:
        second = second | {"nodes": first["nodes"], "machines": first["machines"], "links": []}
    report = import_plant(site=site, plant_file=check(second), by=CLERK, at=LATER)
    written = to_plant_file(site)
    assert in_order(written) == in_order(as_dict(check(second | {"code": code})))
    assert plant_file_of(site).graph.nodes == check(second).graph.nodes
    assert graph_of(site).nodes == graph_for(check(second)).nodes
    again = import_plant(site=site, plant_file=check(written), by=CLERK, at=LATER)
    assert (again.added, again.changed, again.removed) == (0, 0, 0)
    assert again.version == report.version


def test_a_test_and_a_release_that_are_taken_off_leave_nothing_behind(small):
    plain = small_plant()["nodes"]
    full = [
        node | ({"test": {"quantity": "voltage", "unit": "V", "limit": "50"}} if node["id"] == "CAP" else {})
        for node in plain
    ]
    command(small(nodes=full))
    bare = [{"id": node["id"], "kind": node["kind"]} for node in plain]
    command(small(nodes=bare))
    assert Node.objects.filter(test__isnull=True, release__isnull=True).count() == len(bare)
