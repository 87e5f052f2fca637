"""A small plant and its people for the rules' tests: two machines, one shared point, a store of each kind.

    F1 (feeder) ── Q1 ── drive(carrier) ── SAW, OUT (zones of CUT)
                          └─ C1 (capacitor store) ── SAW
    F2 (neighbour's feeder) ── Q2 ── conveyor ── OUT, NEXT (zone of DRILL)
    G1 (raised gantry, a store held by a prop) ── SAW
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from permits.people.rules.standing import Grant
from permits.plant.rules.energy import Graph, Kind, Link, Medium, Node, Release, Test
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.due import due
from permits.work.rules.evolve import fold
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Person, Procedure, Site
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding, Position, Reading, Seen

SIX = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
VOLTS = Test("voltage", "V", Decimal(50), ("L1-L2", "L2-L3", "L1-L3", "L1-PE", "L2-PE", "L3-PE"))


def at(minutes: float) -> datetime:
    """Minutes after six in the morning."""
    return SIX + timedelta(minutes=minutes)


GRAPH = Graph.of(
    [
        Node("F1", Kind.SUPPLY, "Feeder 1", machine="CUT", medium=Medium.ELECTRICAL),
        Node("F2", Kind.SUPPLY, "Neighbour's feeder", machine="DRILL", medium=Medium.ELECTRICAL),
        Node("Q1", Kind.ISOLATOR, "Main switch", sequence=10, machine="CUT", medium=Medium.ELECTRICAL, test=VOLTS),
        Node("Q2", Kind.ISOLATOR, "Conveyor switch", sequence=20, machine="DRILL", medium=Medium.ELECTRICAL,
             test=VOLTS),
        Node("DRV", Kind.CARRIER, "Saw drive", machine="CUT"),
        Node("CON", Kind.CARRIER, "Conveyor", machine="DRILL"),
        Node("C1", Kind.STORE, "DC bus", sequence=30, machine="CUT", medium=Medium.ELECTRICAL,
             test=Test("voltage", "V", Decimal(50)), release=Release("wait for the bleeder", wait_s=300)),
        Node("G1", Kind.STORE, "Gantry", sequence=40, machine="CUT", medium=Medium.GRAVITY,
             release=Release("prop it", undoable=True)),
        Node("SAW", Kind.ZONE, "Saw chamber", machine="CUT"),
        Node("OUT", Kind.ZONE, "Outfeed", machine="CUT", danger_area=True, outfeed=True),
        Node("NEXT", Kind.ZONE, "Drilling table", machine="DRILL", danger_area=True),
    ],
    [
        Link("F1", "Q1"), Link("Q1", "DRV"), Link("DRV", "SAW"), Link("DRV", "OUT"),
        Link("DRV", "C1"), Link("C1", "SAW"),
        Link("F2", "Q2"), Link("Q2", "CON"), Link("CON", "OUT"), Link("CON", "NEXT"),
        Link("G1", "SAW"),
    ],
)  # fmt: skip

ALL_YEAR = (date(2026, 1, 1), date(2026, 12, 31))
BOTH = (Grant("CUT", True, *ALL_YEAR), Grant("DRILL", True, *ALL_YEAR))
HELPS = (Grant("CUT", False, *ALL_YEAR), Grant("DRILL", False, *ALL_YEAR))

PEOPLE = {
    who.ref: who
    for who in (
        Person("maud", "Maud Issuer", frozenset({"issuer"})),
        Person("odo", "Odo Holder", frozenset({"technician"}), BOTH),
        Person("pia", "Pia Holder", frozenset({"technician"}), BOTH),
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
    },
)


def done(site: Site, *asks: c.Command) -> Site:
    """The site after the commands, each settled first as the action does it."""
    for ask in asks:
        site = fold(site, due(site, ask.at))
        site = fold(site, decide(site, ask))
    return site


def refused(site: Site, ask: c.Command) -> set[str]:
    """The codes of a refusal; fails when the command is accepted."""
    return refusal(site, ask).codes


def refusal(site: Site, ask: c.Command) -> Refused:
    try:
        happened = decide(fold(site, due(site, ask.at)), ask)
    except Refused as refused:
        return refused
    raise AssertionError(f"accepted, with {happened}")


def happened(site: Site, ask: c.Command) -> list[e.Event]:
    return decide(fold(site, due(site, ask.at)), ask)


# ── the job, step by step; P-1 is the cutting cell's permit, Odo holds it ───────────────────────────────


def request(when: float = 0, *, zones: tuple[str, ...] = ("SAW", "OUT"), by: str = "odo") -> c.RequestPermit:
    return c.RequestPermit(
        by=by, at=at(when), zones=zones, kind_of_work="calibration", reason="boards run long",
        starts_at=at(when), ends_at=at(when + 480),
    )  # fmt: skip


def issue(when: float = 1, permit: str = "P-1", *, holder: str = "odo", crew: tuple[str, ...] = ("hal",)) -> c.IssuePermit:
    return c.IssuePermit(permit=permit, by="maud", at=at(when), holder=holder, crew=crew, coordinator="maud")


def accept(when: float = 2, permit: str = "P-1", *, by: str = "odo") -> c.AcceptPermit:
    return c.AcceptPermit(
        permit=permit, by=by, at=at(when), knows_energies=True, knows_hazards=True, knows_control=True
    )


def tell(when: float = 3, permit: str = "P-1", *, by: str = "odo", tests: bool = True) -> c.TellAffected:
    return c.TellAffected(permit=permit, by=by, at=at(when), whom="line 3", how="in person", covers_tests=tests)


def lock(point: str, padlock: str, when: float = 4, permit: str = "P-1", *, by: str = "odo") -> c.ApplyLock:
    return c.ApplyLock(
        permit=permit, by=by, at=at(when), point=point, padlock=padlock, tag=f"T{padlock}", position=Position.OFF
    )


def release(point: str, when: float = 5, permit: str = "P-1", *, by: str = "odo", padlock: str = "") -> c.ReleaseStore:
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


def isolate(when: float = 4) -> list[c.Command]:
    """Every lock, release and reading of P-1 from `when` on; the bus needs its five minutes."""
    return [
        lock("Q1", "101", when),
        lock("Q2", "102", when + 1),
        release("C1", when + 2),
        release("G1", when + 3, padlock="103"),
        verify("CUT", zero("Q1"), zero("C1"), zero("G1"), when=when + 8),
        verify("DRILL", zero("Q2"), when=when + 9),
    ]


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


def sanction(when: float = 21, *, points: tuple[str, ...] = ("Q1", "Q2"), cycles: int = 2, by: str = "maud") -> c.GiveSanction:
    return c.GiveSanction(
        permit="P-1", by=by, at=at(when), points=points, limits="jog only", cycles=cycles, until=at(when + 120)
    )


def begin(when: float = 22) -> c.BeginCycle:
    return c.BeginCycle(permit="P-1", by="odo", at=at(when), tools_out=True, guards_on=True)


def remove(*points: str, by: str = "odo", when: float = 23, permit: str = "P-1") -> c.RemoveLocks:
    return c.RemoveLocks(permit=permit, by=by, at=at(when), points=points)


def clear(*areas: str, by: str = "ola", when: float = 24, permit: str = "P-1") -> c.ConfirmClear:
    return c.ConfirmClear(permit=permit, by=by, at=at(when), areas=areas, how=Seen.SELF, one_place=True)


def ready(when: float = 25) -> c.Ready:
    return c.Ready(permit="P-1", by="odo", at=at(when))


def reisolate(when: float = 40) -> c.Reisolate:
    return c.Reisolate(permit="P-1", by="odo", at=at(when))


def hand_back(when: float = 80, permit: str = "P-1", *, by: str = "odo") -> c.HandBack:
    return c.HandBack(
        permit=permit, by=by, at=at(when), machine_whole=True, guards_on=True, tools_out=True, people_out=True,
        standstill=True, neutral=True,
    )  # fmt: skip


def accepted_site() -> Site:
    return done(SITE, request(), issue(), accept(), tell())


def isolated_site() -> Site:
    return done(accepted_site(), *isolate())


def checked_site() -> Site:
    return done(isolated_site(), sign_on("odo", "201"), check(), sign_off("odo"))


def testing_site() -> Site:
    return done(checked_site(), sanction(), begin())


def powered_site() -> Site:
    return done(testing_site(), remove("Q1", "Q2"), clear("OUT", "NEXT"), ready())


def next_door(site: Site, when: float = 30, *, crew_on: bool = True) -> Site:
    """Pia's permit P-2 on the drilling table, isolated by the conveyor's switch, which P-1 shares."""
    asks: list[c.Command] = [
        request(when, zones=("NEXT",), by="pia"),
        issue(when + 1, "P-2", holder="pia", crew=()),
        accept(when + 2, "P-2", by="pia"),
        tell(when + 3, "P-2", by="pia"),
        lock("Q2", "301", when + 4, "P-2", by="pia"),
        verify("DRILL", zero("Q2"), when=when + 5, permit="P-2", by="pia"),
    ]
    if crew_on:
        asks.append(sign_on("pia", "302", when + 6, "P-2"))
    return done(site, *asks)


def with_graph(site: Site, *extra: Node | Link) -> Site:
    """The site after nodes and links were added to its plant."""
    nodes = [x for x in extra if isinstance(x, Node)]
    links = [x for x in extra if isinstance(x, Link)]
    return replace(site, graph=Graph.of([*site.graph.nodes.values(), *nodes], [*site.graph.links, *links]))
