"""Whom an event concerns: 29 CFR 1910.147(c)(9), (e)(2), (e)(3)(iii) where named; else practice."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, get_args

import pytest

from permits.work.rules import events as e
from permits.work.rules.concerns import concerns, told
from permits.work.rules.due import due, plant_changed
from permits.work.rules.state import Person, Site
from permits.work.rules.written import hints_of
from tests.work.otherwise import (
    TWO_OFFICERS,
    absent,
    amend,
    emergency,
    end_emergency,
    fed_twice,
    lift,
    name_holder,
    offer,
    on_paper,
    stop,
    suspend,
    take_over,
    told_back,
    withdraw,
)
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accept,
    accepted_site,
    at,
    cancel,
    check,
    checked_site,
    clear,
    correct,
    done,
    extend,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    isolated_site,
    issue,
    lock,
    locked_site,
    name_crew,
    next_door,
    occupied_site,
    open_job,
    out_of_use,
    powered_site,
    readings,
    ready,
    reenergise,
    remove,
    request,
    restore,
    restored_site,
    sanction,
    settled,
    sign_closed,
    sign_off,
    sign_on,
    tell,
    verify,
    with_graph,
    zero,
)

AFFECTED = {"ola"}
OFFICERS = {"sig"}


def heard(site: Site, ask: Any) -> dict[str, list[tuple[str, bool]]]:
    """Person → what they are told of what the command did: (text, urgent)."""
    return by_person(settled(site, ask.at), happened(site, ask))


def by_person(before: Site, events: list[e.Event]) -> dict[str, list[tuple[str, bool]]]:
    found: dict[str, list[tuple[str, bool]]] = {}
    for n, person, text, urgent in told(before, events):
        assert person != events[n].by
        found.setdefault(person, []).append((text, urgent))
    return found


def urgent_for(found: dict[str, list[tuple[str, bool]]]) -> set[str]:
    return {person for person, lines in found.items() if any(urgent for _, urgent in lines)}


# ── every kind is decided ───────────────────────────────────────────────────────────────────────────────


def specimen(kind: type) -> e.Event:
    """Some event of a kind; its fields are of the right type and mean nothing."""
    made = {str: "hal", int: 0, bool: True, datetime: at(30), Decimal: Decimal(0)}

    def value(name: str, hint: Any) -> Any:
        if name == "permit":
            return "" if kind in get_args(e.SiteEvent) else "P-1"
        if isinstance(hint, type) and issubclass(hint, StrEnum):
            return next(iter(hint))
        return made.get(hint, () if "tuple" in str(hint) else None)

    hints = hints_of(kind)
    return kind(**{field.name: value(field.name, hints[field.name]) for field in fields(kind)})


@pytest.mark.parametrize("kind", get_args(e.Event), ids=lambda kind: kind.__name__)
def test_every_kind_of_event_is_decided_and_says_plain_sentences(kind):
    site = done(isolated_site(), sign_on("odo", "201"), check(defect="wear"), sign_off("odo"), sanction())
    for one in concerns(site, site, specimen(kind)):
        assert re.fullmatch(r".+\.", one.text), one.text
        assert not re.search(r"\b(Maud|Odo|Pia|Hal|Ola|Sig)\b", one.text), "a message names no person"
        assert set(one.people) <= {"", *SITE.people}


# ── stops ───────────────────────────────────────────────────────────────────────────────────────────────


def test_a_stop_calls_everyone_out_and_tells_officers_and_next_door_at_once():
    found = heard(next_door(occupied_site()), stop(50))
    assert urgent_for(found) == {"odo", "hal", "maud", "pia"} | OFFICERS
    for inside in ("odo", "hal"):
        assert [text for text, _ in found[inside]] == ["P-1 is stopped: smoke. Come out now and sign off."]
    assert found["sig"] == [("P-1 is stopped: smoke. Nobody goes in.", True)]


def test_who_stops_the_work_is_not_told_so():
    assert "hal" not in heard(occupied_site(), stop(50, by="hal"))


def test_an_emergency_reaches_everyone_of_the_site_and_each_crew_by_its_permit():
    site = occupied_site()
    found = heard(site, emergency(50))
    assert urgent_for(found) == set(site.people) - {"sig"}
    assert len(found["ola"]) == 1
    assert [text[:9] for text, _ in found["hal"]] == ["Emergency", "P-1 is st"]
    assert set(heard(done(site, emergency(50)), end_emergency(60))) == set(site.people) - {"sig"}


def test_isolation_that_is_lost_is_urgent_where_people_are_inside_or_energy_has_a_path():
    found_feed = with_graph(occupied_site(), *SECOND_FEED)
    found = by_person(found_feed, plant_changed(found_feed, at(50), "sig"))
    assert urgent_for(found) == {"odo", "hal", "maud"}
    assert [text.endswith("Come out now and sign off.") for text, _ in found["hal"]] == [True]
    assert "Nobody goes in" in found["maud"][0][0]


def test_a_suspension_and_its_end_reach_those_of_the_permit():
    site = done(isolated_site(), suspend(30))
    assert "suspended: lightning" in heard(isolated_site(), suspend(30))["hal"][0][0]
    assert {"odo", "hal", "maud"} <= set(heard(site, lift(40)))


# ── from request to accept ──────────────────────────────────────────────────────────────────────────────


def test_a_request_goes_to_the_issuers():
    assert heard(SITE, request()) == {
        "maud": [("P-1 is asked for: calibration, Saw chamber, Outfeed. An issuer signs it out.", False)]
    }


def test_an_issuer_who_asks_themselves_leaves_it_to_the_others():
    two = replace(SITE, people={**SITE.people, "ivo": Person("ivo", "Ivo Issuer", frozenset({"issuer"}))})
    assert set(heard(two, request(by="maud"))) == {"ivo"}


def test_a_signed_permit_reaches_holder_and_crew():
    found = heard(done(SITE, request()), issue())
    assert set(found) == {"odo", "hal"}
    assert found["odo"][0][0].endswith("Read the plan, then accept it.")
    assert set(heard(done(SITE, request(), issue()), accept())) == {"hal", "maud"}


def test_whoever_is_named_for_the_crew_is_told():
    assert set(heard(accepted_site(), name_crew("pia"))) == {"pia"}


def test_affected_people_are_told_before_locking_after_unlocking_and_when_power_is_back():
    before = heard(done(SITE, request(), issue(), accept()), tell())
    assert set(before) == AFFECTED
    assert "Do not start it" in before["ola"][0][0]
    assert "started for tests" in before["ola"][0][0]
    off = done(handed_back_site(), remove("Q1", "Q2", "G1", when=81))
    assert "power comes back" in heard(off, tell(82))["ola"][0][0]
    site = done(restored_site(), sign_closed(88))
    assert heard(site, sign_closed(89, by="maud"))["ola"][0][0].startswith("P-1 is closed")


def test_a_cancelled_permit_reaches_affected_people_only_where_they_were_told_of_it():
    assert "ola" not in heard(done(SITE, request(), issue(), accept()), cancel())
    assert "ola" in heard(accepted_site(), cancel())


def test_more_time_reaches_those_of_the_permit():
    assert heard(isolated_site(), extend(30, 600))["odo"][0][0] == "P-1 runs until 16:00 on 25 November."


# ── tests under power ───────────────────────────────────────────────────────────────────────────────────


def test_a_test_reaches_crew_affected_people_and_who_works_next_door():
    site = next_door(checked_site(), 30)
    found = heard(site, sanction(45, points=("Q1",)))
    assert set(found) == {"odo", "hal", "ola", "pia"}
    assert not urgent_for(found)


def test_power_that_comes_on_is_urgent():
    site = done(in_test_site(), remove("Q1", "Q2"))
    found = heard(done(site, clear("OUT", "NEXT")), ready())
    assert urgent_for(found) == {"hal", "maud", "ola"}
    assert "Keep out" in found["ola"][0][0]


def test_a_sanction_that_runs_out_in_a_test_is_urgent_for_who_has_to_lock_again():
    site = in_test_site()
    found = by_person(site, due(site, at(21 + 121)))
    assert "odo" in urgent_for(found)
    assert "lock the points again" in found["odo"][0][0]


# ── handovers, absent people ────────────────────────────────────────────────────────────────────────────


def test_the_next_holder_is_told_and_told_again_when_it_is_withdrawn():
    assert set(heard(isolated_site(), offer())) == {"pia"}
    offered = done(isolated_site(), offer())
    assert "does not change hands" in heard(offered, withdraw())["pia"][0][0]
    named = heard(isolated_site(), name_holder())
    assert named["pia"][0][0].startswith("You are to be the holder of P-1.")
    assert set(named) == {"pia", "odo", "hal", "maud"}


def test_who_held_it_before_is_told_of_the_new_holder():
    locks = [lock(point, f"40{n}", 31 + n, by="pia") for n, point in enumerate(("Q1", "Q2", "G1"))]
    site = done(isolated_site(), offer(), *locks)
    assert {"odo", "hal", "maud"} <= set(heard(site, take_over()))


def test_an_absent_owner_must_be_told_before_they_resume():
    site = done(isolated_site(TWO_OFFICERS), sign_on("hal", "202"))
    found = heard(site, absent(owner="hal"))
    assert urgent_for(found) == {"hal"}
    assert "You must be told before you resume work." in found["hal"][0][0]
    off = done(site, absent(owner="hal"))
    assert heard(off, told_back("hal")) == {}


# ── time, hand-back, the rest ───────────────────────────────────────────────────────────────────────────


def test_a_permit_whose_time_is_over_calls_its_crew_out():
    site = occupied_site()
    found = by_person(site, due(site, at(481)))
    assert {"odo", "hal", "maud"} <= urgent_for(found)
    assert found["hal"][0][0] == "The time of P-1 is over. Come out now and sign off."
    assert found["maud"][0][0] == "The time of P-1 is over. People are still signed on."


def test_nobody_is_hurried_where_nobody_is_inside():
    site = locked_site()
    assert not urgent_for(by_person(site, due(site, at(481))))


def test_owners_hear_that_their_locks_come_off_and_affected_people_that_power_is_back():
    assert {"hal", "maud"} <= set(heard(checked_site(), hand_back()))
    ready_for_power = done(
        handed_back_site(), remove("Q1", "Q2", "G1", when=81), tell(82), clear("OUT", "NEXT", when=83)
    )
    found = heard(ready_for_power, reenergise(84))
    again = "CUT, DRILL are in service again: no permit holds a point of them any more."
    assert found["ola"] == [(f"Power is back at Saw chamber, Outfeed (P-1). {again}", False)]
    assert found["sig"] == [(f"P-1: {again}", False)]


def test_a_machine_out_of_use_is_urgent_for_who_might_start_it():
    site = done(powered_site(), open_job(), correct(), hand_back(29), remove("G1", when=81), *restore(81)[1:])
    found = heard(site, out_of_use())
    assert "ola" in urgent_for(found)
    assert "Do not start it." in found["ola"][0][0]


def test_a_lock_that_ends_anothers_test_is_told_to_its_holder():
    site = isolated_site()
    void = e.VerificationVoided(permit="P-1", by="pia", at=at(40), point="Q1", why="it is fed again")
    assert set(by_person(site, [void])) == {"odo", "hal"}


def test_a_test_that_fails_is_urgent_for_the_crew():
    failed = verify("CUT", zero("Q1", "230"), zero("C1"), zero("G1"), when=12)
    found = heard(locked_site(), failed)
    assert urgent_for(found) == {"hal"}
    assert found["hal"][0][0] == "P-1: Main switch was tested and is not dead."


def test_an_amended_plan_and_paper_are_told():
    stopped = done(fed_twice(isolated_site()), lift(40))
    assert "Second switch" in heard(stopped, amend())["odo"][0][0]
    assert set(heard(SITE, on_paper())) == set(SITE.people) - {"sig"}


def test_a_defect_goes_to_the_officer_who_may_accept_it():
    site = done(isolated_site(), sign_on("odo", "201"))
    assert heard(site, check(defect="wear")) == {"sig": [("P-1: defects found: loose.", False)]}
    assert heard(site, check()) == {}


def test_the_same_sentence_is_said_once_a_command_and_in_one_line():
    why = "first line\r\nsecond line."
    site = isolated_site()
    voids = [
        e.VerificationVoided(permit="P-1", by="sig", at=at(40), point=point, why=why)
        for point in ("Q1", "Q2")
    ]
    assert by_person(site, voids)["odo"] == [
        ("P-1: a test proves nothing any more, since first line second line.", False)
    ]


def test_being_proven_dead_is_told_to_the_crew():
    site = done(locked_site(), readings()[0])
    assert heard(site, readings()[1]) == {"hal": [("P-1 is proven dead: its crew may sign on.", False)]}
