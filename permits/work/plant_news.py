"""What a site's ledger tells of the plant after an entry, for a permit whose page showed the plan."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant.rules.facts import Fact
from permits.work.happened import person_in
from permits.work.rules import commands, state
from permits.work.rules.plant_news import SHOWS_THE_PLANT, PlantChange, PlantNews, what_changed

# What a procedure's entry says, where a permit goes by the approved revision. Its approval says that it took
# another's place.
OF_PROCEDURES = {
    Fact.PROCEDURE_APPROVED: "was approved",
    Fact.PROCEDURE_UNPROVEN: "no longer holds",
    Fact.PROCEDURE_PROVEN_AGAIN: "holds again",
}
OF_EVERY_PLAN = ("note", "demands", "tag_out", "hazard_lines")


def plant_news_since(
    site: Site, now: state.Site, command: commands.Command, seen: int
) -> tuple[PlantNews, ...]:
    """What became of the plant and the procedures that the command's page shows, after entry `seen`.

    `now` is the state after all of it. Empty for a command whose page does not show the plan. One query, and
    one more where the plant changed.
    """
    permit = now.permits.get(command.permit)
    if not isinstance(command, SHOWS_THE_PLANT) or permit is None:
        return ()
    kinds = (Fact.PLANT_CHANGED, *OF_PROCEDURES)
    entries = Entry.objects.filter(head=site.head_id, kind__in=kinds).order_by("number")
    return tuple(news_of(now, permit, list(entries.filter(number__gt=seen)), before_them(entries, seen)))


def before_them(entries: Any, seen: int) -> Iterator[Mapping[str, Any]]:
    """The plant's last entry that the page could know, if any; asked for only where it is needed."""
    last = entries.filter(number__lte=seen, kind=Fact.PLANT_CHANGED).last()
    if last is not None:
        yield data_of(last)


def news_of(
    now: state.Site, p: state.Permit, entries: list[Entry], before: Iterator[Mapping[str, Any]]
) -> Iterator[PlantNews]:
    earlier: Mapping[str, Any] | None = None
    for entry in entries:
        data = data_of(entry)
        if entry.kind == Fact.PLANT_CHANGED:
            earlier = earlier if earlier is not None else next(before, {})
            what = what_changed(now, p, change_of(data, earlier))
            earlier = data
        else:
            what = of_a_procedure(now, p, entry)
        if what:
            yield PlantNews(person_in(entry), entry.at, what)


def data_of(entry: Entry) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(entry.body)["data"]
    return found


def change_of(data: Mapping[str, Any], earlier: Mapping[str, Any]) -> PlantChange:
    """What one entry of the plant changed; `earlier`: the one before it."""
    rows = {name: [*data["put"][name], *data["gone"][name]] for name in ("machines", "nodes", "links")}
    return PlantChange(
        machines=tuple(row["id"] for row in rows["machines"]),
        nodes=tuple(row["id"] for row in rows["nodes"]),
        links=tuple((row["from"], row["to"]) for row in rows["links"]),
        whole=any(data.get(name) != earlier.get(name) for name in OF_EVERY_PLAN),
    )


def of_a_procedure(now: state.Site, p: state.Permit, entry: Entry) -> str | None:
    machine, _, revision = entry.about.removeprefix("procedure:").rpartition("/")
    if machine not in now.machines_of(p.zones):
        return None
    return f"revision {revision} of the procedure of {machine} {OF_PROCEDURES[Fact(entry.kind)]}"
