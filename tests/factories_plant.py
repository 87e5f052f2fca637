"""Plants for tests: the demo plant, a small one, random ones, and what is made from them."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.utils.timezone import now
from hypothesis import strategies as st

from permits.ledger.body import GENESIS
from permits.ledger.pen import Author
from permits.people.actions import add_site
from permits.people.models import Person, Site
from permits.plant.actions import approve_procedure, draft_procedure, import_plant
from permits.plant.models import Machine, Procedure
from permits.plant.rules.conductors import PAIRS
from permits.plant.rules.energy import Grade, Medium
from permits.plant.rules.plantfile import PlantFile, check, parse
from permits.plant.rules.procedures import TEXTS
from permits.plant.rules.stores.kinds import MEDIUM_OF
from permits.plant.rules.stores.lines import LINES
from permits.records.demo import open_neighbours_permit
from tests.plant.random_stores import stores

QUILLFEN = Path(__file__).parent.parent / "fixtures" / "quillfen.json"
SEVEN = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
CLERK = Author("system:tests", GENESIS)
SAW_ZONES = ("C1-INFEED", "C1-CHAMBER", "C1-OUTFEED")
WRITTEN = {field: f"In words: {words}." for field, words in TEXTS.items()}


def neighbours_at_work(site: Site) -> None:
    """The demo's permit next door, in the hour that begins now: the site's record begins now too."""
    open_neighbours_permit(site, now() + timedelta(minutes=51))


def quillfen() -> PlantFile:
    """The demo plant."""
    return parse(QUILLFEN.read_bytes())


def small_plant(**changes: Any) -> dict[str, Any]:
    """One machine, a feeder through a disconnector and a drive with a capacitor, and air through a valve."""
    return {
        "plant": "Small works",
        "code": "SMALL",
        "machines": [{"id": "M1", "name": "Mill"}],
        "nodes": [
            {"id": "FEED", "kind": "supply"},
            {"id": "Q1", "kind": "isolator", "machine": "M1", "label": "Main switch", "sequence": 1},
            {"id": "CAP", "kind": "store", "machine": "M1", "release": {"method": "Wait.", "wait_s": 60}},
            {"id": "AIR", "kind": "supply"},
            {"id": "V1", "kind": "isolator", "machine": "M1", "effort": 2},
            {"id": "CYL", "kind": "carrier", "machine": "M1"},
            {"id": "BED", "kind": "zone", "machine": "M1", "danger_area": True},
        ],
        "links": [
            {"from": "FEED", "to": "Q1"},
            {"from": "Q1", "to": "CAP"},
            {"from": "CAP", "to": "BED"},
            {"from": "AIR", "to": "V1"},
            {"from": "V1", "to": "CYL"},
            {"from": "CYL", "to": "BED"},
        ],
    } | changes


def small_file(**changes: Any) -> PlantFile:
    return check(small_plant(**changes))


def text_of(plant: object) -> str:
    return json.dumps(plant)


def site_with(plant_file: PlantFile, *, code: str = "") -> Site:
    """A new site with this plant in it."""
    site = add_site(
        code=code or plant_file.code or "SITE", name=plant_file.plant, timezone="UTC", by=CLERK, at=SEVEN
    )
    import_plant(site=site, plant_file=plant_file, by=CLERK, at=SEVEN)
    return site


def officer(sign_in: str) -> Person:
    return Person.objects.create(sign_in=sign_in, name=sign_in.title())


def approved_procedure(
    machine: Machine, zones: tuple[str, ...], *, author: Person, approver: Person
) -> Procedure:
    """An approved procedure with every part written."""
    procedure = draft_procedure(machine=machine, zones=zones, texts=WRITTEN, by=author, at=SEVEN)
    approve_procedure(procedure=procedure, by=approver, at=SEVEN)
    return procedure


# Everything that a text may hold: any script, no control characters, no lone surrogates.
_text = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=12)
_words = _text.filter(str.strip)
_ids = st.text(st.characters(exclude_categories=("Cc", "Cs", "Z")), min_size=1, max_size=6)


def _decimals(most: float) -> st.SearchStrategy[str]:
    return st.decimals(0, most, places=3, allow_nan=False).map(lambda d: format(d, "f"))


_limits = st.tuples(st.just("V"), _decimals(50)) | st.tuples(st.just("bar"), _decimals(10**6))
_lines = st.fixed_dictionaries(
    {}, optional={name: _decimals(float(line.published) or 3) for name, line in LINES.items()}
)


@st.composite
def plants(draw: st.DrawFn) -> dict[str, Any]:
    """A plant file with every member that its rows may have, sound but otherwise random."""
    machines = [
        {
            "id": id,
            "name": draw(_words),
            "hazards": draw(_text),
            "designation": draw(_text),
            "place": draw(_text),
        }
        for id in draw(st.lists(_ids, unique=True, max_size=3))
    ]
    nodes = [_node(draw, id, machines) for id in draw(st.lists(_ids, unique=True, max_size=8))]
    kinds = {node["id"]: node["kind"] for node in nodes}
    links = []
    if len(nodes) > 1:
        ends = st.tuples(st.sampled_from(list(kinds)), st.sampled_from(list(kinds)))
        for source, target in draw(st.lists(ends, unique=True, max_size=12)):
            if source != target and kinds[source] != "zone":
                both = draw(st.booleans()) and kinds[target] != "zone"
                links.append({"from": source, "to": target, "both": both})
    media, grades = st.sampled_from([one.value for one in Medium]), st.sampled_from([g.value for g in Grade])
    return {
        "plant": draw(_words),
        "note": draw(_text),
        "demands": draw(st.dictionaries(media, grades, max_size=3)),
        "tag_out": draw(st.booleans()),
        "hazard_lines": draw(_lines),
        "machines": machines,
        "nodes": nodes,
        "links": links,
    }


def _node(draw: st.DrawFn, id: str, machines: list[dict[str, Any]]) -> dict[str, Any]:
    kind = draw(st.sampled_from(["supply", "isolator", "store", "carrier", "zone"]))
    node: dict[str, Any] = {
        "id": id,
        "kind": kind,
        "effort": draw(st.integers(1, 2**53 - 1)),
        "lockable": draw(st.booleans()),
        "releasable": draw(st.booleans()),
        "sequence": draw(st.integers(-9, 9)),
        "label": draw(_text),
        "designation": draw(_text),
        "place": draw(_text),
        "magnitude": draw(_text),
        "device": draw(st.sampled_from(["", "ball valve", "Trenner ⏚"])),
    }
    if machines and draw(st.booleans()):
        node["machine"] = draw(st.sampled_from(machines))["id"]
    if kind == "store" and draw(st.booleans()):
        node["physics"] = draw(stores)
    if draw(st.booleans()):
        physics = node.get("physics")
        node["medium"] = MEDIUM_OF[physics["kind"]] if physics else draw(st.sampled_from(list(Medium))).value
    if kind in ("isolator", "store") and draw(st.booleans()):
        unit, limit = draw(_limits)
        node["test"] = {"quantity": draw(_words), "unit": unit, "limit": limit}
        if node.get("medium", "electrical") == "electrical" and draw(st.booleans()):
            node["test"]["combinations"] = draw(
                st.lists(st.sampled_from(PAIRS), unique=True, min_size=1, max_size=3)
            )
    if kind == "store" and draw(st.booleans()):
        node["release"] = {
            "method": draw(_words),
            "wait_s": draw(st.integers(0, 604800)),
            "undoable": draw(st.booleans()),
            "recheck_min": draw(st.none() | st.integers(1, 10080)),
        }
    if kind == "isolator":
        node["out_of_service"] = draw(st.booleans())
        if draw(st.booleans()):
            node["grade"] = draw(st.sampled_from(list(Grade))).value
        if not node["lockable"] and draw(st.booleans()):
            node["tag_only"] = {"measure": draw(_words)}
    if kind == "zone":
        node |= {"danger_area": draw(st.booleans()), "outfeed": draw(st.booleans())}
    return node
