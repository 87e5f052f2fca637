"""The plan_isolation command: its JSON, its text, its exit statuses, and what it says about bad input."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from io import BytesIO, StringIO, TextIOWrapper
from pathlib import Path

import pytest
from django.core.management import call_command

from permits.plant.rules import keep_live

ROOT = Path(__file__).resolve().parents[2]

# main ── Q1 ── board ── Q2 ── drive ── saw (zone);   cap ── drive;   board ── panel;   board ── Q3 ── drive
# lights ── cabinet (zone)
PLANT = {
    "plant": "Tiny works",
    "nodes": [
        {"id": "main", "kind": "supply", "label": "Main feeder"},
        {"id": "Q1", "kind": "isolator", "label": "Main disconnector", "place": "north wall"},
        {"id": "board", "kind": "carrier"},
        {"id": "Q2", "kind": "isolator", "sequence": 2},
        {"id": "Q3", "kind": "isolator", "sequence": 1},
        {"id": "drive", "kind": "carrier"},
        {"id": "cap", "kind": "store", "label": "Drive capacitor"},
        {"id": "panel", "kind": "carrier", "label": "Controls"},
        {"id": "lamp", "kind": "carrier", "label": "Signal lamp"},
        {"id": "saw", "kind": "zone", "label": "Saw chamber"},
        {"id": "bin", "kind": "zone"},
        {"id": "lights", "kind": "supply"},
        {"id": "cabinet", "kind": "zone", "label": "Cabinet"},
    ],
    "links": [
        {"from": "main", "to": "Q1"},
        {"from": "Q1", "to": "board"},
        {"from": "board", "to": "Q2"},
        {"from": "board", "to": "Q3"},
        {"from": "Q2", "to": "drive"},
        {"from": "Q3", "to": "drive"},
        {"from": "cap", "to": "drive"},
        {"from": "drive", "to": "saw"},
        {"from": "board", "to": "panel"},
        {"from": "lights", "to": "cabinet"},
    ],
}
ORDER_AT_THE_MAIN = [
    {"do": "stop", "point": None},
    {"do": "lock", "point": "Q1"},
    {"do": "release", "point": "cap"},
    {"do": "verify", "point": "Q1"},
    {"do": "verify", "point": "cap"},
]
KEPT = {
    "isolatable": True,
    "effort": 3,
    "lock": ["Q2", "Q3"],
    "release": ["cap"],
    "order": [
        {"do": "stop", "point": None},
        {"do": "lock", "point": "Q3"},
        {"do": "lock", "point": "Q2"},
        {"do": "release", "point": "cap"},
        {"do": "verify", "point": "Q3"},
        {"do": "verify", "point": "Q2"},
        {"do": "verify", "point": "cap"},
    ],
}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "plant.json"
    path.write_text(json.dumps(PLANT))
    return path


def run(*arguments: object) -> tuple[int, str, str]:
    """The command in this process: exit status, standard output, standard error. No database is allowed."""
    out, err = StringIO(), StringIO()
    try:
        call_command("plan_isolation", *map(str, arguments), stdout=out, stderr=err)
    except SystemExit as end:
        return int(end.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def as_json(*arguments: object) -> tuple[int, dict]:
    status, out, err = run(*arguments, "--format", "json")
    assert err == ""
    return status, json.loads(out)


def refused(*arguments: object) -> str:
    status, out, err = run(*arguments)
    assert status == 2
    assert out == ""
    return err


def from_the_shell(*arguments: object, tmp_path: Path) -> subprocess.CompletedProcess[str]:
    """The command as people run it, where there is no database at all."""
    outside = os.environ | {
        "PERMITS_DATA": str(tmp_path / "data"),
        "DATABASE_URL": "postgresql://nobody@127.0.0.1:1/nowhere",
    }
    return subprocess.run(
        [sys.executable, "manage.py", "plan_isolation", *map(str, arguments)],
        cwd=ROOT, env=outside, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip


# ---- from the shell


def test_a_plan_is_printed_as_json_with_exit_status_0(file, tmp_path):
    ended = from_the_shell("--plant", file, "--zone", "saw", "--format", "json", tmp_path=tmp_path)
    assert (ended.returncode, ended.stderr) == (0, "")
    assert json.loads(ended.stdout) == {
        "isolatable": True, "effort": 2, "lock": ["Q1"], "release": ["cap"], "order": ORDER_AT_THE_MAIN,
    }  # fmt: skip


def test_no_plan_is_printed_as_json_with_exit_status_1(file, tmp_path):
    ended = from_the_shell("--plant", file, "--zone", "cabinet", "--format", "json", tmp_path=tmp_path)
    assert (ended.returncode, ended.stderr) == (1, "")
    assert json.loads(ended.stdout) == {"isolatable": False, "path": ["lights", "cabinet"]}


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--zone", "sow"], "'sow'"),
        ([], "--zone"),
        (["--zone", "saw", "--format", "xml"], "xml"),
        (["--zone", "saw", "--keep", "warm", "--loud"], "--loud"),
    ],
)
def test_what_is_wrong_goes_to_standard_error_with_exit_status_2(arguments, says, file, tmp_path):
    ended = from_the_shell("--plant", file, *arguments, tmp_path=tmp_path)
    assert (ended.returncode, ended.stdout) == (2, "")
    assert says in ended.stderr
    assert "Traceback" not in ended.stderr


# ---- what is answered


def test_what_is_kept_live_is_heeded(file):
    ask = ["--plant", file, "--zone", "saw", "--keep-live", "panel"]
    assert as_json(*ask) == (0, KEPT)
    assert as_json(*ask, "--keep-live", "main") == (0, KEPT)


def test_a_plan_that_is_not_proven_cheapest_says_so(file, monkeypatch):
    """Two ways feed the lamp, and from each of them two ways lead to the bin: one way in is left open."""
    plant = json.loads(file.read_text())
    for way in "AB":
        ids = [f"{way}{number}" for number in range(3)]
        plant["nodes"] += [{"id": way, "kind": "carrier"}, *({"id": id, "kind": "isolator"} for id in ids)]
        ends = [("main", ids[0]), (ids[0], way), (way, "lamp"), (way, ids[1]), (way, ids[2])]
        plant["links"] += [{"from": a, "to": b} for a, b in [*ends, (ids[1], "bin"), (ids[2], "bin")]]
    file.write_text(json.dumps(plant))
    ask = ["--plant", file, "--zone", "bin", "--keep-live", "lamp"]
    status, found = as_json(*ask)
    assert (status, found["lock"], "proven_cheapest" in found) == (0, ["A0", "B1", "B2"], False)
    monkeypatch.setattr(keep_live, "EXACT_POINTS", 5)
    monkeypatch.setattr(keep_live, "MOST_WORK", 0)
    status, found = as_json(*ask)
    assert (status, found["effort"], found["proven_cheapest"]) == (0, 3, False)
    assert "not proven cheapest" in run(*ask)[1]


def test_a_zone_that_nothing_feeds_needs_nothing(file):
    empty = {"isolatable": True, "effort": 0, "lock": [], "release": [], "order": []}
    assert as_json("--plant", file, "--zone", "bin") == (0, empty)


def test_a_zone_named_twice_counts_once(file):
    once, twice = (as_json("--plant", file, *["--zone", "saw"] * times) for times in (1, 2))
    assert once == twice


def test_conflicts_stand_beside_the_path(file):
    assert as_json("--plant", file, "--zone", "saw", "--keep-live", "drive") == (
        1,
        {
            "isolatable": False,
            "path": ["main", "Q1", "board", "Q2", "drive", "saw"],
            "conflicts": [{"keep": "drive", "zone": "saw"}],
        },
    )


def test_the_plant_can_come_from_standard_input(file, monkeypatch):
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(file.read_bytes())))
    assert as_json("--plant", "-", "--zone", "saw")[1]["lock"] == ["Q1"]


# ---- in words


def test_a_plan_in_words_names_each_step_and_the_caution(file):
    status, out, err = run("--plant", file, "--zone", "saw", "--keep-live", "main")
    assert (status, err) == (0, "")
    assert out.splitlines()[:-2] == [
        "To isolate Saw chamber (saw): effort 2, locks 1, releases 1.",
        "  1. Stop    the machine, with the parking moves that need power: lower, retract, vent",
        "  2. Lock    Main disconnector (Q1), north wall",
        "  3. Release Drive capacitor (cap)",
        "  4. Verify  Main disconnector (Q1), north wall",
        "  5. Verify  Drive capacitor (cap)",
        "Stays live: Main feeder (main).",
    ]
    assert "makes nothing safe" in out


def test_no_plan_in_words_shows_the_path(file):
    status, out, _ = run("--plant", file, "--zone", "cabinet")
    assert status == 1
    assert out.splitlines()[:-2] == [
        "Nothing isolates Cabinet (cabinet).",
        "Nothing can be locked on this path:",
        "  supply   lights",
        "  zone     Cabinet (cabinet)",
    ]


def test_conflicts_in_words_say_what_stands_against_what(file):
    status, out, _ = run("--plant", file, "--zone", "saw", "--keep-live", "drive", "--keep-live", "lamp")
    assert status == 1
    assert "drive can't be kept live while Saw chamber (saw) is isolated." in out
    assert "No supply reaches Signal lamp (lamp), even with nothing locked: it can't be kept live." in out


def test_nothing_to_do_in_words(file):
    status, out, _ = run("--plant", file, "--zone", "bin")
    assert status == 0
    assert out.startswith("No energy reaches bin: there is nothing to lock and nothing to release.")


# ---- bad input


def test_an_unknown_zone_is_named_with_the_nearest_ones(file):
    err = refused("--plant", file, "--zone", "sam", "--zone", "nowhere at all")
    assert "no node has the id 'sam'. Right would be the id of a zone, such as 'saw'" in err
    assert "'nowhere at all'" in err


def test_a_node_that_is_no_zone_is_told_its_kind(file):
    assert "'Q1' is of kind isolator, not zone" in refused("--plant", file, "--zone", "Q1")


def test_an_unknown_node_to_keep_live_is_named_with_the_nearest_ones(file):
    err = refused("--plant", file, "--zone", "saw", "--keep-live", "pannel")
    assert "--keep-live: no node has the id 'pannel'. Right would be the id of a node, such as 'panel'" in err


@pytest.mark.parametrize("where", ["", "nowhere.json", "null\0.json"])
def test_a_file_that_cannot_be_read_is_named(where, tmp_path):
    path = f"{tmp_path}/{where}"
    err = refused("--plant", path, "--zone", "saw")
    assert err.startswith(path)
    assert "Right would be the path of a plant file." in err


@pytest.mark.parametrize("content", [b"", b"{", b"\xff\xfe", b"[]", b'{"plant": NaN}'])
def test_a_file_that_is_no_plant_file_is_refused(content, file):
    file.write_bytes(content)
    assert "is no plant file to plan from:" in refused("--plant", file, "--zone", "saw")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda plant: plant["links"].append({"from": "Q1", "to": "Q9"}), "'Q9'"),
        (lambda plant: plant["links"].append({"from": "saw", "to": "Q1"}), "a zone has no way out"),
        (lambda plant: plant["links"][7].update(both=True), "a zone has no way out"),
        (lambda plant: plant["nodes"].append({"id": "Q1", "kind": "carrier"}), "has it already"),
        (lambda plant: plant["nodes"][1].update(effort=0), "effort"),
        (lambda plant: plant["nodes"][1].update(effort=True), "effort"),
        (lambda plant: plant["nodes"][1].update(effort=1.5), "effort"),
        (lambda plant: plant["nodes"][1].update(kind="breaker"), "'breaker'"),
        (lambda plant: plant["nodes"][1].update(lokable=False), "'lockable'"),
        (lambda plant: plant["links"][0].update(boht=True), "'both'"),
    ],
)
def test_every_error_of_the_plant_file_is_an_error_here(change, says, file):
    plant = json.loads(file.read_text())
    change(plant)
    file.write_text(json.dumps(plant))
    assert says in refused("--plant", file, "--zone", "saw", "--format", "json")


def test_a_link_that_adds_nothing_is_mentioned_and_passed_over(file):
    plant = json.loads(file.read_text())
    plant["links"] += [{"from": "main", "to": "Q1"}, {"from": "board", "to": "board"}]
    file.write_text(json.dumps(plant))
    status, out, err = run("--plant", file, "--zone", "saw", "--format", "json")
    assert (status, json.loads(out)["lock"]) == (0, ["Q1"])
    assert "links[10]" in err
    assert "links[11]" in err
