"""The plant file: one site's machines and energy graph as a JSON file of our own; read, checked, written.

A plant file is one JSON object in UTF-8. Members marked * must be there, the others may be left out.

    {"plant": "Quillfen Panel Works", "code": "QPW", "note": "…",
     "machines": [{"id": "C1", "name": "Crosscut cell"}],
     "nodes": [{"id": "L3-QB1", "kind": "isolator", "label": "Main disconnector", "machine": "C1"}, …],
     "links": [{"from": "L3-QB1", "to": "C1-DRIVE"}, …]}

The plant
    plant*        the site's name
    demands       object: for a medium, the lowest grade of isolator that counts there, such as
                  {"pneumatic": "proved"}. What falls short, an isolator of that medium with no grade stated
                  included, counts as unable to isolate it
    tag_out       true where, at a point that takes no lock, a tag with its extra measure stands for the lock
                  (default false: such a point isolates nothing)
    hazard_lines  object: lines above which stored energy can hurt that are tighter here than the published
                  ones, such as {"shock_v": "60"}; `stores/lines.py` has them all. None can be looser
    code          the site's short name: 1 to 16 of A-Z and 0-9; it finds the site again on the next import
    note          anything worth knowing about the file
    machines      list of machines; needed as soon as a node names one
    nodes*        list of nodes
    links*        list of links

A machine
    id*           1 to 64 characters, unique among machines
    name*         what people call it
    designation   reference designation after IEC 81346, such as "=L3.C1"
    place         where it stands
    hazards       what it can do to a person, in words

A node
    id*           1 to 64 characters, unique among nodes
    kind*         supply, isolator, store, carrier or zone
    label         what people call it; the id where left out
    effort        what it costs to lock or release it, a positive whole number (default 1): the plan with the
                  least sum is taken
    lockable      isolators: true (default) or false, where nothing can hold it off
    releasable    stores: true (default) or false, where nothing can make it harmless
    sequence      whole number (default 0): points are locked, and stores released, in this order
    machine       id of the machine it belongs to
    designation   reference designation, such as "=L3.C1+H2-QB1"
    place         where to walk to
    medium        electrical, pneumatic, hydraulic, gravity, rotating, spring, thermal or chemical
    magnitude     how much, in words: "400 V AC, 63 A", "7 bar"
    device        what it is: "load-break disconnector". A control device (emergency stop, push button,
                  selector, safe torque off, light curtain, solenoid or check valve, contactor, relay, PLC
                  output, interlock) is a carrier: as an isolator it is refused
    test          isolators and stores: how zero energy is proven (below)
    release       stores: how it is made harmless (below)
    physics       stores: what it holds, in figures (`stores/physics.py`)
    grade         isolators: positive, proved or non-proved; what a site demands by `demands`
    out_of_service  isolators: true while it must not be relied on (default false): it isolates nothing
    tag_only      isolators with lockable false: {"measure": "…"}, where no lock fits but a tag may hang; the
                  measure is what is done besides
    danger_area   zones: true where it must be confirmed clear of people before energy returns
    outfeed       zones: true where parts are thrown or carried out

A test
    quantity*     what is read: "voltage", "pressure", "height above stop"
    unit*         "V", "bar", "mm"
    limit*        the highest reading that passes, as a number or as a text of digits ("0.05"), kept exactly;
                  never above a published one: 50 V, and the burn threshold of a hot part
    conductors    electrical: the conductors, at least two of L1 L2 L3 L+ L- M N PE; every pair is measured
    combinations  instead of conductors: the pairs themselves, such as "L1-L2". Neither: one reading

A release
    method*       what is done
    wait_s        seconds to wait before the test counts (default 0, at most 7 days)
    undoable      true where someone could take it away again (a prop, a pin, an open bleed, an earth)
    recheck_min   minutes after which it must be tested again, where it can recharge; null (default): never

A link
    from*, to*    ids of two different nodes; energy passes from the first to the second
    both          true where energy can also pass back (default false). A zone has no way out: no link comes
                  from a zone and none that touches a zone is both

`strict=False` reads a bare energy graph: members it does not know are passed over, links may be given twice
or lead back to where they start, and nodes may name machines without a list of them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from permits.plant.rules.energy import Grade, Graph, Link, Medium
from permits.plant.rules.gradedrows import read_demands, written_demands
from permits.plant.rules.hazardrows import read_hazard_lines, written_hazard_lines
from permits.plant.rules.jsontext import Members, NotJson, as_members, load
from permits.plant.rules.noderows import LONGEST_ID, read_node, write_node
from permits.plant.rules.rows import Nearest, PlantFileError, PlantFileErrors, Row, shown
from permits.plant.rules.stores.lines import SiteLines, lines_of

__all__ = [
    "Machine", "PlantFile", "PlantFileError", "PlantFileErrors", "as_dict", "check", "in_order", "parse",
]  # fmt: skip

_PLANT = ("plant", "code", "note", "demands", "tag_out", "hazard_lines", "machines", "nodes", "links")
_MACHINE = ("id", "name", "designation", "place", "hazards")
_LINK = ("from", "to", "both")
_CODE = re.compile(r"[A-Z0-9]{1,16}")


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine of the site, as the plant file tells it."""

    id: str
    name: str
    designation: str = ""
    place: str = ""
    hazards: str = ""


@dataclass(frozen=True)
class PlantFile:
    """A plant file that has passed every check."""

    plant: str
    graph: Graph
    code: str = ""
    note: str = ""
    machines: tuple[Machine, ...] = ()
    demands: Mapping[Medium, Grade] = field(default_factory=dict)
    tag_out: bool = False
    hazard_lines: SiteLines = field(default_factory=dict)


def parse(text: str | bytes, *, strict: bool = True) -> PlantFile:
    """Read a plant file and check it. Raises PlantFileErrors with everything that is wrong with it."""
    try:
        value = load(text)
    except NotJson as error:
        raise PlantFileErrors((PlantFileError(error.where, "", error.wrong, error.right),)) from None
    return check(value, strict=strict)


def check(plant: Any, *, strict: bool = True) -> PlantFile:
    """Check a plant file that is already a Python value, as `json.loads` or `as_dict` gives it.

    Raises PlantFileErrors, as `parse` does.
    """
    errors: list[PlantFileError] = []
    top = as_members(plant)
    if not isinstance(top, Members):
        right = "one object with plant, nodes and links"
        raise PlantFileErrors((PlantFileError("the file", "", f"is {shown(top)}", right),))
    nearest = Nearest()
    row = Row("the file", top, errors)
    row.check_names(_PLANT, nearest, strict=strict)
    name = row.text("plant", longest=120, required="the site's name")
    code = row.text("code", longest=60)
    if code and not _CODE.fullmatch(code):
        row.wrong("code", f"is {shown(code)}", "1 to 16 of A-Z and 0-9")
    note = row.text("note", longest=4000, lines=True)

    demands = read_demands(row, nearest)
    tag_out = row.yes_no("tag_out", False)
    hazard_lines = read_hazard_lines(row, nearest)
    lines = lines_of(hazard_lines)
    machines = _machines(row, nearest, strict=strict)
    nodes = []
    kinds: dict[str, Any] = {}  # of every row with an id, also where the row has errors: one error, not two
    first_row: dict[str, str] = {}
    for item in _rows(row, "nodes", ("id",), needed=True):
        nodes.append(read_node(item, nearest, strict=strict, lines=lines))
        id = item.raw("id")
        if isinstance(id, str):
            if id in kinds:
                item.wrong("id", f"{first_row[id]} has it already", "an id of its own")
            kinds.setdefault(id, item.raw("kind"))
            first_row.setdefault(id, item.name.split(" ")[0])
        _check_machine(item, machines, nearest, strict=strict)
    links = _links(row, kinds, nearest, strict=strict)
    if errors:
        raise PlantFileErrors(tuple(errors))
    listed = tuple((machines or {}).values())
    return PlantFile(name, Graph.of(nodes, links), code, note, listed, demands, tag_out, hazard_lines)


def as_dict(plant_file: PlantFile) -> dict[str, Any]:
    """The plant file as JSON values (text, int, bool, list, dict), defaults left out, in the file's order.

    `check(as_dict(p)) == p` for every plant file p.
    """
    top: dict[str, Any] = {"plant": plant_file.plant}
    for name in ("code", "note"):
        if value := getattr(plant_file, name):
            top[name] = value
    if plant_file.demands:
        top["demands"] = written_demands(plant_file.demands)
    if plant_file.tag_out:
        top["tag_out"] = True
    if plant_file.hazard_lines:
        top["hazard_lines"] = written_hazard_lines(plant_file.hazard_lines)
    if plant_file.machines:
        top["machines"] = [
            {field: value for field in _MACHINE if (value := getattr(machine, field))}
            for machine in plant_file.machines
        ]
    top["nodes"] = [write_node(node) for node in plant_file.graph.nodes.values()]
    top["links"] = [
        {"from": link.source, "to": link.target} | ({"both": True} if link.both else {})
        for link in plant_file.graph.links
    ]
    return top


def in_order(plant: dict[str, Any]) -> dict[str, Any]:
    """The same plant with rows sorted, so that two files that say the same have the same canonical bytes."""
    by_id = {
        list_name: sorted(plant[list_name], key=lambda row: row["id"])
        for list_name in ("machines", "nodes")
        if list_name in plant
    }
    return plant | by_id | {"links": sorted(plant["links"], key=lambda link: (link["from"], link["to"]))}


def _rows(top: Row, field: str, named_by: tuple[str, ...], *, needed: bool) -> list[Row]:
    """The objects of a list, each as a row named after its place and its id (or its two ends)."""
    if field not in top:
        if needed:
            top.wrong(field, "is missing", f"a list of {field}")
        return []
    value = top.raw(field)
    if not isinstance(value, list):
        top.wrong(field, f"is {shown(value)}", f"a list of {field}")
        return []
    rows = []
    for at, item in enumerate(value):
        if not isinstance(item, Members):
            top.errors.append(PlantFileError(f"{field}[{at}]", "", f"is {shown(item)}", "an object in { }"))
            continue
        called = [shown(item[name]) for name in named_by if isinstance(item.get(name), str)]
        if len(called) == 2:
            name = f"{field}[{at}] ({called[0]} to {called[1]})"
        else:
            name = f"{field}[{at}]" + (f" (id {called[0]})" if called and named_by == ("id",) else "")
        rows.append(Row(name, item, top.errors))
    return rows


def _machines(top: Row, nearest: Nearest, *, strict: bool) -> dict[str, Machine] | None:
    """The machines by id; None where the file has no list of them."""
    if "machines" not in top:
        return None
    machines: dict[str, Machine] = {}
    for row in _rows(top, "machines", ("id",), needed=False):
        row.check_names(_MACHINE, nearest, strict=strict)
        machine = Machine(
            row.id("id", LONGEST_ID),
            row.text("name", longest=120, required="what people call the machine"),
            row.text("designation", longest=120),
            row.text("place", longest=200),
            row.text("hazards", longest=2000, lines=True),
        )
        if machine.id in machines:
            row.wrong("id", "another machine has it already", "an id of its own")
        machines.setdefault(machine.id, machine)
    return machines


def _check_machine(
    row: Row, machines: Mapping[str, Machine] | None, nearest: Nearest, *, strict: bool
) -> None:
    named = row.raw("machine")
    if not isinstance(named, str) or not named:
        return
    if machines is None:
        if strict:
            wrong = f"is {shown(named)}, but the file lists no machines"
            row.wrong("machine", wrong, "a list 'machines' with it in it")
    elif named not in machines:
        near = nearest.to(named, tuple(machines))
        row.wrong("machine", f"no machine has the id {shown(named)}", _an_id(near, "machines"))


def _links(top: Row, kinds: Mapping[str, Any], nearest: Nearest, *, strict: bool) -> list[Link]:
    links: list[Link] = []
    first_row: dict[tuple[str, str], str] = {}
    for row in _rows(top, "links", ("from", "to"), needed=True):
        row.check_names(_LINK, nearest, strict=strict)
        for end in ("from", "to"):
            named = row.raw(end)
            if not isinstance(named, str):
                row.wrong(end, f"is {shown(named)}" if end in row else "is missing", "the id of a node")
            elif named not in kinds:
                near = nearest.to(named, tuple(kinds))
                row.wrong(end, f"no node has the id {shown(named)}", _an_id(near, "nodes"))
        both = row.yes_no("both", False)
        source, target = row.raw("from"), row.raw("to")
        if not (isinstance(source, str) and isinstance(target, str)):
            continue
        if kinds.get(source) == "zone":
            wrong = f"{shown(source)} is a zone, and a zone has no way out"
            row.wrong("from", wrong, "a link that only leads to the zone")
        elif both and kinds.get(target) == "zone":
            wrong = f"is true, but {shown(target)} is a zone, and a zone has no way out"
            row.wrong("both", wrong, "false, or to leave it out")
        if strict and source == target:
            row.wrong("to", "the link leads back to where it starts", "two different nodes")
        if strict and (source, target) in first_row:
            row.wrong("", f"{first_row[source, target]} is the same link", "to give it once")
        first_row.setdefault((source, target), row.name.split(" ")[0])
        links.append(Link(source, target, both))
    return links


def _an_id(near: str | None, list_name: str) -> str:
    right = f"the id of one of the {list_name}"
    return f"{shown(near)}, if that was meant, or {right}" if near else right
