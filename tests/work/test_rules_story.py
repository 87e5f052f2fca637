"""One calibration job from request to close: what is possible at each step, what is not."""

from dataclasses import replace
from decimal import Decimal

from permits.plant.rules.energy import Graph, Kind, Link, Node, Release
from permits.work.rules import commands as c
from permits.work.rules.state import Procedure
from permits.work.rules.words import Phase, Reading
from tests.work.small_plant import (
    SITE,
    accept,
    at,
    begin,
    check,
    checked_site,
    clear,
    close_job,
    correct,
    done,
    electrical,
    hand_back,
    isolate,
    isolate_again,
    issue,
    lock,
    next_door,
    open_job,
    p1,
    prove,
    ready,
    reenergise,
    refusal,
    refused,
    reisolate,
    release,
    remove,
    request,
    sanction,
    sign_closed,
    sign_off,
    sign_on,
    tell,
    verify,
    zero,
)

seen_nothing = (Reading(Decimal(0), ""),)


def test_the_whole_job():
    site = done(SITE, request())
    assert p1(site).points == ("Q1", "Q2", "C1", "G1")
    site = done(site, issue(), accept(), tell(), *isolate())
    assert p1(site).phase is Phase.ISOLATED
    site = done(site, sign_on("odo", "201"), sign_on("hal", "202"), check())
    site = done(site, sign_off("hal", 16), sign_off("odo", 17))
    site = done(site, sanction(), begin(), remove("Q1", "Q2"), clear("OUT", "NEXT"), ready())
    site = done(site, open_job(26), c.TakeReading(permit="P-1", by="odo", at=at(27), job=1), correct(28))
    assert refused(site, close_job(29)) == {"correction-unproven"}
    site = done(site, reisolate(40))
    assert p1(site).released == {"G1"}, "the prop still holds; the bus was under power and fills again"
    site = done(site, *isolate_again(42))
    assert p1(site).phase is Phase.ISOLATED
    site = done(
        site,
        begin(55),
        remove("Q1", "Q2", when=56),
        clear("OUT", "NEXT", when=57),
        ready(58),
        c.TakeReading(permit="P-1", by="odo", at=at(59), job=1),
        prove(60),
        close_job(61),
        clear("OUT", "NEXT", when=62),
        hand_back(63),
        remove("G1", when=64),
        tell(65),
        clear("OUT", "NEXT", when=66),
        reenergise(67),
        sign_closed(68),
    )
    assert p1(site).phase is Phase.RESTORING
    site = done(site, sign_closed(69, by="maud"))
    assert p1(site).phase is Phase.CLOSED
    assert p1(site).in_service


def test_a_sanction_is_refused_while_another_crew_would_be_reached():
    site = next_door(checked_site(), 30)
    no = refusal(site, sanction(40))
    assert no.codes == {"exposes-crew", "locked-by-another"}
    assert no.path == ("Neighbour's feeder", "Conveyor switch", "Conveyor", "Drilling table", "Pia Holder")


def test_a_test_that_leaves_the_shared_point_out_is_sanctioned():
    site = next_door(checked_site(), 30)
    assert p1(done(site, sanction(40, points=("Q1",)))).sanction is not None


def cell_of_eight_points():
    """One machine with six switches in parallel and two stores behind the first three of them."""
    switches = [electrical(f"Q{n}", f"Switch {n}", n, "CUT") for n in range(1, 7)]
    wait = Release("wait", wait_s=60)
    stores = [
        Node(f"C{n}", Kind.STORE, f"Store {n}", sequence=9, machine="CUT", release=wait) for n in (1, 2)
    ]
    links = [link for n in range(1, 7) for link in (Link("F1", f"Q{n}"), Link(f"Q{n}", "IN"))]
    links += [Link("Q1", "C1"), Link("Q2", "C2"), Link("C1", "IN"), Link("C2", "IN")]
    zone = Node("IN", Kind.ZONE, "Inside", machine="CUT", danger_area=True, outfeed=True)
    graph = Graph.of([Node("F1", Kind.SUPPLY, "Feeder"), *switches, *stores, zone], links)
    procedure = Procedure("CUT", 1, ("IN",), tuple(f"Q{n}" for n in range(1, 7)), ("C1", "C2"))
    return replace(SITE, graph=graph, procedures={"CUT": procedure})


def test_a_full_cycle_takes_at_most_fourteen_interactions():
    """Design §5, rule 12: a plan of 8 points, 3 freed, 2 stores; a helper's sign-off and sign-on included."""
    site = done(cell_of_eight_points(), request(zones=("IN",)), issue(), accept(), tell())
    volts = {f"Q{n}": zero("Q1").readings for n in range(1, 7)}
    page = tuple(
        c.PointReadings(point=point, readings=volts.get(point, seen_nothing)) for point in p1(site).points
    )
    first = [lock(f"Q{n}", f"10{n}", 4) for n in range(1, 7)]
    site = done(site, *first, release("C1", 4), release("C2", 4), verify("CUT", *page, when=6))
    freed = ("Q1", "Q2", "Q3")
    site = done(site, sign_on("hal", "202", 7), check("hal", 8), sanction(9, points=freed))
    cycle = [
        sign_off("hal", 10),
        begin(11),
        remove(*freed, when=12),
        clear("IN", when=13),
        ready(14),
        reisolate(30),
        *(lock(point, f"10{point[1]}", 31) for point in freed),
        release("C1", 32),
        release("C2", 33),
        verify("CUT", *page, when=35),
        sign_on("hal", "202", 36),
    ]
    assert [on.person for on in p1(done(site, *cycle)).signed_on] == ["hal"]
    assert len(cycle) <= 14
