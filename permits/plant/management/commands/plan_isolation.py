"""plan_isolation: the cheapest isolation of some zones of a plant file, or the path that rules it out."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any, NoReturn

from django.core.management.base import BaseCommand

from permits.plant.rules.conflict import supplied
from permits.plant.rules.demands import Shortfall, as_demanded, measures, shortfall
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.plan import Do, NoPlan, Plan, plan
from permits.plant.rules.plantfile import PlantFile, PlantFileErrors, parse
from permits.plant.rules.rows import PlantFileError

CAUTION = (
    "Worked out from the plant file alone. It makes nothing safe: locks, tests and people do. Local codes, "
    "the written energy-control procedure and licensed practice come first."
)
_LOOKED_AT = 20_000  # ids compared with a misspelt one; more would take seconds
_DOING = {Do.STOP: "Stop", Do.LOCK: "Lock", Do.RELEASE: "Release", Do.VERIFY: "Verify"}


class Command(BaseCommand):
    help = (
        "Work out the cheapest isolators to lock and stores to release so that no energy reaches the zones, "
        "and the order of the steps. Needs no database. Exit status 0: a plan; 1: nothing isolates the "
        "zones, and a path shows why; 2: the file or an id is wrong, and standard error says how."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--plant", metavar="FILE", required=True, help="the plant file, or - for standard input"
        )
        parser.add_argument(
            "--zone", metavar="ID", action="append", required=True, help="a zone to isolate; may be repeated"
        )
        parser.add_argument(
            "--keep-live", metavar="ID", action="append", default=[],
            help="a node that a supply must still reach; may be repeated",
        )  # fmt: skip
        parser.add_argument(
            "--tag-out", action="store_true",
            help="a tag with its extra measure may stand for a lock, at points that only take a tag",
        )  # fmt: skip
        parser.add_argument("--format", choices=["text", "json"], default="text", help="default: text")

    def handle(self, *args: Any, **options: Any) -> None:
        plant_file = self._read(options["plant"])
        tag_out = options["tag_out"] or plant_file.tag_out
        graph = as_demanded(plant_file.graph, plant_file.demands, tag_out=tag_out)
        zones, keep = options["zone"], options["keep_live"]
        if wrong := [*_wrong_zones(graph, zones), *_wrong_nodes(graph, keep)]:
            self._refuse("No isolation was planned:", wrong)
        answer = plan(graph, zones, keep)
        short = shortfall(graph, plant_file.demands, answer.path) if isinstance(answer, NoPlan) else ()
        if options["format"] == "json":
            self.stdout.write(json.dumps(_as_json(graph, answer, short)))
        else:
            self.stdout.write("\n".join(_in_words(graph, zones, keep, answer, short)))
        if isinstance(answer, NoPlan):
            sys.exit(1)

    def _read(self, file: str) -> PlantFile:
        name = "Standard input" if file == "-" else file
        try:
            text = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
            return self._plant_file(name, text)
        except PlantFileErrors as errors:
            self._refuse(f"{name} is no plant file to plan from:", map(str, errors.errors))
        except (OSError, ValueError) as error:  # ValueError: a file name with a null character
            wrong = getattr(error, "strerror", None) or error
            self._refuse(f"{name} can't be read:", [f"{wrong}. Right would be the path of a plant file."])

    def _plant_file(self, name: str, text: bytes) -> PlantFile:
        """What an import refuses but no plan depends on (a foreign member, a link given twice) is said on
        standard error and passed over; a member that looks like a misspelt one of ours is not."""
        try:
            return parse(text)
        except PlantFileErrors as errors:
            try:
                plant_file = parse(text, strict=False)
            except PlantFileErrors:
                raise errors from None
            if any(map(_is_misspelt, errors.errors)):
                raise
            self.stderr.write(f"{name}: passed over, though an import would refuse it:")
            for error in errors.errors:
                self.stderr.write(f"  {error}")
            return plant_file

    def _refuse(self, what: str, lines: Iterable[str]) -> NoReturn:
        self.stderr.write(what)
        for line in lines:
            self.stderr.write(f"  {line}")
        sys.exit(2)


def _is_misspelt(error: PlantFileError) -> bool:
    """Whether a member is unknown and near to a known one: the plan would be made without what was meant."""
    return "no such member" in error.wrong and not error.right.startswith("one of")


def _wrong_zones(graph: Graph, ids: Iterable[str]) -> Iterator[str]:
    zones = [id for id, node in graph.nodes.items() if node.kind is Kind.ZONE]
    for id in dict.fromkeys(ids):
        if id not in graph.nodes:
            yield f"--zone: no node has the id '{id}'. Right would be {_nearest(id, zones, 'a zone')}."
        elif graph[id].kind is not Kind.ZONE:
            right = _nearest(id, zones, "a zone")
            yield f"--zone: '{id}' is of kind {graph[id].kind.value}, not zone. Right would be {right}."


def _wrong_nodes(graph: Graph, ids: Iterable[str]) -> Iterator[str]:
    for id in dict.fromkeys(ids):
        if id not in graph.nodes:
            right = _nearest(id, list(graph.nodes), "a node")
            yield f"--keep-live: no node has the id '{id}'. Right would be {right}."


def _nearest(id: str, known: list[str], what: str) -> str:
    near = get_close_matches(id, known[:_LOOKED_AT], n=3) if known else []
    if not near and len(known) <= 10:
        near = known
    return f"the id of {what}" + (", such as " + ", ".join(f"'{one}'" for one in near) if near else "")


def _as_json(graph: Graph, answer: Plan | NoPlan, short: Sequence[Shortfall]) -> dict[str, Any]:
    """What is not always there, such as shortfalls and measures, is left out where there is none."""
    if isinstance(answer, NoPlan):
        against = [{"keep": conflict.keep, "zone": conflict.zone} for conflict in answer.conflicts]
        refused: dict[str, Any] = {"isolatable": False, "path": list(answer.path)}
        refused |= {"conflicts": against} if against else {}
        return refused | ({"shortfalls": [{"point": s.point, "why": s.why} for s in short]} if short else {})
    found: dict[str, Any] = {
        "isolatable": True,
        "effort": answer.effort,
        "lock": list(answer.lock),
        "release": list(answer.release),
        "order": [{"do": step.do.value, "point": step.point} for step in answer.order],
    }
    if tagged := measures(graph, answer.lock):
        found["measures"] = [{"point": one.point, "measure": one.measure} for one in tagged]
    return found if answer.proven_cheapest else found | {"proven_cheapest": False}


def _in_words(
    graph: Graph, zones: list[str], keep: list[str], answer: Plan | NoPlan, short: Sequence[Shortfall]
) -> Iterator[str]:
    asked = _all_named(graph, zones)
    if isinstance(answer, NoPlan):
        yield f"Nothing isolates {asked}{' with what is to be kept live' if answer.conflicts else ''}."
        yield from _why_not(graph, answer)
        for one in short:
            yield f"{_named(graph, one.point)} {one.why}."
    elif answer.order:
        counts = f"locks {len(answer.lock)}, releases {len(answer.release)}"
        yield f"To isolate {asked}: effort {answer.effort}, {counts}."
        for number, step in enumerate(answer.order, 1):
            yield f"{number:3}. {_DOING[step.do]:8}{_where(graph, step.point)}"
        for tagged in measures(graph, answer.lock):
            yield f"{_named(graph, tagged.point)} takes a tag, no lock. Besides the tag: {tagged.measure}"
    else:
        yield f"No energy reaches {asked}: there is nothing to lock and nothing to release."
    if isinstance(answer, Plan) and keep:
        yield f"Stays live: {_all_named(graph, keep)}."
    if isinstance(answer, Plan) and not answer.proven_cheapest:
        yield "The best plan found, not proven cheapest: there are too many points to try everything."
    yield ""
    yield CAUTION


def _why_not(graph: Graph, answer: NoPlan) -> Iterator[str]:
    never_live = {one.keep for one in answer.conflicts if supplied(graph, one.keep) is None}
    for id in dict.fromkeys(one.keep for one in answer.conflicts):
        against = _all_named(graph, (one.zone for one in answer.conflicts if one.keep == id))
        if id in never_live:
            yield f"No supply reaches {_named(graph, id)}, even with nothing locked: it can't be kept live."
        else:
            yield f"{_named(graph, id)} can't be kept live while {against} is isolated."
    if answer.conflicts and answer.conflicts[0].keep in never_live:
        return
    yield "Energy would come this way:" if answer.conflicts else "Nothing can be locked on this path:"
    for id in answer.path:
        yield f"  {graph[id].kind.value:9}{_named(graph, id)}"


def _where(graph: Graph, point: str | None) -> str:
    if point is None:
        return "the machine, with the parking moves that need power: lower, retract, vent"
    place = graph[point].place
    return _named(graph, point) + (f", {place}" if place else "")


def _all_named(graph: Graph, ids: Iterable[str]) -> str:
    return ", ".join(_named(graph, id) for id in dict.fromkeys(ids))


def _named(graph: Graph, id: str) -> str:
    node = graph[id]
    return f"{node.label} ({id})" if node.label else id
