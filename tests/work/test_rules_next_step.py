"""The one next thing for each person: it leads through the job, is never refused, and never leads nowhere."""

from dataclasses import replace
from functools import cache

import pytest

from permits.work.rules.choices import choices
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.next_step import next_step
from permits.work.rules.words import Phase
from tests.work.following import DO, ELSEWHERE, following
from tests.work.otherwise import (
    absent,
    emergency,
    end_emergency,
    fed_twice,
    lift,
    name_holder,
    offer,
    suspend,
)
from tests.work.small_plant import (
    PEOPLE,
    SECOND_FEED,
    SITE,
    accept,
    accepted_site,
    at,
    begin,
    cancel,
    check,
    checked_site,
    clear,
    close_job,
    correct,
    done,
    hand_back,
    handed_back_site,
    in_test_site,
    isolate_again,
    isolated_site,
    issue,
    lock,
    locked_site,
    locks_and_releases,
    next_door,
    occupied_site,
    open_job,
    out_of_use,
    p1,
    powered_site,
    prove,
    readings,
    ready,
    reisolate,
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
    with_graph,
    with_person,
)
from tests.work.test_rules_closing import unproven_site
from tests.work.test_rules_occupying import defect_site


def step(site, who: str, when: float = 70):
    return next_step(site, p1(site), who, at(when))


def action(site, who: str, when: float = 70) -> str:
    return step(site, who, when).action


def also(site, who: str, when: float = 70) -> set[str]:
    return {choice.action for choice in choices(site, p1(site), who, at(when))}


def stopped_site():
    changed = with_graph(occupied_site(), *SECOND_FEED)
    return fold(changed, plant_changed(changed, at(30), "sig"))


STATES = {
    "requested": lambda: done(SITE, request()),
    "request over": lambda: settled(done(SITE, request()), at(600)),
    "issued": lambda: done(SITE, request(), issue()),
    "issued, over": lambda: settled(done(SITE, request(), issue()), at(600)),
    "accepted": lambda: done(SITE, request(), issue(), accept()),
    "told": accepted_site,
    "one lock": lambda: done(accepted_site(), lock("Q1", "101")),
    "locked": locked_site,
    "locked, over": lambda: settled(locked_site(), at(600)),
    "half proven": lambda: done(locked_site(), readings()[0]),
    "isolated": isolated_site,
    "isolated, over": lambda: settled(isolated_site(), at(600)),
    "inside, unchecked": lambda: done(isolated_site(), sign_on("odo", "201")),
    "a defect": defect_site,
    "a defect, out": lambda: done(defect_site(), sign_off("odo")),
    "checked": checked_site,
    "occupied": occupied_site,
    "occupied, over": lambda: settled(occupied_site(), at(600)),
    "stopped, inside": stopped_site,
    "stopped, out": lambda: done(stopped_site(), sign_off("odo", 40), sign_off("hal", 40)),
    "stopped, lifted": lambda: done(made("stopped, out"), lift(41)),
    "fed twice, lifted": lambda: done(fed_twice(isolated_site()), lift(41)),
    "suspended": lambda: done(isolated_site(), suspend(30)),
    "emergency": lambda: done(occupied_site(), emergency(30)),
    "emergency over": lambda: done(checked_site(), emergency(30), end_emergency(31)),
    "offered": lambda: done(isolated_site(), offer()),
    "named anew": lambda: done(locked_site(), name_holder(when=20)),
    "named anew, over": lambda: settled(done(locked_site(), name_holder(when=20)), at(600)),
    "absent, back": lambda: done(checked_site(), sign_on("odo", "201", 25), absent(when=30)),
    "sanctioned": lambda: done(checked_site(), sanction()),
    "in test": in_test_site,
    "freed": lambda: done(in_test_site(), remove("Q1", "Q2")),
    "clear": lambda: done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT", when=69)),
    "powered": powered_site,
    "powered, over": lambda: settled(powered_site(), at(600)),
    "job": lambda: done(powered_site(), open_job()),
    "job done": lambda: done(powered_site(), open_job(), correct(), prove(), close_job()),
    "dead again": lambda: done(powered_site(), reisolate()),
    "handed back": handed_back_site,
    "half off": lambda: done(handed_back_site(), remove("Q1", when=81)),
    "off": lambda: done(handed_back_site(), remove("Q1", "Q2", "G1", when=81)),
    "told again": lambda: done(handed_back_site(), *restore()[:2]),
    "clear again": lambda: done(handed_back_site(), *restore()[:3]),
    "restored": restored_site,
    "half signed": lambda: done(restored_site(), sign_closed()),
    "unproven": unproven_site,
    "out of use": lambda: done(unproven_site(), out_of_use()),
    "closed": lambda: done(restored_site(), sign_closed(), sign_closed(89, by="maud")),
    "cancelled": lambda: done(SITE, request(), cancel()),
    "neighbour inside": lambda: next_door(checked_site()),
    "holder not qualified": lambda: with_person(
        locked_site(), "odo", authorisations=PEOPLE["hal"].authorisations
    ),
}
AT = {"handed back": 82, "half off": 82, "off": 82, "told again": 83, "clear again": 84, "restored": 88,
      "half signed": 89, "unproven": 90, "out of use": 91, "closed": 90}  # fmt: skip


@cache
def made(state: str):
    """The site in this state; nothing changes a site, so that each is made once."""
    return STATES[state]()


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("state", STATES)
def test_what_the_next_step_says_is_never_refused(state, who):
    site = made(state)
    now = at(601 if "over" in state else AT.get(state, 70))
    ask = following(site, "P-1", who, now)
    if ask is not None and action(site, who, (now - at(0)).total_seconds() / 60) not in ELSEWHERE:
        done(site, ask)


@pytest.mark.parametrize("who", ["odo", "hal"])
@pytest.mark.parametrize("state", STATES)
def test_nobody_is_sent_where_their_authorisation_no_longer_reaches(state, who):
    site = with_person(made(state), who, authorisations=())
    now = at(601 if "over" in state else AT.get(state, 70))
    ask = following(site, "P-1", who, now)
    if ask is not None and step(site, who, (now - at(0)).total_seconds() / 60).action not in ELSEWHERE:
        done(site, ask)


def test_who_is_not_authorised_reads_what_for_and_who_sees_to_it():
    site = with_person(accepted_site(), "odo", authorisations=())
    found = step(site, "odo", 5)
    assert (found.action, found.point) == ("", "")
    assert found.title == "Not allowed on this machine now"
    assert found.why.startswith("Next would be: Lock Main switch. Odo Holder is not authorised for CUT: ")
    assert found.why.endswith("A safety officer authorises them, under “People”: Sig Officer.")
    assert action(site, "hal", 5) == "lock", "their crew goes on"


@pytest.mark.parametrize(
    "state", [name for name in STATES if name not in ("closed", "cancelled", "out of use")]
)
def test_there_is_always_someone_with_a_next_step(state):
    site = made(state)
    when = 601 if "over" in state else AT.get(state, 70)
    assert any(action(site, who, when) or step(site, who, when).until for who in PEOPLE)


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("state", STATES)
def test_who_waits_is_told_for_what(state, who):
    site = made(state)
    assert step(site, who, AT.get(state, 70)).title


def test_following_the_next_steps_alone_leads_from_request_to_close():
    """Everyone does only what their own next step says; a job opens and closes, and the permit ends."""
    site = done(SITE, request())
    minute = 1.0
    while not p1(site).phase.is_over:
        assert minute < 200, (p1(site).phase, {who: step(site, who, minute) for who in PEOPLE})
        for who in PEOPLE:
            if p1(site).phase.is_over:
                break
            ask = following(settled(site, at(minute)), "P-1", who, at(minute))
            if ask is not None:
                site = done(site, ask)
                minute += 0.5
        minute += 1
    assert p1(site).phase is Phase.CLOSED


def test_a_stranger_to_the_site_has_nothing_to_do():
    assert action(isolated_site(), "nobody") == ""


# ── each phase, by example ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("state", "who", "expected"),
    [
        ("requested", "maud", "issue"),
        ("requested", "odo", ""),
        ("request over", "odo", "cancel"),
        ("issued", "odo", "accept"),
        ("issued", "hal", ""),
        ("issued, over", "odo", "cancel"),
        ("accepted", "odo", "tell"),
        ("told", "odo", "lock"),
        ("one lock", "hal", "lock"),
        ("locked", "odo", "verify"),
        ("locked, over", "odo", "remove-locks"),
        ("locked, over", "hal", ""),
        ("half proven", "odo", "verify"),
        ("isolated", "odo", "sign-on"),
        ("isolated", "pia", ""),
        ("isolated, over", "odo", "hand-back"),
        ("inside, unchecked", "odo", "check"),
        ("a defect", "odo", "defects"),
        ("a defect", "sig", "defects"),
        ("checked", "maud", "sanction"),
        ("checked", "odo", ""),
        ("occupied", "odo", "sign-off"),
        ("occupied, over", "hal", "sign-off"),
        ("stopped, inside", "hal", "sign-off"),
        ("stopped, out", "odo", ""),
        ("stopped, out", "sig", "lift-halt"),
        ("stopped, lifted", "odo", "hand-back"),
        ("stopped, lifted", "maud", ""),
        ("fed twice, lifted", "maud", "amend"),
        ("suspended", "odo", "lift-halt"),
        ("suspended", "hal", ""),
        ("emergency", "hal", "sign-off"),
        ("emergency over", "sig", "lift-halt"),
        ("offered", "pia", "lock"),
        ("offered", "odo", ""),
        ("named anew", "pia", "accept-handover"),
        ("named anew, over", "odo", "withdraw-handover"),
        ("absent, back", "odo", ""),
        ("sanctioned", "odo", "open-job"),
        ("in test", "odo", "remove-locks"),
        ("in test", "hal", ""),
        ("freed", "ola", "confirm-clear"),
        ("clear", "odo", "ready"),
        ("powered", "odo", "open-job"),
        ("powered", "ola", ""),
        ("powered, over", "ola", "confirm-clear"),
        ("job", "odo", "job"),
        ("job done", "odo", "reisolate"),
        ("dead again", "odo", "lock"),
        ("handed back", "odo", "remove-locks"),
        ("handed back", "maud", ""),
        ("off", "hal", "tell"),
        ("told again", "ola", "confirm-clear"),
        ("clear again", "odo", "reenergise"),
        ("restored", "odo", "close"),
        ("restored", "maud", "close"),
        ("half signed", "maud", "close"),
        ("half signed", "odo", ""),
        ("unproven", "odo", "reisolate"),
        ("unproven", "maud", ""),
        ("closed", "odo", ""),
        ("cancelled", "odo", ""),
        ("holder not qualified", "odo", "name-crew"),
        ("holder not qualified", "hal", ""),
    ],
)
def test_next_steps_lead_through_the_job(state, who, expected):
    when = 601 if "over" in state else AT.get(state, 70)
    assert action(made(state), who, when) == expected


def test_the_lock_is_the_first_open_point_of_the_plan():
    assert step(made("one lock"), "odo").point == "Q2"


def test_the_wait_for_a_store_says_until_when():
    site = done(locked_site(), readings(8)[0], readings(9)[1])
    assert step(site, "odo", 10).until == at(11)


def test_who_waits_for_a_qualified_person_reads_who_that_is():
    assert "Pia Holder" in step(made("holder not qualified"), "odo").why


def test_before_its_time_a_permit_waits():
    site = isolated_site()
    early = replace(site, permits={"P-1": replace(p1(site), starts_at=at(100))})
    assert step(early, "odo", 70).until == at(100)


def test_a_store_that_filled_again_is_released_again():
    site = done(made("dead again"), lock("Q1", "101", 41), lock("Q2", "102", 42))
    assert (action(site, "odo"), step(site, "odo").point) == ("release", "C1")


def test_after_the_job_the_holder_hands_back():
    site = done(made("job done"), reisolate(31), *isolate_again(32))
    assert action(site, "odo") == "hand-back"


def test_a_test_that_nobody_was_told_of_is_told_first():
    site = done(SITE, request(), issue(), accept(), tell(tests=False), *locks_and_releases(), *readings())
    site = done(site, sign_on("odo", "201"), check(), sign_off("odo"), sanction(), open_job(22))
    assert action(site, "odo") == "tell"


def test_a_used_sanction_is_given_anew():
    site = done(checked_site(), sanction(cycles=1), begin(), reisolate(30), *readings(31))
    assert action(site, "maud") == "sanction"


# ── what else ───────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("state", "who", "expected"),
    [
        ("requested", "odo", "cancel"),
        ("locked", "odo", "remove-locks"),
        ("locked", "odo", "cancel"),
        ("isolated", "odo", "verify"),
        ("isolated", "hal", "try-start"),
        ("inside, unchecked", "odo", "sign-off"),
        ("occupied", "odo", "check"),
        ("checked", "odo", "sign-on"),
        ("checked", "odo", "hand-back"),
        ("checked", "maud", "extend"),
        ("checked", "odo", "name-crew"),
        ("sanctioned", "odo", "end-sanction"),
        ("in test", "ola", "confirm-clear"),
        ("powered", "odo", "reisolate"),
        ("handed back", "hal", "reisolate"),
        ("job", "hal", "reisolate"),
        ("unproven", "sig", "close-out-of-use"),
        ("a defect", "odo", "check"),
        ("requested", "ola", "stop-work"),
        ("restored", "hal", "stop-work"),
        ("occupied", "odo", "suspend"),
        ("locked", "odo", "offer-handover"),
        ("offered", "pia", "withdraw-handover"),
        ("offered", "odo", "withdraw-handover"),
        ("locked", "maud", "amend"),
        ("occupied", "sig", "take-off-absent"),
        ("handed back", "sig", "name-holder"),
        ("told", "ola", "acknowledge"),
    ],
)
def test_what_else_is_possible_is_offered(state, who, expected):
    assert expected in also(made(state), who, AT.get(state, 70))


@pytest.mark.parametrize(
    ("state", "who", "withheld"),
    [
        ("isolated", "odo", "cancel"),
        ("sanctioned", "odo", "cancel"),
        ("checked", "odo", "extend"),
        ("isolated", "pia", "sign-on"),
        ("restored", "sig", "close-out-of-use"),
        ("locked", "ola", "confirm-clear"),
        ("locked", "hal", "suspend"),
        ("in test", "odo", "offer-handover"),
        ("suspended", "maud", "amend"),
        ("told", "odo", "acknowledge"),
        ("locked", "odo", "enter-late"),
    ],
)
def test_what_is_not_possible_is_not_offered(state, who, withheld):
    assert withheld not in also(made(state), who, AT.get(state, 70))


def test_a_watcher_may_leave():
    site = done(in_test_site(), clear("OUT", watching=True))
    assert "leave-watch" in also(site, "ola")


def test_the_next_step_is_not_offered_twice():
    for state in STATES:
        site = made(state)
        for who in PEOPLE:
            assert action(site, who) not in also(site, who) or not action(site, who)


def test_every_action_of_a_next_step_is_known():
    found = {action(made(name), who, AT.get(name, 70)) for name in STATES for who in PEOPLE} - {""}
    assert found <= set(DO)


def test_ready_again_and_hand_back_go_on_from_a_test():
    site = done(made("clear"), ready(70))
    assert "hand-back" in also(site, "odo", 71)
    assert p1(done(site, hand_back(71))).phase is Phase.RESTORING


# ── for whom one waits ──────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("name", STATES)
def test_whoever_waits_for_no_hour_is_told_for_whom(name):
    site = made(name)
    for who in PEOPLE:
        found = step(site, who)
        if not found.action and found.until is None and not p1(site).phase.is_over:
            said = f"{found.title} {found.why}"
            assert any(person.name in said for person in PEOPLE.values()), (who, said)


def test_who_ends_an_emergency_is_named_with_the_page():
    found = step(done(checked_site(), emergency(30)), "hal")
    assert found.title == "The whole site is stopped"
    assert found.why.endswith("An officer ends the emergency, under “The whole site”: Sig Officer.")


def test_the_points_that_a_lock_comes_off_are_named_with_their_places():
    assert step(in_test_site(), "odo").why == "Main switch (saw cabinet), Conveyor switch (drill cabinet)"


def test_the_areas_to_confirm_are_named_with_their_places():
    site = made("freed")
    assert step(site, "odo").why == "Outfeed (line 3, north), Drilling table (line 3, middle)"
