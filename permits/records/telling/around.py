"""Sentences for what happened around permits: the plant, its procedures and tags; people and their PINs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from permits.people.rules.dates import in_words
from permits.people.rules.kinds import Kind
from permits.people.rules.roles import Role
from permits.plant.rules.codes import shown
from permits.plant.rules.facts import Fact
from permits.records.entries import Told
from permits.records.telling.line import Line, Voice, sentences


def said(told: Told, voice: Voice) -> Line | None:
    """The sentence of a fact of plant or people; None for any other kind."""
    return of_plant(told, voice) or of_people(told, voice)


def of_plant(told: Told, voice: Voice) -> Line | None:
    who, data = voice.names.author(told.by), told.data
    point = voice.names.point(told.about.partition(":")[2])
    procedure = procedure_in_words(told.about, voice)
    match told.kind:
        case Fact.PLANT_CHANGED:
            return Line(f"{who} changed the plant; it is version {data['version']} now")
        case Fact.PROCEDURE_DRAFTED:
            return Line(f"{who} drafted {procedure}", sentences(*how_planned(data, voice)))
        case Fact.PROCEDURE_APPROVED:
            return Line(f"{who} approved {procedure}")
        case Fact.PROCEDURE_SUPERSEDED:
            return Line(f"Revision {data['by_revision']} took the place of {procedure}")
        case Fact.PROCEDURE_UNPROVEN:
            return Line(f"The plant changed: {procedure} no longer holds", sentences(*flaws(data, voice)))
        case Fact.PROCEDURE_PROVEN_AGAIN:
            return Line(f"The plant changed: {procedure} holds again")
        case Fact.TAG_ISSUED:
            again = f", reissue {data['reissue']}" if data["reissue"] else ""
            return Line(f"{who} issued tag {shown(data['short_code'])} for {point}{again}")
        case Fact.TAG_WITHDRAWN:
            return Line(
                f"{who} withdrew tag {shown(data['short_code'])} of {point}", sentences(f"Why: {data['why']}")
            )
        case Fact.WITHDRAWN_TAG_READ:
            return Line(
                f"{who} read the withdrawn tag {shown(data['short_code'])} of {point}",
                "An old plate still hangs somewhere.",
            )
    return None


def procedure_in_words(about: str, voice: Voice) -> str:
    machine, _, revision = about.partition(":")[2].rpartition("/")
    return f"revision {revision} of the procedure of {voice.names.machine(machine)}"


def flaws(data: Mapping[str, Any], voice: Voice) -> list[str]:
    found = []
    for flaw in data["flaws"]:
        name = voice.names.point(flaw["id"])
        path = " → ".join(voice.names.node(code).name for code in flaw["path"])
        if flaw.get("kept_dead"):
            by = f" by {path}" if path else ""
            found.append(f"{name} has to stay live, and no supply reaches it{by}")
            continue
        unusable = f"{name} is gone from the plant, or can't be locked or released any more"
        found.append(f"{name}: energy reaches it by {path}" if path else unusable)
    return found


def how_planned(data: Mapping[str, Any], voice: Voice) -> list[str]:
    """What the officer asked of a draft's plan; nothing of the computed one. Old entries say neither."""

    def named(codes: list[str]) -> str:
        return ", ".join(voice.names.node(code).name for code in codes)

    said = []
    if data.get("keep_live"):
        said.append(f"Stays live: {named(data['keep_live'])}")
    if (choice := data.get("choice")) is not None:
        said.append("The points were chosen by hand")
        if choice["pinned"]:
            said.append(f"Had to be in it: {named(choice['pinned'])}")
        if choice["forbidden"]:
            said.append(f"Ruled out: {named(choice['forbidden'])}")
    return said


def day(text: str) -> str:
    """A day of an entry as people read it."""
    return in_words(date.fromisoformat(text))


def of_people(told: Told, voice: Voice) -> Line | None:
    who, data = voice.names.author(told.by), told.data
    person = voice.names.person(told.about.removeprefix("person:"))
    match told.kind:
        case Kind.SITE_ADDED:
            return Line(f"{who} added the site {data['name']}")
        case Kind.PERSON_ADDED:
            return Line(f"{who} added {person}")
        case Kind.NAME_CHANGED:
            return Line(f"{who} changed the name of {person}")
        case Kind.PERSON_DISABLED:
            return Line(f"{who} disabled {person}", sentences(f"Why: {data['why']}"))
        case Kind.PERSON_ENABLED:
            return Line(f"{who} let {person} sign in again", sentences(f"Why: {data['why']}"))
        case Kind.ROLE_GRANTED:
            return Line(f"{who} made {person} {Role(data['role']).words}")
        case Kind.ROLE_ENDED:
            return Line(f"{who} ended that {person} is {Role(data['role']).words}")
        case Kind.AUTHORISED:
            return Line(f"{who} authorised {person} for {voice.names.machine(data['machine'])}")
        case Kind.AUTHORISATION_WITHDRAWN:
            machine = voice.names.machine(data["machine"])
            return Line(
                f"{who} withdrew the authorisation of {person} for {machine}",
                sentences(f"Why: {data['why']}"),
            )
        case Kind.EMPLOYER_CHANGED:
            employer = data["employer"]
            whose = f"a contractor of {employer}" if employer else "one of the site's own people"
            return Line(f"{who} wrote down that {person} is {whose}")
        case Kind.CONTRACTOR_HOSTED:
            return Line(
                f"{who} made {voice.names.person(data['host'])} the host of {person}, contractor of "
                f"{data['employer']}, from {day(data['starts_on'])} until {day(data['expires_on'])}",
                sentences(f"The employers told each other: {data['informed']}"),
            )
        case Kind.HOSTING_ENDED:
            return Line(
                f"{who} ended that {voice.names.person(data['host'])} hosts {person}",
                sentences(f"Why: {data['why']}"),
            )
        case Kind.PASSWORD_SET:
            return Line(f"{person} set a password")
        case Kind.PASSWORD_RESET:
            return Line(f"{who} reset the password of {person}")
        case Kind.PIN_SET:
            return Line(f"{person} set a PIN")
        case Kind.PIN_RESET:
            return Line(f"{who} reset the PIN of {person}", sentences(f"Why: {data['why']}"))
        case Kind.PIN_FAILED:
            left = data["tries_left"]
            return Line(
                f"A wrong PIN was entered for {person}; {left} more {'try' if left == 1 else 'tries'}"
            )
        case Kind.PIN_LOCKED:
            return Line(f"The PIN of {person} was locked after {data['after']} wrong ones")
    return None
