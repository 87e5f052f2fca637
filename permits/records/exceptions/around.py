"""What happened around permits: tags, PINs, procedures; and what an officer declared for the whole site."""

from __future__ import annotations

from collections.abc import Iterator

from permits.people.rules.kinds import Kind as PeopleKind
from permits.plant.rules.facts import Fact as PlantFact
from permits.records.entries import Told
from permits.records.exceptions.found import Found, Judge, SoFar
from permits.records.exceptions.kinds import What
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED as POLICY_CHANGED


def withdrawn_tag(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind == PlantFact.WITHDRAWN_TAG_READ:
        yield Found(What.WITHDRAWN_TAG, told)


def wrong_pin(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind in (PeopleKind.PIN_FAILED, PeopleKind.PIN_LOCKED):
        yield Found(What.WRONG_PIN, told)


def procedure_unproven(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind == PlantFact.PROCEDURE_UNPROVEN:
        yield Found(What.PROCEDURE_UNPROVEN, told)


def whole_site(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Emergency and paper mode are exceptions; their ends, and who was told, are notes."""
    match told.event:
        case e.EmergencyDeclared():
            yield Found(What.EMERGENCY, told)
        case e.EmergencyEnded():
            yield Found(What.EMERGENCY_ENDED, told)
        case e.PaperDeclared():
            yield Found(What.ON_PAPER, told)
        case e.PaperEnded():
            yield Found(What.PAPER_ENDED, told)
        case e.ReturnedTold():
            yield Found(What.TOLD_BACK, told)
    if told.kind == POLICY_CHANGED:
        yield Found(What.POLICY_CHANGED, told)


JUDGES: tuple[Judge, ...] = (withdrawn_tag, wrong_pin, procedure_unproven, whole_site)
KINDS = (
    PlantFact.WITHDRAWN_TAG_READ.value,
    PeopleKind.PIN_FAILED.value,
    PeopleKind.PIN_LOCKED.value,
    PlantFact.PROCEDURE_UNPROVEN.value,
    POLICY_CHANGED,
)
"""The kinds of entry that these look at, besides the events of the whole site."""
