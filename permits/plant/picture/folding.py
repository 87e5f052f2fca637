"""Folding: a chain of carriers becomes one part, and what is far from the work becomes one part. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from permits.plant.picture.scene import Flow, Part, Scene, Wire
from permits.plant.picture.standing import State
from permits.plant.rules.energy import Kind

SHOWN_NAMES = 3

_OURS = frozenset((State.LOCKED, State.PROVEN, State.PLANNED))
_LINKS = (Kind.CARRIER, Kind.ISOLATOR, Kind.SUPPLY)
"""What a run may be made of."""


def without_chains(scene: Scene) -> Scene:
    """Each run of parts that nobody works on, with one way in and one way out, is one part named after it.

    Carriers always; where points are locked or to be locked, also the isolators that are not, and a supply
    at the start of the run, as long as energy goes one way. What is on the path stays as it is.
    """
    work = any(part.state in _OURS for part in scene.parts)
    into: dict[str, list[Wire]] = {part.id: [] for part in scene.parts}
    out: dict[str, list[Wire]] = {part.id: [] for part in scene.parts}
    for wire in scene.wires:
        into[wire.target].append(wire)
        out[wire.source].append(wire)
    parts = {part.id: part for part in scene.parts}
    after: dict[str, str] = {}
    for id, part in parts.items():
        if len(out[id]) != 1 or not _folds(part, work, first=not into[id]):
            continue
        following = parts[out[id][0].target]
        if len(into[following.id]) != 1 or not _folds(following, work) or following.live is not part.live:
            continue
        carriers = part.kind is Kind.CARRIER and following.kind is Kind.CARRIER
        if carriers or not any(wire.both for wire in (*into[id], *out[id], *out[following.id])):
            after[id] = following.id
    chains: list[list[str]] = []
    ends = set(after.values())
    for id in after:
        if id not in ends:
            chain = [id]
            while chain[-1] in after:
                chain.append(after[chain[-1]])
            chains.append(chain)
    return _merged(scene, [[parts[id] for id in chain] for chain in chains])


def _folds(part: Part, work: bool, *, first: bool = False) -> bool:
    if part.on_path:
        return False
    match part.kind:
        case Kind.CARRIER:
            return True
        case Kind.ISOLATOR:
            return work and part.state not in _OURS
        case Kind.SUPPLY:
            return work and first
        case _:
            return False


def without_the_far(scene: Scene, zones: Iterable[str], most: int) -> Scene:
    """At most about `most` parts: those nearest to the zones, every point of the work, and the path.

    What lies beyond is one part for each piece that hangs together, with a count of what is in it.
    """
    if len(scene.parts) <= most:
        return scene
    near = _nearest(scene, zones, most)
    far = {part.id: part for part in scene.parts if part.id not in near}
    beside: dict[str, list[str]] = {id: [] for id in far}
    for wire in scene.wires:
        if wire.source in far and wire.target in far:
            beside[wire.source].append(wire.target)
            beside[wire.target].append(wire.source)
    pieces: list[list[Part]] = []
    met: set[str] = set()
    for id in far:
        if id in met:
            continue
        waiting, piece = [id], {id}
        while waiting:
            fresh = [other for other in beside[waiting.pop()] if other not in piece]
            piece.update(fresh)
            waiting += fresh
        met |= piece
        pieces.append([part for other, part in far.items() if other in piece])
    return _merged(scene, [piece for piece in pieces if len(piece) > 1])


def _nearest(scene: Scene, zones: Iterable[str], most: int) -> set[str]:
    feeders: dict[str, list[str]] = {part.id: [] for part in scene.parts}
    for wire in scene.wires:
        feeders[wire.target].append(wire.source)
        if wire.both:
            feeders[wire.source].append(wire.target)
    near = {part.id for part in scene.parts if part.on_path or part.state in _OURS}
    layer = [zone for zone in zones if zone in feeders]
    while layer and len(near | set(layer)) <= most:
        near |= set(layer)
        layer = list(dict.fromkeys(id for zone in layer for id in feeders[zone] if id not in near))
    return near


def _merged(scene: Scene, pieces: list[list[Part]]) -> Scene:
    """Each piece as one part. It stands where its last part stood, after all that feeds it."""
    stands_for: dict[str, str] = {part.id: part.id for part in scene.parts}
    folded: dict[str, Part] = {}
    for piece in pieces:
        part = _one(piece)
        stands_for.update(dict.fromkeys((one.id for one in piece), part.id))
        folded[part.id] = part
    wires: dict[tuple[str, str], Wire] = {}
    for wire in scene.wires:
        source, target = stands_for[wire.source], stands_for[wire.target]
        if source != target:
            _add(wires, replace(wire, source=source, target=target))
    parts = (folded.get(part.id, part) for part in scene.parts if stands_for[part.id] == part.id)
    return Scene(tuple(parts), tuple(wires.values()))


def _add(wires: dict[tuple[str, str], Wire], wire: Wire) -> None:
    """One line between two parts: the strongest flow of those it stands for."""
    rank = (Flow.DEAD, Flow.LIVE, Flow.PATH)
    there = (wire.source, wire.target)
    if (wire.target, wire.source) in wires:
        there, wire = (
            (wire.target, wire.source),
            replace(wire, source=wire.target, target=wire.source, both=True),
        )
    if there in wires:
        old = wires[there]
        wire = replace(wire, flow=max(old.flow, wire.flow, key=rank.index), both=old.both or wire.both)
    wires[there] = wire


def _one(piece: list[Part]) -> Part:
    live = any(part.live for part in piece)
    kinds = [part.kind for part in piece]
    run = all(kind in _LINKS for kind in kinds) and kinds.count(Kind.SUPPLY) == (kinds[0] is Kind.SUPPLY)
    names = [part.name for part in piece]
    if len(names) > SHOWN_NAMES:
        names = [names[0], "…", names[-1]]
    return Part(
        ids=tuple(id for part in reversed(piece) for id in part.ids),
        kind=(Kind.SUPPLY if kinds[0] is Kind.SUPPLY else Kind.CARRIER) if run else None,
        state=State.LIVE if live else State.UNFED,
        name=" → ".join(names) if run else "Farther from the work",
        note=_run_note(piece) if run else _counted(piece),
        live=live,
        on_path=any(part.on_path for part in piece),
    )


def _run_note(run: list[Part]) -> str:
    isolators = sum(part.kind is Kind.ISOLATOR for part in run)
    if isolators:
        return "isolator not locked" if isolators == 1 else f"{isolators} isolators not locked"
    return "supply" if run[0].kind is Kind.SUPPLY else f"{sum(len(part.ids) for part in run)} carriers"


def _counted(parts: list[Part]) -> str:
    words: Mapping[Kind | None, tuple[str, str]] = {
        Kind.SUPPLY: ("supply", "supplies"),
        Kind.ISOLATOR: ("isolator", "isolators"),
        Kind.STORE: ("store", "stores"),
        Kind.CARRIER: ("carrier", "carriers"),
        Kind.ZONE: ("zone", "zones"),
    }
    counts = {kind: sum(len(part.ids) for part in parts if part.kind is kind) for kind in words}
    return ", ".join(f"{count} {words[kind][count > 1]}" for kind, count in counts.items() if count)
