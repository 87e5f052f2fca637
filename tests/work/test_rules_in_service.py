"""Which machines are not in service, said of the machine and not only of the permit that holds it."""

from dataclasses import replace

from permits.work.rules.in_service import not_in_service, not_in_service_beside, returned
from permits.work.rules.words import OutOfUse
from tests.work.small_plant import (
    SITE,
    accepted_site,
    done,
    handed_back_site,
    locked_site,
    next_door,
    p1,
    reenergise,
    restored_site,
)
from tests.work.test_rules_restoring import unlocked

LEFT = OutOfUse("CUT", "P-1", ("angle",))
OUT = "CUT is out of use since P-1 was closed not proven: angle"


def test_a_plant_at_rest_is_in_service():
    assert not_in_service(SITE) == {}


def test_a_machine_left_out_of_use_says_since_when_and_of_which_axis():
    site = replace(SITE, out_of_use={"CUT": LEFT})
    assert not_in_service(site) == not_in_service_beside(site) == {"CUT": (OUT,)}


def test_a_lock_keeps_every_machine_that_its_point_feeds_out_of_service():
    held = not_in_service(locked_site())
    assert held["DRILL"] == ("DRILL is not in service: P-1 holds Conveyor switch",)
    assert held["CUT"] == ("CUT is not in service: P-1 holds 3 points of it",)


def test_beside_the_permits_only_what_they_do_not_show_is_said():
    assert set(not_in_service_beside(locked_site())) == {"DRILL"}


def test_a_machine_that_is_worked_on_is_not_in_service_before_its_first_lock():
    assert not_in_service(accepted_site())["CUT"] == ("CUT is not in service: P-1 is at work on it",)


def test_the_last_permit_to_hold_a_machine_returns_it():
    before = unlocked()
    after = done(before, reenergise(84))
    assert set(returned(before, after, p1(after))) == {"CUT", "DRILL"}
    still = replace(after, out_of_use={"CUT": LEFT})
    assert returned(before, still, p1(still)) == ("DRILL",)


def test_while_another_permit_holds_it_nothing_returns():
    site = next_door(handed_back_site(), 81)
    later = restored_site()
    after = replace(site, permits={**site.permits, "P-1": p1(later)})
    assert "DRILL" not in returned(site, after, p1(after))
