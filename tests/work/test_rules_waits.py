"""The permit's timer: the officer's number, or the computed wait where a store's physics asks for longer."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from math import ceil, log

from permits.plant.rules.energy import Medium
from permits.plant.rules.plantfile import check
from permits.plant.rules.stores.hazard import PUBLISHED
from permits.plant.rules.stores.numbers import wait_needed
from permits.plant.rules.stores.physics import stored_physics
from tests.work.small_plant import (
    accepted_site,
    at,
    done,
    isolated_site,
    lock,
    powered_site,
    ready,
    refusal,
    refused,
    release,
    sign_on,
)  # fmt: skip

# standards.md §2.1, worst case of the demo bus (V +10 %, C +20 %, R +5 %): 142.64 s to 60 V, longer to 50 V.
BUS = {"kind": "capacitor", "capacitance_f": "0.0022", "voltage_v": "565.685", "bleeder_ohm": "22000"}


def with_bus(wait_s):
    """The small plant with the DC bus described by its figures, and the officer's own wait."""
    node = {
        "id": "C1", "kind": "store", "medium": "electrical", "physics": BUS,
        "test": {"quantity": "voltage", "unit": "V", "limit": Decimal(50)},
        "release": {"method": "wait", "wait_s": wait_s},
    }  # fmt: skip
    read = check({"plant": "t", "nodes": [node], "links": []}).graph["C1"]
    site = accepted_site()
    c1 = replace(site.graph["C1"], physics=read.physics, release=read.release)
    nodes = [c1 if n.id == "C1" else n for n in site.graph.nodes.values()]
    graph = type(site.graph).of(nodes, site.graph.links)
    site = done(replace(site, graph=graph), lock("Q1", "101"), lock("Q2", "102"), release("C1", 5))
    made = site.permits["P-1"].release_of("C1")
    return c1, made.counts_from - at(5)


def test_the_officers_longer_wait_stands():
    assert with_bus(400)[1] == timedelta(seconds=400)


def test_physics_tightens_a_wait_that_is_too_short():
    node, waited = with_bus(30)
    assert waited == timedelta(seconds=wait_needed(node))
    assert waited > timedelta(seconds=142)


def test_a_tighter_line_of_the_site_makes_the_wait_longer():
    # Newton's law of cooling: 3200 s x ln((140 - 20) / (43 - 20)); 3 K off the 43 °C makes it ln(120 / 20)
    hot = {"kind": "hot", "temperature_c": "140", "ambient_c": "20", "time_constant_s": "3200"}
    site = accepted_site()
    c1 = replace(site.graph["C1"], medium=Medium.THERMAL, test=None, physics=stored_physics(hot))
    nodes = [c1 if n.id == "C1" else n for n in site.graph.nodes.values()]
    waits = []
    for lines in (PUBLISHED, replace(PUBLISHED, burn_cooler_by_k=3)):
        graph = replace(type(site.graph).of(nodes, site.graph.links), lines=lines)
        released = done(replace(site, graph=graph), lock("Q1", "101"), lock("Q2", "102"), release("C1", 5))
        waits.append((released.permits["P-1"].release_of("C1").counts_from - at(5)).total_seconds())
    assert waits == [ceil(3200 * log(120 / 23)), ceil(3200 * log(120 / 20))]


def test_ready_is_signed_once_a_cycle():
    assert "ready-already" in refused(powered_site(), ready(26))


def test_a_permit_that_has_not_started_says_when_by_the_plants_clock():
    site = replace(isolated_site(), timezone="Europe/Warsaw")  # an hour ahead of UTC in November
    later = replace(site.permits["P-1"], starts_at=at(60))
    no = refusal(replace(site, permits={"P-1": later}), sign_on("odo", "201", 20))
    assert "Permit P-1 starts at 08:00 on 25 November." in {unmet.what for unmet in no.unmet}
