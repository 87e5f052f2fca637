"""The end: both signatures with nothing left open, or an officer's with the machine left out of use."""

from dataclasses import replace

import pytest

from permits.work.rules import events as e
from permits.work.rules.evolve import fold
from permits.work.rules.out_of_use import defects_left
from permits.work.rules.words import OutOfUse, Phase, Policy
from permits.work.rules.written import from_data, to_data
from tests.work.small_plant import (
    SITE,
    accept,
    check,
    checked_site,
    clear,
    close_job,
    correct,
    done,
    hand_back,
    handed_back_site,
    happened,
    isolated_site,
    issue,
    locks_and_releases,
    open_job,
    out_of_use,
    p1,
    powered_site,
    prove,
    readings,
    reenergise,
    refusal,
    refused,
    reisolate,
    remove,
    request,
    restore,
    restored_site,
    sign_closed,
    sign_on,
    tell,
    with_person,
)
from tests.work.test_rules_occupying import accept_defect, defect_site, sign_off


def with_roles(site, who: str, *roles: str):
    return with_person(site, who, roles=frozenset(roles))


def unproven_site():
    """Power is back, and a correction of the angle has no as-left check."""
    site = done(powered_site(), open_job(), correct(), hand_back(29))
    return done(site, remove("G1", when=81), *restore(81)[1:])


# ── both signatures ─────────────────────────────────────────────────────────────────────────────────────


def test_one_signature_does_not_close():
    assert p1(done(restored_site(), sign_closed())).phase is Phase.RESTORING


@pytest.mark.parametrize(("first", "second"), [("odo", "maud"), ("maud", "odo")])
def test_holder_and_issuer_close_in_either_order(first, second):
    site = done(restored_site(), sign_closed(by=first), sign_closed(89, by=second))
    assert p1(site).phase is Phase.CLOSED


def test_another_issuer_signs_where_the_one_who_issued_is_no_longer_one():
    site = with_roles(with_roles(restored_site(), "maud"), "sig", "officer", "issuer")
    assert p1(done(site, sign_closed(), sign_closed(89, by="sig"))).phase is Phase.CLOSED


def test_who_issued_and_is_no_longer_an_issuer_does_not_sign():
    no = refusal(with_roles(restored_site(), "maud"), sign_closed(by="maud"))
    assert no.codes == {"not-a-signatory"}
    assert "Odo Holder" in no.unmet[0].who


def test_crew_does_not_sign():
    assert refused(restored_site(), sign_closed(by="hal")) == {"not-a-signatory"}


def test_a_holder_who_is_an_issuer_too_is_not_both():
    site = with_roles(restored_site(), "odo", "technician", "issuer")
    assert p1(done(site, sign_closed())).phase is Phase.RESTORING


def test_where_the_issue_was_an_exception_one_signature_is_both():
    site = with_roles(replace(SITE, policy=Policy(own_issue=True)), "odo", "technician", "issuer")
    site = done(
        site, request(), replace(issue(), by="odo"), accept(), tell(), *locks_and_releases(), *readings()
    )
    site = done(site, hand_back(), *restore(), sign_closed())
    assert p1(site).phase is Phase.CLOSED


def test_someone_signs_once():
    no = refusal(done(restored_site(), sign_closed()), sign_closed(89))
    assert no.codes == {"signed-already"}
    assert no.unmet[0].who == "Maud Issuer can sign it closed, on P-1's page."


def test_one_issuer_is_enough():
    site = with_roles(restored_site(), "sig", "officer", "issuer")
    no = refusal(done(site, sign_closed(by="maud")), sign_closed(89, by="sig"))
    assert no.codes == {"signed-already"}
    assert no.unmet[0].who == "Odo Holder can sign it closed, on P-1's page."


def test_a_permit_closes_after_hand_back():
    assert refused(checked_site(), sign_closed()) == {"wrong-phase", "not-reenergised"}


def test_a_permit_closes_after_power_is_back():
    assert refused(handed_back_site(), sign_closed()) == {"not-reenergised"}


def test_a_signature_from_before_the_machine_was_isolated_again_closes_nothing():
    site = done(restored_site(), sign_closed(), reisolate(90), tell(90), *locks_and_releases(91))
    site = done(site, *readings(99), hand_back(110), *restore(111), sign_closed(116, by="maud"))
    assert p1(site).phase is Phase.RESTORING


def test_a_closed_permit_changes_no_more():
    site = done(restored_site(), sign_closed(), sign_closed(89, by="maud"))
    assert refused(site, reisolate(90)) == {"no-such-permit"}


# ── what is left open ───────────────────────────────────────────────────────────────────────────────────


def test_an_open_defect_refuses_the_close():
    site = done(defect_site(), sign_off("odo"), hand_back(), *restore())
    no = refusal(site, sign_closed())
    assert no.codes == {"defect-open"}
    assert p1(done(site, accept_defect(when=88), sign_closed())).signatures


def test_an_open_job_refuses_the_close():
    site = done(powered_site(), open_job(), hand_back(29), remove("G1", when=81), *restore(81)[1:])
    assert refused(site, sign_closed()) == {"job-open"}


def test_a_correction_without_its_as_left_check_refuses_the_close():
    no = refusal(unproven_site(), sign_closed())
    assert no.codes == {"job-open", "correction-unproven"}


# ── out of use ──────────────────────────────────────────────────────────────────────────────────────────


def test_an_officer_closes_what_cannot_be_proven_and_leaves_the_machine_out_of_use():
    site = done(unproven_site(), out_of_use())
    assert p1(site).phase is Phase.CLOSED
    assert site.out_of_use == {"CUT": OutOfUse("CUT", "P-1", ("angle",))}


def test_what_was_left_open_is_kept_in_words():
    [closed] = happened(unproven_site(), out_of_use())
    assert [type(closed), len(closed.left)] == [e.ClosedOutOfUse, 2]


def test_only_an_officer_leaves_a_machine_out_of_use():
    assert refused(unproven_site(), out_of_use(by="maud")) == {"no-role"}


def test_it_is_said_why_a_machine_is_left_out_of_use():
    assert refused(unproven_site(), out_of_use(why=" ")) == {"says-too-little"}


def test_a_machine_that_is_proven_is_not_left_out_of_use():
    no = refusal(restored_site(), out_of_use())
    assert no.codes == {"nothing-open"}
    assert "Odo Holder and Maud Issuer" in no.unmet[0].who


def test_locks_and_people_are_off_before_a_machine_is_left_out_of_use():
    assert refused(checked_site(), out_of_use()) == {"wrong-phase", "not-reenergised", "nothing-open"}


def second_permit():
    """After P-1 left the machine out of use, P-2 is on it and in a test."""
    site = done(unproven_site(), out_of_use())
    again = replace(powered_site(), out_of_use=site.out_of_use)
    return again


def test_a_machine_out_of_use_is_not_back_in_service_without_an_as_left_check():
    site = done(second_permit(), hand_back(29), remove("G1", when=81), *restore(81)[1:])
    assert not p1(site).in_service
    assert refused(site, sign_closed()) == {"out-of-use"}


def test_an_as_left_check_brings_a_machine_back_into_use():
    site = done(second_permit(), open_job(), correct(), prove(), close_job(), clear("OUT", "NEXT", when=31))
    site = done(site, hand_back(32), remove("G1", when=81), *restore(81)[1:])
    assert p1(site).in_service
    site = done(site, sign_closed(), sign_closed(89, by="maud"))
    assert dict(site.out_of_use) == {}


def test_an_axis_that_is_left_as_it_was_found_may_be_its_own_check():
    """Nothing is corrected under P-2: calibration finds the axis in tolerance and tells the permit so."""
    site = done(second_permit(), open_job(), prove(), close_job(), clear("OUT", "NEXT", when=31))
    site = done(site, hand_back(32), remove("G1", when=81), *restore(81)[1:])
    assert dict(site.out_of_use) == {}
    assert p1(site).in_service
    assert p1(site).jobs[0].unproven == ()


def test_it_is_said_who_makes_the_check_and_how_what_is_right_is_left():
    no = refusal(with_check_of(second_permit(), "length"), sign_closed())
    assert "Hal Helper proves it by an as-left check of angle: the holder isolates again" in no.unmet[0].who
    assert "In tolerance, it is closed as it is, and proven" in no.unmet[0].who


def with_check_of(site, axis: str):
    """P-2 corrects an axis, checks it on fresh pieces, and gives power back."""
    site = done(site, open_job(), correct(axis=axis), prove(axis=axis), close_job())
    return done(site, hand_back(32), remove("G1", when=81), *restore(81)[1:])


def test_a_check_of_one_axis_does_not_prove_another():
    site = with_check_of(second_permit(), "length")
    assert not p1(site).in_service
    no = refusal(site, sign_closed())
    assert no.codes == {"out-of-use"}
    assert no.unmet[0].what == "CUT is out of use since P-1 was closed not proven: angle."
    assert no.unmet[0].who.startswith("Odo Holder or Hal Helper proves it by an as-left check of angle:")


def test_what_two_permits_left_open_adds_up():
    site = done(second_permit(), open_job(), correct(axis="length"), hand_back(29))
    site = done(site, remove("G1", when=81), *restore(81)[1:], out_of_use())
    assert site.out_of_use["CUT"].axes == ("angle", "length")


def test_what_a_later_permit_proved_is_not_left_open_again():
    site = done(second_permit(), open_job(), correct(), prove(), correct(30, axis="length"), hand_back(31))
    site = done(site, remove("G1", when=81), *restore(81)[1:], out_of_use())
    assert site.out_of_use["CUT"].axes == ("length",)


def test_a_check_from_before_the_machine_was_left_unproven_proves_nothing():
    """P-2 had checked the angle before P-1 corrected it and was closed."""
    site = done(powered_site(), open_job(), correct(), prove(), close_job(), hand_back(32))
    site = replace(site, out_of_use={"CUT": OutOfUse("CUT", "P-1", ("angle",))})
    site = done(site, remove("G1", when=81), *restore(81)[1:])
    assert refused(site, sign_closed()) == {"out-of-use"}


def test_where_nothing_was_named_a_check_of_any_axis_brings_the_machine_back():
    site = done(powered_site(), open_job(), hand_back(29), remove("G1", when=81), *restore(81)[1:])
    left = done(site, out_of_use()).out_of_use
    assert left == {"CUT": OutOfUse("CUT", "P-1", any_axis=True)}
    assert dict(with_check_of(replace(powered_site(), out_of_use=left), "length").out_of_use) == {}


def test_an_entry_from_before_axes_were_named_is_read_and_lifted_by_any():
    [closed] = happened(unproven_site(), out_of_use())
    data = {name: value for name, value in to_data(closed).items() if name != "out_of_use"}
    old = from_data("CLOSED_OUT_OF_USE", data, permit="P-1", by="sig", at=closed.at)
    left = fold(unproven_site(), [old]).out_of_use
    assert left == {"CUT": OutOfUse("CUT", "P-1", any_axis=True)}


LOOSE = "Cables, sensors, loose wires: loose"


def left_with_a_defect():
    """P-1 was closed with a loose cable; P-2 is isolated."""
    site = done(defect_site(), sign_off("odo"), hand_back(), *restore(), out_of_use())
    assert site.out_of_use == {"CUT": OutOfUse("CUT", "P-1", defects=(LOOSE,))}
    return replace(isolated_site(), out_of_use=site.out_of_use)


def test_whoever_checks_the_machine_is_told_what_was_left_and_by_which_permit():
    site = left_with_a_defect()
    assert defects_left(site, p1(site)) == (f"{LOOSE} (CUT, left by P-1)",)
    assert defects_left(isolated_site(), p1(isolated_site())) == ()
    checked = done(site, sign_on("odo", "201"), check())
    assert defects_left(checked, p1(checked)) == ()
    elsewhere = {"DRILL": OutOfUse("DRILL", "P-0", defects=(LOOSE,))}
    assert defects_left(replace(site, out_of_use=elsewhere), p1(site)) == ()


def test_a_defect_left_open_keeps_the_machine_out_of_use_until_it_is_looked_over():
    site = done(left_with_a_defect(), hand_back(), *restore())
    no = refusal(site, sign_closed())
    assert no.codes == {"out-of-use"}
    assert no.unmet[0].what == f"CUT is out of use since P-1 was closed not proven: {LOOSE}."
    assert no.unmet[0].who.startswith("Odo Holder or Hal Helper looks at the defects again")


def test_a_machine_looked_over_and_found_in_order_is_back_in_use():
    site = done(left_with_a_defect(), sign_on("odo", "201"), check(), sign_off("odo"))
    site = done(site, hand_back(), *restore())
    assert p1(site).in_service
    assert dict(site.out_of_use) == {}


def test_a_defect_that_is_still_there_is_mended_or_accepted_under_the_later_permit():
    site = done(left_with_a_defect(), sign_on("odo", "201"), check(defect="cables"), sign_off("odo"))
    site = done(site, hand_back(), *restore())
    assert refused(site, sign_closed()) == {"defect-open"}
    assert p1(done(site, accept_defect(when=88), sign_closed())).signatures


def test_power_is_back_before_the_last_signature():
    assert refused(handed_back_site(), out_of_use()) == {"not-reenergised", "nothing-open"}


def test_reenergising_twice_does_not_lose_a_signature():
    site = done(restored_site(), sign_closed())
    assert refused(site, reenergise(89)) == {"done-already"}
