"""One calibration job from request to close, in the pure rules: what is possible at each step, and what is not."""

from permits.work.rules import commands as c
from permits.work.rules.next_step import next_step
from permits.work.rules.words import Phase

from tests.work.small_plant import (
    SITE, accept, accepted_site, at, begin, check, checked_site, clear, done, hand_back, isolate, isolated_site, issue, next_door,
    powered_site, ready, refusal, refused, reisolate, remove, request, sanction, sign_off, sign_on, tell, testing_site,
)  # fmt: skip


def test_the_whole_job():
    site = done(SITE, request())
    assert site.permits["P-1"].points == ("Q1", "Q2", "C1", "G1")
    site = done(site, issue(), accept(), tell(), *isolate())
    assert site.permits["P-1"].phase is Phase.ISOLATED
    site = done(site, sign_on("odo", "201"), sign_on("hal", "202"), check(), sign_off("hal", 16), sign_off("odo", 17))
    site = done(site, sanction(), begin(), remove("Q1", "Q2"), clear("OUT", "NEXT"), ready())
    job = c.OpenJob(permit="P-1", by="odo", at=at(26), machine="CUT")
    site = done(
        site,
        job,
        c.TakeReading(permit="P-1", by="odo", at=at(27), job=1),
        c.CorrectAxis(permit="P-1", by="odo", at=at(28), job=1, axis="angle"),
    )
    assert "correction-unproven" in refused(site, c.CloseJob(permit="P-1", by="odo", at=at(29), job=1))
    site = done(site, reisolate(40))
    site = done(site, *[a for a in isolate(42) if not isinstance(a, c.ReleaseStore)])
    assert site.permits["P-1"].phase is Phase.ISOLATED
    site = done(
        site,
        begin(55),
        remove("Q1", "Q2", when=56),
        clear("OUT", "NEXT", when=57),
        ready(58),
        c.TakeReading(permit="P-1", by="odo", at=at(59), job=1),
        c.ProveAxis(permit="P-1", by="odo", at=at(60), job=1, axis="angle"),
        c.CloseJob(permit="P-1", by="odo", at=at(61), job=1),
        clear("OUT", "NEXT", when=62),
        hand_back(63),
        remove("G1", when=64),
        tell(65),
        clear("OUT", "NEXT", when=66),
        c.Reenergise(permit="P-1", by="odo", at=at(67), visual_check=True),
        c.SignClosed(permit="P-1", by="odo", at=at(68)),
    )
    assert site.permits["P-1"].phase is Phase.RESTORING
    site = done(site, c.SignClosed(permit="P-1", by="maud", at=at(69)))
    assert site.permits["P-1"].phase is Phase.CLOSED


def test_a_sanction_is_refused_while_another_crew_would_be_reached():
    site = next_door(checked_site(), 30)
    no = refusal(site, sanction(40))
    assert no.codes == {"exposes-crew", "locked-by-another"}
    assert no.path == ("Neighbour's feeder", "Conveyor switch", "Conveyor", "Drilling table", "Pia Holder")
    done(site, sanction(40, points=("Q1",)))


def test_next_steps_lead_through_the_job():
    def step(site, who):
        return next_step(site, site.permits["P-1"], who, at(70)).action

    assert step(done(SITE, request()), "maud") == "issue"
    assert step(accepted_site(), "odo") == "lock"
    assert step(isolated_site(), "odo") == "sign-on"
    assert step(checked_site(), "maud") == "sanction"
    assert step(testing_site(), "odo") == "remove-locks"
    assert step(powered_site(), "odo") == "open-job"
