"""The plant's rows and its energy graph: one from the other. A compiled graph is kept in the process."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from decimal import Decimal
from hashlib import sha256
from threading import Lock
from typing import Any

from permits.ledger.canonical import canonical
from permits.people.models import Site
from permits.plant import models
from permits.plant.rules import energy, plantfile
from permits.plant.rules.demands import as_demanded
from permits.plant.rules.gradedrows import stored_demands
from permits.plant.rules.hazardrows import stored_hazard_lines
from permits.plant.rules.stores.lines import lines_of
from permits.plant.rules.stores.physics import stored_physics

_KEPT_GRAPHS = 16
_graphs: OrderedDict[tuple[int, str], energy.Graph] = OrderedDict()
_lock = Lock()


def graph_of(site: Site) -> energy.Graph:
    """The site's energy graph as the rows say it now, and as its demands have it. Compiled once.

    As demanded: an isolator that is out of service, of too low a grade or without a grade where one is
    demanded can't be locked in it, whatever its row says (`rules.demands`); a tag-only point can, where the
    site lets a tag stand for a lock. So plans, procedures, permits and what is proven again after a change
    all go by the demands. What the rows say themselves is `plant_file_of(site).graph`.

    It is kept under the digest of the plant, not under its version: a version that was rolled back may be
    given again to other rows, a digest never is.
    """
    while True:
        before = _digest(site)
        with _lock:
            if (kept := _graphs.get((site.pk, before))) is not None:
                _graphs.move_to_end((site.pk, before))
                return kept
        graph = graph_for(plant_file_of(site))
        if _digest(site) == before:  # else someone changed the plant between two of our queries
            with _lock:
                _graphs[site.pk, before] = graph
                while len(_graphs) > _KEPT_GRAPHS:
                    _graphs.popitem(last=False)
            return graph


def graph_for(plant_file: plantfile.PlantFile) -> energy.Graph:
    """A plant file's graph as its demands and its hazard lines have it; `graph_of` once it is the site's."""
    graph = as_demanded(plant_file.graph, plant_file.demands, tag_out=plant_file.tag_out)
    return replace(graph, lines=lines_of(plant_file.hazard_lines)) if plant_file.hazard_lines else graph


def demands_of(site: Site) -> dict[energy.Medium, energy.Grade]:
    """The least grade that the site demands for each medium that has one."""
    stored = models.PlantState.objects.filter(site=site).values_list("demands", flat=True).first()
    return stored_demands(stored or {})


def tag_out_of(site: Site) -> bool:
    """Whether the site lets a tag with its extra measure stand for a lock where no lock fits."""
    return models.PlantState.objects.filter(site=site).values_list("tag_out", flat=True).first() or False


def hazard_lines_of(site: Site) -> dict[str, Decimal]:
    """The lines above which stored energy can hurt that the site drew tighter than they are published."""
    stored = models.PlantState.objects.filter(site=site).values_list("hazard_lines", flat=True).first()
    return stored_hazard_lines(stored or {})


def version_of(site: Site) -> int:
    """The version of the site's plant; 0 before the first import."""
    return models.PlantState.objects.filter(site=site).values_list("version", flat=True).first() or 0


def digest_of(plant: dict[str, Any]) -> str:
    """SHA-256, in hexadecimal, of a plant's canonical JSON with its rows in order."""
    return sha256(canonical(plantfile.in_order(plant))).hexdigest()


def to_plant_file(site: Site) -> dict[str, Any]:
    """The site's plant as a plant file; importing it again changes nothing."""
    return plantfile.as_dict(plant_file_of(site))


def plant_file_of(site: Site) -> plantfile.PlantFile:
    """The site's rows as a plant file; a site without a plant has an empty one. Four queries."""
    state = models.PlantState.objects.filter(site=site).first()
    machines = models.Machine.objects.live().filter(site=site).order_by("pk")
    nodes = models.Node.objects.live().filter(site=site).order_by("pk").select_related("machine")
    links = models.Link.objects.filter(site=site).order_by("pk")
    return plantfile.PlantFile(
        plant=state.plant if state else site.name[:120],
        graph=energy.Graph.of(
            map(node_of, nodes),
            (energy.Link(*link) for link in links.values_list("source__code", "target__code", "both")),
        ),
        code=site.code,
        note=state.note if state else "",
        demands=stored_demands(state.demands) if state else {},
        tag_out=state.tag_out if state else False,
        hazard_lines=stored_hazard_lines(state.hazard_lines) if state else {},
        machines=tuple(
            plantfile.Machine(row.code, row.name, row.designation, row.place, row.hazards) for row in machines
        ),
    )


def node_of(row: models.Node) -> energy.Node:
    """The node that a row describes."""
    return energy.Node(
        id=row.code,
        kind=energy.Kind(row.kind),
        label=row.label,
        effort=row.effort,
        lockable=row.lockable,
        releasable=row.releasable,
        sequence=row.sequence,
        machine=row.machine.code if row.machine else None,
        designation=row.designation,
        place=row.place,
        medium=energy.Medium(row.medium) if row.medium else None,
        magnitude=row.magnitude,
        device=row.device,
        test=_test(row.test),
        release=energy.Release(**row.release) if row.release else None,
        physics=stored_physics(row.physics) if row.physics else None,
        danger_area=row.danger_area,
        outfeed=row.outfeed,
        grade=energy.Grade(row.grade) if row.grade else None,
        out_of_service=row.out_of_service,
        tag_only=energy.TagOnly(**row.tag_only) if row.tag_only else None,
    )


def _digest(site: Site) -> str:
    return models.PlantState.objects.filter(site=site).values_list("digest", flat=True).first() or ""


def _test(stored: dict[str, Any] | None) -> energy.Test | None:
    if not stored:
        return None
    return energy.Test(
        stored["quantity"], stored["unit"], Decimal(stored["limit"]), tuple(stored.get("combinations", ()))
    )
