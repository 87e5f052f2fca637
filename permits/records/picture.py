"""The energy picture of a record: an open permit as it stands, one that is over as it was proven dead."""

from __future__ import annotations

from dataclasses import dataclass

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant.rules.facts import Fact
from permits.plant.store import graph_of
from permits.records.story import Story
from permits.work.queries import Look
from permits.work.rules import state


@dataclass(frozen=True, slots=True)
class Scene:
    """What is to be drawn, and in words what it shows."""

    look: Look
    caption: str


def scene_of(site: Site, story: Story) -> Scene | None:
    """None where the plant has none of the permit's zones any more, or the request can't be read."""
    account = story.account
    graph = graph_of(site)
    if account is None or not any(zone in graph.nodes for zone in account.permit.zones):
        return None
    since = account.began.get(("locks", 0))
    if not account.permit.phase.is_over:
        permit, at = account.permit, story.lines[-1].at
        caption = f"As of entry {story.last}, {story.clock.full(at)}."
    elif account.proven is not None:
        permit, told = account.proven
        at = told.at
        caption = f"As it was last proven dead: entry {told.number}, {story.clock.full(at)}."
        since = told
    else:
        permit, at = account.permit, story.lines[-1].at
        caption = "The plan; it was never proven dead."
    if since is not None and (change := changed_since(site, since.number)):
        caption += f" The plant was changed since then (entry {change}); it is drawn as it is now."
    people = {ref: state.Person(ref, name) for ref, name in story.names.people.items()}
    drawn = state.Site(graph=graph, people=people, permits={permit.id: permit}, timezone=site.timezone)
    return Scene(Look(site=drawn, permit=permit, seen=0, at=at), caption)


def changed_since(site: Site, number: int) -> int | None:
    """The first entry after `number` in which the plant was changed."""
    entries = Entry.objects.filter(head=site.head_id, kind=Fact.PLANT_CHANGED.value, number__gt=number)
    return entries.order_by("number").values_list("number", flat=True).first()
