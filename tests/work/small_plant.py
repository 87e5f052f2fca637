"""A small plant and its people for the rules' tests: three machines, shared points, a store of each kind.

F1 (feeder) ── Q0 ── B1 (board) ── LUG (zone of BOARD)
                     └─ Q1 ── DRV (drive) ── SAW, OUT (zones of CUT)
                              └─ C1 (capacitor store) ── SAW
F2 (neighbour's feeder) ── Q2 ── CON (conveyor) ── OUT, NEXT (zone of DRILL)
G1 (raised gantry, a store held by a prop) ── SAW
"""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from permits.people.rules.standing import Grant
from permits.plant.rules.energy import Graph, Kind, Link, Medium, Node, Release, Test
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.due import due
from permits.work.rules.evolve import fold
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Permit, Person, Procedure, Site
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding, Position, Reading, Seen
from tests.work.who_and_where import bare, begins_with_someone, everyone, says_where

SIX = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
VOLTS = Test("voltage", "V", Decimal(50), ("L1-L2", "L2-L3", "L1-L3", "L1-PE", "L2-PE", "L3-PE"))


def at(minutes: float) -> datetime:
    """Minutes after six in the morning."""
    return SIX + timedelta(minutes=minutes)


def electrical(id: str, label: str, sequence: int, machine: str, place: str = "") -> Node:
    """A switch with every conductor combination to be measured."""
    return Node(
        id,
        Kind.ISOLATOR,
        label,
        sequence=sequence,
        machine=machine,
        place=place,
        medium=Medium.ELECTRICAL,
        test=VOLTS,
    )


GRAPH = Graph.of(
    [
        Node("F1", Kind.SUPPLY, "Feeder 1", machine="BOARD", medium=Medium.ELECTRICAL),
        Node("F2", Kind.SUPPLY, "Neighbour's feeder", machine="DRILL", medium=Medium.ELECTRICAL),
        electrical("Q0", "Board switch", 5, "BOARD", "west wall"),
        electrical("Q1", "Main switch", 10, "CUT", "saw cabinet"),
        electrical("Q2", "Conveyor switch", 20, "DRILL", "drill cabinet"),
        Node("B1", Kind.CARRIER, "Board", machine="BOARD"),
        Node("DRV", Kind.CARRIER, "Saw drive", machine="CUT"),
        Node("CON", Kind.CARRIER, "Conveyor", machine="DRILL"),
        Node("C1", Kind.STORE, "DC bus", sequence=30, machine="CUT", place="saw cabinet, left",
             medium=Medium.ELECTRICAL, test=Test("voltage", "V", Decimal(50)),
             release=Release("wait for the bleeder", wait_s=300)),
        Node("G1", Kind.STORE, "Gantry", sequence=40, machine="CUT", place="over the saw",
             medium=Medium.GRAVITY, release=Release("prop it", undoable=True)),
        Node("LUG", Kind.ZONE, "Board cabinet", machine="BOARD"),
        Node("SAW", Kind.ZONE, "Saw chamber", machine="CUT"),
        Node("OUT", Kind.ZONE, "Outfeed", machine="CUT", place="line 3, north", danger_area=True,
             outfeed=True),
        Node("NEXT", Kind.ZONE, "Drilling table", machine="DRILL", place="line 3, middle", danger_area=True),
    ],
    [
        Link("F1", "Q0"), Link("Q0", "B1"), Link("B1", "LUG"), Link("B1", "Q1"),
        Link("Q1", "DRV"), Link("DRV", "SAW"), Link("DRV", "OUT"),
        Link("DRV", "C1"), Link("C1", "SAW"),
        Link("F2", "Q2"), Link("Q2", "CON"), Link("CON", "OUT"), Link("CON", "NEXT"),
        Link("G1", "SAW"),
    ],
)  # fmt: skip

ALL_YEAR = (date(2026, 1, 1), date(2026, 12, 31))
MACHINES = ("CUT", "DRILL", "BOARD")
QUALIFIED = tuple(Grant(machine, True, *ALL_YEAR) for machine in MACHINES)
HELPS = tuple(Grant(machine, False, *ALL_YEAR) for machine in MACHINES)

PEOPLE = {
    who.ref: who
    for who in (
        Person("maud", "Maud Issuer", frozenset({"issuer"})),
        Person("odo", "Odo Holder", frozenset({"technician"}), QUALIFIED),
        Person("pia", "Pia Holder", frozenset({"technician"}), QUALIFIED),
        Person("hal", "Hal Helper", frozenset({"technician"}), HELPS),
        Person("ola", "Ola Operator", frozenset({"affected"})),
        Person("sig", "Sig Officer", frozenset({"officer"})),
    )
}

SITE = Site(
    graph=GRAPH,
    people=PEOPLE,
    procedures={
        "CUT": Procedure("CUT", 1, ("SAW", "OUT"), ("Q1", "Q2"), ("C1", "G1")),
        "DRILL": Procedure("DRILL", 1, ("NEXT",), ("Q2",), ()),
        "BOARD": Procedure("BOARD", 1, ("LUG",), ("Q0",), ()),
    },
)


# ── given, when, then ───────────────────────────────────────────────────────────────────────────────────


def done(site: Site, *asks: c.Command) -> Site:
    """The site after the commands, each settled first as the action does it."""
    for ask in asks:
        site = settled(site, ask.at)
        site = fold(site, decide(site, ask))
    return site


def settled(site: Site, now: datetime) -> Site:
    """The site with what fell due by now."""
    return fold(site, due(site, now))


def happened(site: Site, ask: c.Command) -> list[e.Event]:
    return decide(settled(site, ask.at), ask)


def refused(site: Site, ask: c.Command) -> set[str]:
    """The codes of a refusal; fails when the command is accepted."""
    return refusal(site, ask).codes


def refusal(site: Site, ask: c.Command) -> Refused:
    """The refusal itself. Each condition says in sentences what is missing, and who does what where."""
    try:
        events = happened(site, ask)
    except Refused as refused:
        for unmet in refused.unmet:
            assert unmet.what.endswith((".", ":")) or "Defect" in unmet.what, unmet
            assert unmet.who.endswith("."), unmet
            assert begins_with_someone(unmet.who, everyone(site)), unmet
            assert says_where(unmet.who, (node.place for node in site.graph.nodes.values())), unmet
            assert not bare(unmet.who, site), unmet
            assert not re.search(r"\b(maud|odo|pia|hal|ola|sig)\b", f"{unmet.what} {unmet.who}"), unmet
        return refused
    raise AssertionError(f"accepted, with {events}")


def p1(site: Site) -> Permit:
    return site.permits["P-1"]


def with_graph(site: Site, *extra: Node | Link) -> Site:
    """The site after nodes and links were added to its plant."""
    nodes = [x for x in extra if isinstance(x, Node)]
    links = [x for x in extra if isinstance(x, Link)]
    return replace(site, graph=Graph.of([*site.graph.nodes.values(), *nodes], [*site.graph.links, *links]))


def with_node(site: Site, id: str, **changes: Any) -> Site:
    """The site with one node of its plant changed."""
    nodes = [replace(n, **changes) if n.id == id else n for n in site.graph.nodes.values()]
    return replace(site, graph=Graph.of(nodes, site.graph.links))


def with_person(site: Site, ref: str, **changes: Any) -> Site:
    return replace(site, people={**site.people, ref: replace(site.people[ref], **changes)})


SECOND_FEED = (
    Node("F3", Kind.SUPPLY, "Second feeder", machine="CUT"),
    Link("F3", "DRV"),
)


# ── request to accept; P-1 is the cutting cell's permit, Odo holds it ───────────────────────────────────


def request(when: float = 0, *, zones: tuple[str, ...] = ("SAW", "OUT"), by: str = "odo") -> c.RequestPermit:
    return c.RequestPermit(
        by=by, at=at(when), zones=zones, kind_of_work="calibration", reason="boards run long",
        starts_at=at(when), ends_at=at(when + 480),
    )  # fmt: skip


def issue(
    when: float = 1, permit: str = "P-1", *, holder: str = "odo", crew: tuple[str, ...] = ("hal",)
) -> c.IssuePermit:
    return c.IssuePermit(permit=permit, by="maud", at=at(when), holder=holder, crew=crew, coordinator="maud")


def accept(when: float = 2, permit: str = "P-1", *, by: str = "odo") -> c.AcceptPermit:
    return c.AcceptPermit(
        permit=permit, by=by, at=at(when), knows_energies=True, knows_hazards=True, knows_control=True
    )


def extend(when: float, until: float, *, by: str = "maud") -> c.ExtendPermit:
    return c.ExtendPermit(permit="P-1", by=by, at=at(when), until=at(until))


def name_crew(person: str, when: float = 3, *, by: str = "odo") -> c.NameCrew:
    return c.NameCrew(permit="P-1", by=by, at=at(when), person=person)


def tell(when: float = 3, permit: str = "P-1", *, by: str = "odo", tests: bool = True) -> c.TellAffected:
    return c.TellAffected(
        permit=permit, by=by, at=at(when), whom="line 3", how="in person", covers_tests=tests
    )


def cancel(when: float = 4, *, by: str = "odo", why: str = "not needed") -> c.CancelPermit:
    return c.CancelPermit(permit="P-1", by=by, at=at(when), why=why)


# ── isolate ─────────────────────────────────────────────────────────────────────────────────────────────


def lock(point: str, padlock: str, when: float = 4, permit: str = "P-1", *, by: str = "odo") -> c.ApplyLock:
    return c.ApplyLock(
        permit=permit, by=by, at=at(when), point=point, padlock=padlock, tag=f"T{padlock}",
        position=Position.OFF,
    )  # fmt: skip


def release(
    point: str, when: float = 5, permit: str = "P-1", *, by: str = "odo", padlock: str = ""
) -> c.ReleaseStore:
    return c.ReleaseStore(
        permit=permit, by=by, at=at(when), point=point, method="as written", padlock=padlock,
        tag=f"T{padlock}" if padlock else "",
    )  # fmt: skip


def zero(point: str, value: str = "0") -> c.PointReadings:
    test = GRAPH[point].test
    pairs = (test.combinations if test else ()) or ("",)
    unit = test.unit if test else ""
    return c.PointReadings(point=point, readings=tuple(Reading(Decimal(value), unit, pair) for pair in pairs))


def verify(
    machine: str, *points: c.PointReadings, when: float = 11, permit: str = "P-1", by: str = "odo"
) -> c.VerifyMachine:
    return c.VerifyMachine(
        permit=permit, by=by, at=at(when), machine=machine, points=points, instrument="VT-7",
        proven_before=True, proven_after=True,
    )  # fmt: skip


def try_start(
    machine: str = "CUT", when: float = 13, *, by: str = "odo", stayed_dead: bool = True
) -> c.TryStart:
    return c.TryStart(
        permit="P-1", by=by, at=at(when), machine=machine, stayed_dead=stayed_dead, nobody_in_reach=True,
        controls_live=True, back_to_neutral=True,
    )  # fmt: skip


def locks_and_releases(when: float = 4) -> list[c.Command]:
    return [
        lock("Q1", "101", when),
        lock("Q2", "102", when + 1),
        release("C1", when + 2),
        release("G1", when + 3, padlock="103"),
    ]


def readings(when: float = 12) -> list[c.Command]:
    return [
        verify("CUT", zero("Q1"), zero("C1"), zero("G1"), when=when),
        verify("DRILL", zero("Q2"), when=when + 1),
    ]


def isolate(when: float = 4) -> list[c.Command]:
    """Every lock, release and reading of P-1 from `when` on; the bus needs its five minutes."""
    return [*locks_and_releases(when), *readings(when + 8)]


def isolate_again(when: float) -> list[c.Command]:
    """As `isolate` after a test that freed Q1 and Q2: the prop under the gantry never went."""
    return [
        lock("Q1", "101", when),
        lock("Q2", "102", when + 1),
        release("C1", when + 2),
        *readings(when + 8),
    ]


# ── occupy, test ────────────────────────────────────────────────────────────────────────────────────────


def sign_on(by: str, padlock: str, when: float = 14, permit: str = "P-1") -> c.SignOnCrew:
    return c.SignOnCrew(permit=permit, by=by, at=at(when), padlock=padlock)


def sign_off(by: str, when: float = 20, permit: str = "P-1") -> c.SignOffCrew:
    return c.SignOffCrew(permit=permit, by=by, at=at(when))


def check(by: str = "odo", when: float = 15, *, defect: str = "") -> c.RecordMachineCheck:
    items = tuple(
        CheckItem(item, Finding.DEFECT if item == defect else Finding.OK, "loose" if item == defect else "")
        for item, _ in CHECK_ITEMS
    )
    return c.RecordMachineCheck(permit="P-1", by=by, at=at(when), items=items)


def sanction(
    when: float = 21, *, points: tuple[str, ...] = ("Q1", "Q2"), cycles: int = 2, by: str = "maud"
) -> c.GiveSanction:
    return c.GiveSanction(
        permit="P-1",
        by=by,
        at=at(when),
        points=points,
        limits="jog only",
        cycles=cycles,
        until=at(when + 120),
    )


def end_sanction(when: float, *, by: str = "odo") -> c.EndSanction:
    return c.EndSanction(permit="P-1", by=by, at=at(when), why="enough")


def begin(when: float = 22) -> c.BeginCycle:
    return c.BeginCycle(permit="P-1", by="odo", at=at(when), tools_out=True, guards_on=True)


def remove(*points: str, by: str = "odo", when: float = 23, permit: str = "P-1") -> c.RemoveLocks:
    return c.RemoveLocks(permit=permit, by=by, at=at(when), points=points)


def clear(
    *areas: str, by: str = "ola", when: float = 24, permit: str = "P-1", one_place: bool = True,
    watching: bool = False, seen_by: str = "",
) -> c.ConfirmClear:  # fmt: skip
    """`seen_by`: who sees it and told `by` by radio."""
    return c.ConfirmClear(
        permit=permit, by=by, at=at(when), areas=areas, how=Seen.RADIO if seen_by else Seen.SELF,
        one_place=one_place, watching=watching, seen_by=seen_by,
    )  # fmt: skip


def leave_watch(when: float, *, by: str = "ola", permit: str = "P-1") -> c.LeaveWatch:
    return c.LeaveWatch(permit=permit, by=by, at=at(when))


def ready(when: float = 25) -> c.Ready:
    return c.Ready(permit="P-1", by="odo", at=at(when))


def reisolate(when: float = 40) -> c.Reisolate:
    return c.Reisolate(permit="P-1", by="odo", at=at(when))


def open_job(when: float = 26, *, machine: str = "CUT", by: str = "odo") -> c.OpenJob:
    return c.OpenJob(permit="P-1", by=by, at=at(when), machine=machine)


def correct(when: float = 28, *, axis: str = "angle", job: int = 1) -> c.CorrectAxis:
    return c.CorrectAxis(permit="P-1", by="odo", at=at(when), job=job, axis=axis)


def prove(when: float = 29, *, axis: str = "angle", job: int = 1) -> c.ProveAxis:
    return c.ProveAxis(permit="P-1", by="odo", at=at(when), job=job, axis=axis)


def close_job(when: float = 30, *, job: int = 1) -> c.CloseJob:
    return c.CloseJob(permit="P-1", by="odo", at=at(when), job=job)


# ── hand back, close ────────────────────────────────────────────────────────────────────────────────────


def hand_back(when: float = 80, permit: str = "P-1", *, by: str = "odo") -> c.HandBack:
    return c.HandBack(
        permit=permit, by=by, at=at(when), machine_whole=True, guards_on=True, tools_out=True,
        people_out=True, standstill=True, neutral=True,
    )  # fmt: skip


def reenergise(when: float = 87, permit: str = "P-1", *, by: str = "odo") -> c.Reenergise:
    return c.Reenergise(permit=permit, by=by, at=at(when), visual_check=True)


def sign_closed(when: float = 88, permit: str = "P-1", *, by: str = "odo") -> c.SignClosed:
    return c.SignClosed(permit=permit, by=by, at=at(when))


def out_of_use(when: float = 90, *, by: str = "sig", why: str = "faulty drive") -> c.CloseOutOfUse:
    return c.CloseOutOfUse(permit="P-1", by=by, at=at(when), why=why)


def restore(when: float = 81) -> list[c.Command]:
    """From hand-back on: locks off, told, clear, power back."""
    return [
        remove("Q1", "Q2", "G1", when=when),
        tell(when + 1),
        clear("OUT", "NEXT", when=when + 2),
        reenergise(when + 3),
    ]


# ── the job, as far as it has come ──────────────────────────────────────────────────────────────────────


def accepted_site(site: Site = SITE) -> Site:
    return done(site, request(), issue(), accept(), tell())


def locked_site(site: Site = SITE) -> Site:
    return done(accepted_site(site), *locks_and_releases())


def isolated_site(site: Site = SITE) -> Site:
    return done(accepted_site(site), *isolate())


def checked_site(site: Site = SITE) -> Site:
    return done(isolated_site(site), sign_on("odo", "201"), check(), sign_off("odo"))


def occupied_site(site: Site = SITE) -> Site:
    """Checked, and Odo and Hal are inside."""
    return done(checked_site(site), sign_on("odo", "201", 21), sign_on("hal", "202", 22))


def in_test_site(site: Site = SITE) -> Site:
    return done(checked_site(site), sanction(), begin())


def powered_site(site: Site = SITE) -> Site:
    return done(in_test_site(site), remove("Q1", "Q2"), clear("OUT", "NEXT"), ready())


def handed_back_site(site: Site = SITE) -> Site:
    return done(checked_site(site), hand_back())


def restored_site(site: Site = SITE) -> Site:
    """Power is back; nobody has signed the permit closed."""
    return done(handed_back_site(site), *restore())


def next_door(
    site: Site, when: float = 30, *, crew_on: bool = True, zones: tuple[str, ...] = ("NEXT",)
) -> Site:
    """Pia's permit P-2 on the drilling table, isolated by the conveyor's switch, which P-1 shares."""
    asks: list[c.Command] = [
        request(when, zones=zones, by="pia"),
        issue(when + 1, "P-2", holder="pia", crew=()),
        accept(when + 2, "P-2", by="pia"),
        tell(when + 3, "P-2", by="pia"),
        lock("Q2", "301", when + 4, "P-2", by="pia"),
        verify("DRILL", zero("Q2"), when=when + 5, permit="P-2", by="pia"),
    ]
    if crew_on:
        asks.append(sign_on("pia", "302", when + 6, "P-2"))
    return done(site, *asks)


def at_the_board(site: Site, when: float = 30) -> Site:
    """Pia's permit P-2 on the board upstream of Q1: her lock on Q0 takes the energy from P-1's switch too."""
    return done(
        site,
        request(when, zones=("LUG",), by="pia"),
        issue(when + 1, "P-2", holder="pia", crew=()),
        accept(when + 2, "P-2", by="pia"),
        tell(when + 3, "P-2", by="pia"),
        lock("Q0", "301", when + 4, "P-2", by="pia"),
        verify("BOARD", zero("Q0"), when=when + 5, permit="P-2", by="pia"),
    )
