"""What the ledger calls by identifier, in the plant's words: people, points, zones, machines, axes.

Names live beside the ledger. Who is no longer there, or whose name was taken out, is *erased*; what left the
plant keeps the name it last had.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from permits.calibration.models import Instrument
from permits.calibration.rules.facts import Fact
from permits.people.models import Person, Site
from permits.plant.models import Machine, Node
from permits.plant.rules.energy import Kind
from permits.records.entries import PERSON, Told

ERASED = "erased"

SYSTEMS = {
    "system:clock": "by itself, when due",
    "system:console": "the server's console",
    "system:setup": "the setting up of the server",
}

PEOPLE_IN_DATA = ("holder", "coordinator", "person", "host", "to", "before", "owner", "second")
LISTS_IN_DATA = ("crew",)


@dataclass(frozen=True, slots=True)
class Place:
    """A node of the plant as it is, or as it last was. `energy`: medium and magnitude in words."""

    code: str
    name: str
    designation: str = ""
    kind: str = ""
    machine: str = ""
    place: str = ""
    energy: str = ""
    test: str = ""
    release: str = ""
    is_gone: bool = False

    @property
    def said(self) -> str:
        """What a person calls it: points by designation and name, anything else by name."""
        point = self.kind in (Kind.ISOLATOR.value, Kind.STORE.value)
        words = f"{self.designation} {self.name}".strip() if point else self.name
        return f"{words} (no longer in the plant)" if self.is_gone else words


@dataclass(frozen=True, slots=True)
class Names:
    """Every name that a record of one site may need."""

    people: Mapping[str, str] = field(default_factory=dict)
    digests: Mapping[str, str] = field(default_factory=dict)
    nodes: Mapping[str, Place] = field(default_factory=dict)
    machines: Mapping[str, Machine] = field(default_factory=dict)
    instruments: Mapping[str, str] = field(default_factory=dict)
    axes: Mapping[str, str] = field(default_factory=dict)

    def person(self, ref: str) -> str:
        """A person by reference, as permits name them."""
        return self.people.get(ref) or ERASED

    def persons(self, refs: Iterable[str]) -> str:
        return listed(self.person(ref) for ref in refs)

    def author(self, by: str) -> str:
        """Whoever an entry says: a person, or what acted where nobody did."""
        if by.startswith(PERSON):
            return self.person(by.removeprefix(PERSON))
        return SYSTEMS.get(by, by.removeprefix("system:"))

    def was_renamed(self, told: Told) -> bool:
        """Was the author called otherwise when the entry was written? Only the salted digest can say."""
        now = self.digests.get(told.person, "")
        return bool(now) and now != told.by_digest

    def node(self, code: str) -> Place:
        return self.nodes.get(code) or Place(code, code)

    def point(self, code: str) -> str:
        return self.node(code).said

    def points(self, codes: Iterable[str]) -> str:
        return listed(self.point(code) for code in codes)

    def machine(self, code: str) -> str:
        row = self.machines.get(code)
        return f"{code} {row.name}" if row else code

    def axis(self, code: str) -> str:
        return self.axes.get(code, code)

    def instrument(self, number: str) -> str:
        return f"{number} {self.instruments.get(number, '')}".strip()


def listed(words: Iterable[str]) -> str:
    """ "A, B and C"; a dash for nothing."""
    found = list(words)
    if len(found) < 2:
        return found[0] if found else "–"
    return f"{', '.join(found[:-1])} and {found[-1]}"


def names_for(site: Site, told: Iterable[Told], *, more_people: Iterable[str] = ()) -> Names:
    """The names that these entries need. Four queries, whatever their number."""
    told = list(told)
    refs = people_in(told) | set(more_people)
    people = {person.ref: person for person in Person.objects.filter(ref__in=refs)}
    return Names(
        people={ref: person.name.strip() for ref, person in people.items()},
        digests={ref: person.name_digest for ref, person in people.items()},
        nodes=nodes_of(site),
        machines=machines_of(site),
        instruments=dict(Instrument.objects.filter(site=site).order_by("pk").values_list("number", "name")),
        axes=axes_in(told),
    )


def people_in(told: Iterable[Told]) -> set[str]:
    """The references of everyone whom these entries name."""
    found: set[str] = set()
    for one in told:
        for by in (one.by, one.device, one.about):
            if by.startswith(PERSON):
                found.add(by.removeprefix(PERSON))
        for name in PEOPLE_IN_DATA:
            value = one.data.get(name)
            if isinstance(value, str):
                found.add(value)
        for name in LISTS_IN_DATA:
            value = one.data.get(name)
            if isinstance(value, list):
                found.update(item for item in value if isinstance(item, str))
    return found - {""}


def nodes_of(site: Site) -> dict[str, Place]:
    """Every node that the site has or had; one that is back stands for one that was taken out."""
    rows = Node.objects.filter(site=site).select_related("machine").order_by("removed_at", "pk")
    found: dict[str, Place] = {}
    for row in rows:
        gone = row.removed_at is not None
        if gone and row.code in found and not found[row.code].is_gone:
            continue
        energy = " ".join(filter(None, (row.medium, row.magnitude)))
        found[row.code] = Place(
            code=row.code,
            name=row.name,
            designation=row.designation,
            kind=row.kind,
            machine=row.machine.code if row.machine else "",
            place=row.place,
            energy=energy,
            test=test_in_words(row.test),
            release=(row.release or {}).get("method", ""),
            is_gone=gone,
        )
    return found


def test_in_words(test: dict[str, object] | None) -> str:
    return f"{test['quantity']} ≤ {test['limit']} {test['unit']}" if test else ""


def machines_of(site: Site) -> dict[str, Machine]:
    """Every machine that the site has or had, the live one where there are several with a code."""
    rows = Machine.objects.filter(site=site).order_by("pk")
    gone = {row.code: row for row in rows if row.removed_at is not None}
    return gone | {row.code: row for row in rows if row.removed_at is None}


def axes_in(told: Iterable[Told]) -> dict[str, str]:
    """Axes by code, as the entries themselves named them when work on them began."""
    found = {}
    for one in told:
        if one.kind == Fact.AXIS_OPENED and isinstance(one.data.get("name"), str):
            found[str(one.data.get("axis"))] = one.data["name"]
    return found
