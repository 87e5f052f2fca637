"""The small plants and the three people of the exploration, and the moment at which everything happens.

ODO, holder, and PIA, crew and next shift, are technicians; IDA is issuer and officer. Each plant has at most
three points:

    one job        F1 ── Q1 ── D1 ── CUT, OUT        D1 ── C1 (store with a wait and a re-check) ── CUT
    side by side   and F2 ── Q2 ── D2 ── OUT, NEXT   (two permits share Q2)
    propped        F1 ── Q1 ── D1 ── CUT, OUT        G1 (store held by a prop that carries a lock) ── CUT
    one behind     F1 ── Q0 ── B1 ── LUG             B1 ── Q1 ── D1 ── CUT, OUT
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from permits.people.rules.standing import Grant
from permits.plant.rules.energy import Graph, Kind, Link, Medium, Node, Release, Test
from permits.work.rules.state import Person, Procedure, Site
from permits.work.rules.words import BOX

# Every command is asked for at NOW. What is so already became so EARLIER; what is still to come, comes LATER.
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
EARLIER = NOW - timedelta(minutes=1)
LATER = NOW + timedelta(hours=2)
END_OF_PERMIT = NOW + timedelta(hours=8)
EXTENDED = NOW + timedelta(hours=10)

ODO, PIA, IDA = "odo", "pia", "ida"
TECHNICIANS = (ODO, PIA)
PEOPLE = (ODO, PIA, IDA)
NAMES = {ODO: "Odo Holder", PIA: "Pia Nextshift", IDA: "Ida Issuer"}
ROLES = {ODO: {"technician"}, PIA: {"technician"}, IDA: {"issuer", "officer"}}

VOLTS = Test("voltage", "V", Decimal(50))
MAKES, BESIDE, BOARD = "M1", "M2", "M0"  # the machines

SUPPLY_1 = Node("F1", Kind.SUPPLY, "Feeder 1", machine=MAKES, medium=Medium.ELECTRICAL)
SUPPLY_2 = Node("F2", Kind.SUPPLY, "Feeder 2", machine=BESIDE, medium=Medium.PNEUMATIC)
SWITCH_0 = Node(
    "Q0", Kind.ISOLATOR, "Board switch", sequence=5, machine=BOARD, medium=Medium.ELECTRICAL, test=VOLTS
)
SWITCH_1 = Node(
    "Q1", Kind.ISOLATOR, "Main switch", sequence=10, machine=MAKES, medium=Medium.ELECTRICAL, test=VOLTS
)
VALVE_2 = Node("Q2", Kind.ISOLATOR, "Valve", sequence=20, machine=BESIDE, medium=Medium.PNEUMATIC)
DRIVE_1 = Node("D1", Kind.CARRIER, "Drive 1", machine=MAKES)
DRIVE_2 = Node("D2", Kind.CARRIER, "Drive 2", machine=BESIDE)
RAIL = Node("B1", Kind.CARRIER, "Rail", machine=BOARD)
BUS = Node(
    "C1", Kind.STORE, "Bus", sequence=30, machine=MAKES, medium=Medium.ELECTRICAL, test=VOLTS,
    release=Release("wait for the bleeder", wait_s=300, recheck_min=45),
)  # fmt: skip
GANTRY = Node(
    "G1", Kind.STORE, "Gantry", sequence=40, machine=MAKES, medium=Medium.GRAVITY,
    release=Release("prop it", undoable=True),
)  # fmt: skip
CHAMBER = Node("CUT", Kind.ZONE, "Chamber", machine=MAKES)
OUTFEED = Node("OUT", Kind.ZONE, "Outfeed", machine=MAKES, danger_area=True, outfeed=True)
TABLE = Node("NEXT", Kind.ZONE, "Table next door", machine=BESIDE, danger_area=True)
CABINET = Node("LUG", Kind.ZONE, "Cabinet", machine=BOARD)

TO_THE_CHAMBER = (Link("F1", "Q1"), Link("Q1", "D1"), Link("D1", "CUT"), Link("D1", "OUT"))
STORED = (Link("D1", "C1"), Link("C1", "CUT"))
NEXT_DOOR = (Link("F2", "Q2"), Link("Q2", "D2"), Link("D2", "OUT"), Link("D2", "NEXT"))

ONE_JOB = Graph.of([SUPPLY_1, SWITCH_1, DRIVE_1, BUS, CHAMBER, OUTFEED], [*TO_THE_CHAMBER, *STORED])
SIDE_BY_SIDE = Graph.of(
    [SUPPLY_1, SUPPLY_2, SWITCH_1, VALVE_2, DRIVE_1, DRIVE_2, CHAMBER, OUTFEED, TABLE],
    [*TO_THE_CHAMBER, *NEXT_DOOR],
)
SIDE_BY_SIDE_STORED = Graph.of([*SIDE_BY_SIDE.nodes.values(), BUS], [*SIDE_BY_SIDE.links, *STORED])
PROPPED = Graph.of(
    [SUPPLY_1, SWITCH_1, DRIVE_1, GANTRY, CHAMBER, OUTFEED], [*TO_THE_CHAMBER, Link("G1", "CUT")]
)
ONE_BEHIND = Graph.of(
    [SUPPLY_1, SWITCH_0, RAIL, SWITCH_1, DRIVE_1, CHAMBER, OUTFEED, CABINET],
    [Link("F1", "Q0"), Link("Q0", "B1"), Link("B1", "LUG"), Link("B1", "Q1"), *TO_THE_CHAMBER[1:]],
)
# What a second look at the plant may find: the drive is fed from another side, through a switch.
SECOND_FEED = Graph.of(
    [
        *(node for node in PROPPED.nodes.values() if node.id != "G1"),
        Node("F3", Kind.SUPPLY, "Feeder 3", machine=MAKES),
        Node("Q3", Kind.ISOLATOR, "Second switch", sequence=15, machine=MAKES, medium=Medium.PNEUMATIC),
    ],
    [*TO_THE_CHAMBER, Link("F3", "Q3"), Link("Q3", "D1")],
)
ONE_SWITCH = Graph.of([SUPPLY_1, SWITCH_1, DRIVE_1, CHAMBER, OUTFEED], TO_THE_CHAMBER)

ALL_YEAR = (date(2026, 1, 1), date(2026, 12, 31))


def padlock(owner: str, where: str, permit: str = "P-1") -> str:
    """The number of the padlock that this person keeps for this place."""
    return f"{owner}-{where}-{permit}"


def owner_of(number: str) -> str:
    """Whose padlock it is: by the way the numbers are made, not by what any permit says."""
    return number.split("-")[0]


def grants(*machines: str, qualified: bool = True) -> tuple[Grant, ...]:
    return tuple(Grant(machine, qualified, *ALL_YEAR) for machine in machines)


def site(graph: Graph, *, pia: tuple[Grant, ...], procedures: dict[str, Procedure] | None = None) -> Site:
    """A site with this plant; Odo is qualified at every machine, Pia as given.

    Every padlock is known from the start, so that who owns which is no part of what a state has to remember.
    """
    authorised = {ODO: grants(MAKES, BESIDE, BOARD), PIA: pia, IDA: ()}
    people = {ref: Person(ref, NAMES[ref], frozenset(ROLES[ref]), authorised[ref]) for ref in PEOPLE}
    places = [*(n.id for n in graph.nodes.values() if n.kind in (Kind.ISOLATOR, Kind.STORE)), BOX]
    owners = {padlock(who, where, p): who for who in PEOPLE for where in places for p in ("P-1", "P-2")}
    return Site(graph=graph, people=people, procedures=procedures or {}, padlock_owners=owners)
