"""A point that takes a tag and no lock: one numbered danger tag, and what is done there besides, recorded.

29 CFR 1910.147(c)(3) asks for an additional measure beside a tag, such as taking out a circuit element or a
valve handle. The plants here are as a site has them that lets a tag stand for a lock (`rules.demands`).
"""

from dataclasses import replace

import pytest

from permits.plant.rules.demands import as_demanded
from permits.plant.rules.energy import TagOnly
from permits.work.rules import events as e
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.isolating import measure_demanded
from permits.work.rules.next_step import next_step
from permits.work.rules.words import Phase
from permits.work.rules.written import from_data, kind_of, to_data
from tests.work.small_plant import (
    SITE,
    accepted_site,
    at,
    begin,
    check,
    clear,
    done,
    hand_back,
    happened,
    isolated_site,
    lock,
    p1,
    readings,
    ready,
    refusal,
    refused,
    reisolate,
    release,
    remove,
    sanction,
    sign_off,
    sign_on,
    with_node,
)

MEASURE = "Pull fuse holder F3 and keep it in the tool crib."
WAS_DONE = "Fuse holder F3 pulled, in the tool crib"
WRITTEN = with_node(SITE, "Q2", lockable=False, tag_only=TagOnly(MEASURE))
TAKES_TAGS = replace(SITE, graph=as_demanded(WRITTEN.graph, {}, tag_out=True))
TAKES_NONE = replace(SITE, graph=as_demanded(WRITTEN.graph, {}))


def tag(number: str = "902", when: float = 5, *, by: str = "odo", besides: str = WAS_DONE):
    return replace(lock("Q2", number, when, by=by), tag="", measure_done=besides)


def first_locked():
    """The main switch is locked; the conveyor's, which takes a tag, comes next."""
    return done(accepted_site(TAKES_TAGS), lock("Q1", "101"))


def isolated():
    return done(first_locked(), tag(), release("C1", 6), release("G1", 7, padlock="103"), *readings())


# ── through lock, verify, isolated ──────────────────────────────────────────────────────────────────────


def test_a_tag_with_its_measure_isolates_as_a_lock_does():
    p = p1(isolated())
    assert p.phase is Phase.ISOLATED
    tagged = next(one for one in p.hanging if one.where == "Q2")
    assert (tagged.padlock, tagged.tag, tagged.measure_done) == ("902", "902", WAS_DONE)
    assert tagged.is_tag
    assert [one.where for one in p.hanging if one.is_tag] == ["Q2"]


def test_the_next_step_names_the_tag_and_the_measure():
    site = first_locked()
    step = next_step(site, p1(site), "odo", at(5))
    assert (step.action, step.title, step.point) == ("lock", "Tag Conveyor switch", "Q2")
    assert "Takes a tag, not a lock. Do this as well: " + MEASURE in step.why


def test_what_the_plant_demands_is_asked_at_its_point_only():
    assert measure_demanded(TAKES_TAGS, "Q2") == MEASURE
    assert measure_demanded(TAKES_TAGS, "Q1") == ""
    assert measure_demanded(TAKES_TAGS, "GONE") == ""


# ── refused ─────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("besides", ["", "  \n"])
def test_a_tag_alone_is_refused_and_the_measure_is_named(besides):
    no = refusal(first_locked(), tag(besides=besides))
    assert no.codes == {"no-measure"}
    assert MEASURE.rstrip(".") in no.unmet[0].what
    assert "Conveyor switch takes a tag and no lock" in no.unmet[0].what


def test_a_tag_has_a_number():
    assert refused(first_locked(), tag(" ")) == {"no-tag"}


def test_everything_that_is_missing_is_named_at_once():
    assert refused(first_locked(), tag("", besides="")) == {"no-tag", "no-measure"}


def test_one_tag_has_one_number():
    assert refused(first_locked(), replace(tag(), tag="903")) == {"two-tag-numbers"}
    [tagged] = happened(first_locked(), replace(tag(), tag=" 902 "))
    assert tagged.tag == "902"


def test_where_a_lock_fits_no_measure_stands_in_for_it():
    no = refusal(accepted_site(TAKES_TAGS), replace(lock("Q1", "101"), measure_done=WAS_DONE))
    assert no.codes == {"takes-a-lock"}
    assert "Main switch" in no.unmet[0].what


def test_a_tags_number_is_ones_own_and_in_one_place():
    site = done(first_locked(), lock("Q1", "211", 5, by="hal"))
    no = refusal(site, tag("211", 6))
    assert no.codes == {"padlock-of-another", "padlock-in-use"}
    assert all(unmet.what.startswith("Danger tag 211") for unmet in no.unmet)


def test_ones_second_tag_on_a_point_is_refused():
    no = refusal(done(first_locked(), tag()), tag("904", 6))
    assert no.codes == {"already-locked"}
    assert "Your danger tag 902" in no.unmet[0].what


def test_the_order_of_the_plan_holds_for_tags():
    assert refused(accepted_site(TAKES_TAGS), tag()) == {"out-of-order"}


# ── as a lock ───────────────────────────────────────────────────────────────────────────────────────────


def test_a_second_persons_tag_hangs_beside_the_first_with_what_they_saw_done():
    site = done(first_locked(), tag(), tag("911", 6, by="hal", besides="Saw the holder in the crib"))
    hal = p1(site).hanging[-1]
    assert (hal.owner, hal.padlock, hal.measure_done) == ("hal", "911", "Saw the holder in the crib")


def test_a_tag_comes_off_by_its_owner_and_is_told_as_a_tag():
    site = done(isolated(), hand_back(20))
    assert refused(site, remove("Q2", by="hal", when=21)) == {"not-your-lock"}
    off = [one for one in happened(site, remove("Q1", "Q2", when=21)) if isinstance(one, e.LockRemoved)]
    told = [(one.point, one.padlock, one.was_tag) for one in off]
    assert told == [("Q1", "101", False), ("Q2", "902", True)]


def test_a_tag_stays_while_someone_is_inside():
    site = done(isolated(), sign_on("hal", "202"))
    assert refused(site, remove("Q2", when=15)) == {"crew-signed-on", "last-lock"}


def test_after_a_test_the_measure_is_recorded_anew():
    site = done(isolated(), sign_on("odo", "201"), check(), sign_off("odo"), sanction(), begin())
    site = done(site, remove("Q1", "Q2"), clear("OUT", "NEXT"), ready(), reisolate())
    site = done(site, lock("Q1", "101", 41))
    assert refused(site, tag(when=42, besides="")) == {"no-measure"}
    assert p1(done(site, tag(when=42, besides="Pulled again"))).hanging[-1].measure_done == "Pulled again"


# ── the site takes no tags any more ─────────────────────────────────────────────────────────────────────


def test_a_permit_that_relies_on_a_tag_is_stopped_when_the_site_takes_tags_no_more():
    site = done(isolated(), sign_on("odo", "201"))
    changed = replace(site, graph=TAKES_NONE.graph)
    [lost] = [one for one in plant_changed(changed, at(16), "sig") if isinstance(one, e.IsolationLost)]
    assert lost.crew == ("odo",)
    assert lost.path == ("Neighbour's feeder", "Conveyor switch", "Conveyor", "Outfeed")
    after = fold(changed, plant_changed(changed, at(16), "sig"))
    assert p1(after).phase is Phase.ISOLATING
    assert p1(after).hanging == p1(site).hanging  # what hangs stays until its owner takes it off


def test_a_permit_with_locks_alone_is_not_stopped_by_it():
    site = isolated_site()
    assert plant_changed(replace(site, graph=as_demanded(SITE.graph, {}, tag_out=False)), at(16), "sig") == []


# ── written ─────────────────────────────────────────────────────────────────────────────────────────────


def test_an_entry_from_before_tags_were_taken_is_read_as_a_lock():
    [locked] = happened(accepted_site(), lock("Q1", "101"))
    data = {name: value for name, value in to_data(locked).items() if name != "measure_done"}
    carried = {"permit": locked.permit, "by": locked.by, "at": locked.at}
    assert from_data(kind_of(locked), data, **carried) == locked
    with pytest.raises(KeyError):
        from_data(kind_of(locked), {"point": "Q1"}, **carried)


def test_a_tag_is_no_lock_any_more_where_the_plant_says_that_one_fits():
    """The switch was changed for one that takes a padlock: who relies on the tag is called out."""
    site = done(accepted_site(TAKES_TAGS), lock("Q1", "101"), tag(), release("C1", 6))
    site = done(site, release("G1", 7, padlock="103"), *readings(12), sign_on("hal", "202", 15))
    fitted = replace(site, graph=SITE.graph)
    events = plant_changed(fitted, at(20), "sig")
    assert [type(x) for x in events] == [e.IsolationLost]
    assert events[0].crew == ("hal",)
    lost = done(fold(fitted, events), sign_off("hal", 21))
    assert refused(lost, sign_on("hal", "202", 22)) >= {"wrong-phase", "not-all-locked"}
    assert p1(done(lost, lock("Q2", "301", 23, by="hal"), *readings(24))).phase is Phase.ISOLATED
