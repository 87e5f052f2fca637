"""What a permit was for and who had a part in it: scope, procedure, people, other permits beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Q

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant.rules.facts import Fact
from permits.records.account import Account
from permits.records.entries import PERSON, Told
from permits.records.names import Names, listed
from permits.records.telling.line import Voice
from permits.work.models import Permit
from permits.work.rules import events as e
from permits.work.rules.state import Permit as PermitState
from permits.work.rules.words import HaltKind


@dataclass(frozen=True, slots=True)
class Other:
    """Another permit of the same time that shares points or a machine with this one."""

    reference: str
    phase: str
    holder: str
    requested_by: str
    points: tuple[str, ...]
    machines: tuple[str, ...]

    def said(self, names: Names) -> str:
        shared = [names.point(code) for code in self.points] or [
            names.machine(code) for code in self.machines
        ]
        person = names.person(self.holder or self.requested_by)
        return f"{self.reference} ({self.phase}), {person}: shares {listed(shared)}"


def facts_of(site: Site, account: Account, voice: Voice) -> list[tuple[str, str]]:
    """Labels and values: what the permit was asked, issued and planned for."""
    p, names = account.permit, voice.names
    facts = [
        ("Work", f"{p.kind_of_work}: {p.reason}"),
        ("Zones", listed(place_in_words(names, code) for code in p.zones)),
        ("Machines", listed(machine_in_words(names, code) for code in machines_of(p, names))),
        ("Time", f"from {voice.when(p.starts_at)} until {voice.when(p.ends_at)}"),
        ("Asked for by", names.person(p.requested_by)),
        ("Issuer", names.person(p.issuer) if p.issuer else "not issued"),
        ("Holder", holders_in_words(account, voice)),
        ("Crew", names.persons(p.crew_named)),
        ("Procedure", listed(procedures_of(site, p, voice)) if p.procedures else "none yet"),
    ]
    if p.coordinator:
        facts.append(("Coordinator", names.person(p.coordinator)))
    if p.keep_live:
        facts.append(("Kept live", names.points(p.keep_live)))
    if not p.proven_cheapest:
        facts.append(("Plan", "isolates the zones; not proven to be the cheapest"))
    if p.ended_at is not None:
        service = "" if not p.reenergised_at else "in service" if p.in_service else "not in service"
        facts.append(("Ended", ", ".join(filter(None, (p.phase.value, voice.when(p.ended_at), service)))))
    return facts


def holders_in_words(account: Account, voice: Voice) -> str:
    """Who holds the permit, and who held it before, each until when."""
    p, names = account.permit, voice.names
    if not p.holder:
        return "none yet"
    before = [
        f"{names.person(told.event.before)} until {voice.when(told.at)}"
        for told in account.handovers
        if isinstance(told.event, e.HandoverAccepted)
    ]
    awaited = f"; {names.person(p.next_holder)} is to take it over" if p.next_holder else ""
    held = f" (before: {listed(before)})" if before else ""
    return f"{names.person(p.holder)}{held}{awaited}"


def place_in_words(names: Names, code: str) -> str:
    node = names.node(code)
    return " ".join(filter(None, (node.said, node.designation)))


def machine_in_words(names: Names, code: str) -> str:
    row = names.machines.get(code)
    if row is None:
        return code
    return ", ".join(filter(None, (f"{code} {row.name} {row.designation}".strip(), row.place)))


def machines_of(p: PermitState, names: Names) -> list[str]:
    """The machines of the permit's zones, each once."""
    return list(dict.fromkeys(machine for zone in p.zones if (machine := names.node(zone).machine)))


def hazards_of(account: Account, names: Names) -> list[tuple[str, str]]:
    """(machine, its hazards as the plant's description says them now), those that have any."""
    codes = machines_of(account.permit, names)
    rows = [names.machines[code] for code in codes if code in names.machines]
    return [(f"{row.code} {row.name}", row.hazards) for row in rows if row.hazards]


def procedures_of(site: Site, p: PermitState, voice: Voice) -> list[str]:
    """Each procedure that was frozen with the permit, and the entry in which it was approved."""
    abouts = [f"procedure:{machine}/{revision}" for machine, revision in p.procedures]
    found = Entry.objects.filter(head=site.head_id, kind=Fact.PROCEDURE_APPROVED.value, about__in=abouts)
    approved = {row.about: row for row in found.only("about", "at", "number")}
    said = []
    for (machine, revision), about in zip(p.procedures, abouts, strict=True):
        words = f"{voice.names.machine(machine)}, revision {revision}"
        if row := approved.get(about):
            words += f" (approved {voice.when(row.at)}, entry {row.number})"
        said.append(words)
    return said


def parts_played(told: Iterable[Told], names: Names) -> list[tuple[str, str]]:
    """(name, parts) of everyone in the permit's entries, in the order in which they come up."""
    parts: dict[str, dict[str, None]] = {}

    def plays(ref: str, part: str) -> None:
        if ref:
            parts.setdefault(ref, {})[part] = None

    for one in told:
        match one.event:
            case e.PermitRequested(by=by):
                plays(by, "asked for it")
            case e.PermitIssued(by=by, holder=holder, crew=crew, coordinator=coordinator):
                plays(by, "issuer")
                plays(holder, "holder")
                for person in crew:
                    plays(person, "crew")
                plays(coordinator, "coordinator")
            case e.CrewNamed(person=person):
                plays(person, "crew")
            case e.PointVerified(by=by):
                plays(by, "tested points")
            case e.ConfirmedClear(by=by):
                plays(by, "confirmed areas clear")
            case e.DefectAccepted(by=by):
                plays(by, "accepted a defect")
            case e.SanctionGiven(by=by):
                plays(by, "sanctioned a test")
            case e.ClosureSigned(by=by) | e.ClosedOutOfUse(by=by):
                plays(by, "signed it closed")
            case event if event is not None and (words := otherwise_played(event)):
                for ref, part in words:
                    plays(ref, part)
            case _:
                if one.person and one.person not in parts:
                    plays(one.person, "acted")
        if one.device.startswith(PERSON):
            plays(one.device.removeprefix(PERSON), "lent a device")
    return [(names.person(ref), ", ".join(played)) for ref, played in parts.items()]


def otherwise_played(event: e.Event) -> list[tuple[str, str]]:
    """(person, part) of an event in which the permit went otherwise; none of any other."""
    match event:
        case e.WorkStopped(by=by, kind=kind):
            return [(by, "suspended it" if kind is HaltKind.SUSPENSION else "stopped the work")]
        case e.HaltLifted(by=by):
            return [(by, "lifted a stop")]
        case e.HolderNamed(by=by):
            return [(by, "named a new holder")]
        case e.HandoverAccepted(by=by):
            return [(by, "holder")]
        case e.AbsentLockRemoved(by=by, second=second, owner=owner):
            return [
                (by, "took an absent person's lock off"),
                (second, "second person"),
                (owner, "lock taken off in absence"),
            ]
        case e.AbsentSignedOff(by=by, second=second, owner=owner):
            return [
                (by, "signed an absent person off"),
                (second, "second person"),
                (owner, "signed off in absence"),
            ]
        case e.PlanAmended(by=by):
            return [(by, "amended the plan")]
        case e.NoticeAcknowledged(by=by):
            return [(by, "acknowledged a notice")]
        case e.LateEntered(by=by, second=second):
            return [(by, "vouched for what was on paper"), (second, "vouched for what was on paper")]
    return []


def other_permits(site: Site, account: Account | None, told: Sequence[Told]) -> list[Other]:
    """Permits that ran at the same time at the same points, or on the same machine. Two queries."""
    if account is None:
        return []
    p = account.permit
    machine_of = dict(site.nodes.order_by("-removed_at", "pk").values_list("code", "machine__code"))
    machines = {machine_of.get(zone) for zone in p.zones} - {None}
    rows = Permit.objects.filter(Q(ended_at=None) | Q(ended_at__gte=told[0].at), site=site).exclude(
        reference=p.id
    )
    if p.ended_at is not None:
        rows = rows.filter(requested_at__lte=p.ended_at)
    found = []
    for row in rows.order_by("number"):
        points = tuple(code for code in p.points if code in (*row.plan_lock, *row.plan_release))
        shared = tuple(dict.fromkeys(machine_of.get(zone) for zone in row.zones))
        same = tuple(machine for machine in shared if machine and machine in machines)
        if points or same:
            found.append(Other(row.reference, row.phase, row.holder, row.requested_by, points, same))
    return found
