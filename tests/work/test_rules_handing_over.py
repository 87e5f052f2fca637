"""The permit passes to another holder, and no point is ever without a lock meanwhile."""

from dataclasses import replace

import pytest

from permits.work.rules.words import Phase
from tests.work.otherwise import (
    absent,
    amend,
    lift,
    name_holder,
    offer,
    stop,
    suspend,
    take_over,
    withdraw,
)
from tests.work.small_plant import (
    SITE,
    at,
    checked_site,
    clear,
    done,
    hand_back,
    handed_back_site,
    in_test_site,
    isolated_site,
    lock,
    locked_site,
    occupied_site,
    p1,
    readings,
    refusal,
    refused,
    remove,
    restored_site,
    sign_closed,
    sign_off,
    sign_on,
    with_person,
)


def later(minute, asks):
    """The same commands at another time."""
    return [replace(ask, at=at(minute)) for ask in asks]


INCOMING = [lock("Q1", "401", 31, by="pia"), lock("Q2", "402", 32, by="pia"), lock("G1", "403", 33, by="pia")]


def test_the_incoming_holder_locks_signs_and_the_outgoing_takes_theirs_off():
    site = done(isolated_site(), offer(), *INCOMING, take_over(), remove("Q1", "Q2", "G1", when=36))
    p = p1(site)
    assert (p.holder, p.next_holder, p.phase) == ("pia", "", Phase.ISOLATED)
    assert {k.owner for k in p.hanging} == {"pia"}
    assert [s.person for s in p.signatures[-2:]] == ["odo", "pia"]


def test_the_test_of_each_point_stands_through_a_handover():
    site = done(isolated_site(), offer(), *INCOMING, take_over(), remove("Q1", "Q2", "G1", when=36))
    assert all(v.void_at is None for v in p1(site).verifications)


def test_no_point_is_without_a_lock_at_any_moment():
    """Each lock of the outgoing comes off only behind one of the incoming (29 CFR 1910.147(f)(4))."""
    site = done(locked_site(), offer(when=10))
    assert refused(site, remove("Q1", when=11)) == {"last-lock"}
    site = done(site, lock("Q1", "401", 12, by="pia"), remove("Q1", when=13))
    assert {k.owner for k in p1(site).hanging if k.where == "Q1"} == {"pia"}


def test_the_incoming_signs_only_behind_locks_of_their_own():
    site = done(isolated_site(), offer(), *INCOMING[:1])
    no = refusal(site, take_over())
    assert no.codes == {"no-own-lock"}
    assert len(no.unmet) == 2
    assert "Conveyor switch" in no.unmet[0].what


def test_the_incoming_confirms_what_every_holder_confirms():
    site = done(isolated_site(), offer(), *INCOMING)
    assert refused(site, take_over(knows=False)) == {"not-understood"}


@pytest.mark.parametrize(
    "state", [in_test_site, handed_back_site], ids=["in a test", "on the way back to service"]
)
def test_a_shift_changes_only_while_isolating_or_isolated(state):
    assert refused(state(), offer(when=82)) == {"wrong-phase"}


@pytest.mark.parametrize("by", [stop(30), suspend(30)], ids=["stopped", "suspended"])
def test_a_shift_changes_also_while_held_up(by):
    site = done(
        isolated_site(), by, offer(when=31), *later(40, INCOMING)
    )
    assert p1(done(site, take_over(50))).holder == "pia"


def test_only_the_holder_hands_over():
    assert refused(isolated_site(), offer(by="hal")) == {"not-holder"}


@pytest.mark.parametrize(
    ("to", "codes"),
    [
        ("odo", {"holder-already"}),
        ("nobody", {"no-such-person"}),
        ("ola", {"no-role", "not-authorised"}),
        ("maud", {"no-role", "not-authorised", "own-issue"}),
    ],
)
def test_who_takes_over_may_hold_the_permit(to, codes):
    assert refused(isolated_site(), offer(to)) == codes
    assert refused(isolated_site(), name_holder(to)) == codes


def test_only_who_was_offered_takes_over():
    site = done(isolated_site(), offer())
    no = refusal(site, take_over(by="hal"))
    assert "not-offered" in no.codes
    assert "Pia Holder" in no.unmet[0].who
    assert "not-offered" in refused(isolated_site(), take_over())


def test_who_is_no_longer_authorised_does_not_take_over():
    site = with_person(done(isolated_site(), offer(), *INCOMING), "pia", authorisations=())
    assert refused(site, take_over()) == {"not-authorised"}


def test_a_handover_is_withdrawn():
    site = done(isolated_site(), offer(), withdraw())
    assert p1(site).next_holder == ""
    assert refused(site, withdraw(32)) == {"no-handover"}


def test_only_those_concerned_or_an_officer_withdraw_it():
    site = done(isolated_site(), offer())
    assert refused(site, withdraw(by="hal")) == {"no-role"}
    for who in ("odo", "pia", "sig"):
        assert p1(done(site, withdraw(by=who))).next_holder == ""


def test_crew_stays_signed_on_through_a_handover():
    site = done(occupied_site(), sign_off("odo", 25), offer(when=30), *INCOMING, take_over())
    assert [on.person for on in p1(site).signed_on] == ["hal"]


def test_the_new_holder_ends_the_permit():
    site = done(checked_site(), offer(), *INCOMING, take_over(), remove("Q1", "Q2", "G1", when=36))
    assert refused(site, hand_back(40)) == {"not-holder"}
    assert p1(done(site, hand_back(40, by="pia"))).phase is Phase.RESTORING


def test_a_signature_of_the_earlier_holder_does_not_close_for_the_new_one():
    site = done(restored_site(), sign_closed(88), name_holder(when=89), take_over(90))
    assert p1(done(site, sign_closed(91, by="maud"))).phase is Phase.RESTORING
    assert p1(done(site, sign_closed(91, by="maud"), sign_closed(92, by="pia"))).phase is Phase.CLOSED


def test_where_own_issue_is_allowed_an_issuer_may_take_over_and_it_says_so():
    lone = replace(SITE, policy=replace(SITE.policy, own_issue=True))
    site = with_person(
        isolated_site(lone), "maud", roles=frozenset({"issuer", "technician"}),
        authorisations=SITE.people["odo"].authorisations,
    )  # fmt: skip
    site = done(site, name_holder("maud"), take_over(by="maud"))
    assert (p1(site).holder, p1(site).own_issue) == ("maud", True)


# ── a holder who is gone ────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("state", [locked_site, isolated_site, in_test_site, handed_back_site, restored_site])
def test_an_officer_names_a_new_holder_in_every_phase_of_work(state):
    assert p1(done(state(), name_holder(when=90), take_over(91))).holder == "pia"


def test_only_an_officer_names_a_new_holder():
    assert refused(isolated_site(), name_holder(by="maud")) == {"no-role"}


def test_why_the_holder_is_replaced_is_said():
    assert refused(isolated_site(), name_holder(why="")) == {"says-too-little"}


def test_a_holder_who_leaves_is_replaced_and_the_permit_ends_lawfully():
    """Odo goes home ill from inside, with every lock his: Pia takes over, locks, and finishes the work."""
    site = done(occupied_site(), stop(25), sign_off("hal", 26), absent(when=30), lift(31))
    site = done(
        site, name_holder(when=32), take_over(33), *later(40, INCOMING)
    )
    for point in ("Q1", "Q2", "G1"):
        site = done(site, absent(point, when=45))
    site = done(site, *(replace(read, by="pia") for read in readings(50)))
    site = done(site, hand_back(55, by="pia"), remove("Q1", "Q2", "G1", by="pia", when=56))
    assert p1(site).hanging == ()


def test_a_lock_that_is_the_last_one_stays_until_the_new_holders_hangs():
    site = done(isolated_site(), name_holder(), take_over())
    assert refused(site, absent("Q1")) == {"last-lock"}


def test_before_any_work_a_new_holder_starts_as_the_old_one_would():
    site = done(locked_site(), name_holder(when=20), take_over(21), absent("Q1", when=22))
    site = done(site, lock("Q1", "401", 23, by="pia"))
    assert {k.owner for k in p1(site).hanging if k.where == "Q1"} == {"pia"}


def test_a_signed_on_incoming_holder_goes_on_under_their_own_name():
    site = done(isolated_site(), offer(), *INCOMING, sign_on("pia", "409", 34), take_over(35))
    assert p1(site).signed_on[0].person == "pia"


def test_nobody_takes_over_from_themselves():
    assert refused(isolated_site(), offer("odo")) == {"holder-already"}


def test_what_the_last_shift_saw_clear_is_seen_again():
    site = done(isolated_site(), clear("OUT", "NEXT", when=29, watching=True), offer(), *INCOMING)
    assert p1(site).confirmation("OUT")
    assert p1(done(site, take_over())).confirmation("OUT") is None


def test_whoever_added_points_to_the_plan_does_not_become_its_holder():
    pia = isolated_site().people["pia"]
    both = frozenset({"issuer", "technician"})
    site = with_person(isolated_site(), "sig", roles=both, authorisations=pia.authorisations)
    no = refusal(done(site, amend(29, lock=("Q0",), by="sig")), offer("sig"))
    assert no.codes == {"own-issue"}
    assert "added points to P-1" in no.unmet[0].what
