"""A store that power filled again in a test: released anew, while the lock that held it still hangs."""

from permits.work.rules import commands as c
from tests.work.small_plant import (
    accepted_site,
    begin,
    check,
    clear,
    done,
    isolate,
    lock,
    ready,
    refused,
    reisolate,
    release,
    remove,
    sanction,
    sign_off,
    sign_on,
    verify,
    zero,
)  # fmt: skip


def locked_bus():
    """P-1 isolated as always, but the DC bus carries a lock as well."""
    locks = [ask for ask in isolate() if isinstance(ask, c.ApplyLock)]
    site = done(accepted_site(), *locks, release("C1", 6, padlock="110"), release("G1", 7, padlock="103"))
    tests = [verify("CUT", zero("Q1"), zero("C1"), zero("G1"), when=12), verify("DRILL", zero("Q2"), when=13)]
    return done(site, *tests, sign_on("odo", "201"), check(), sign_off("odo"))


def filled_again():
    site = done(
        locked_bus(), sanction(), begin(), remove("Q1", "Q2"), clear("OUT", "NEXT"), ready(), reisolate()
    )
    return done(site, lock("Q1", "101", 41), lock("Q2", "102", 42))


def test_power_fills_the_store_again():
    assert "C1" not in filled_again().permits["P-1"].released


def test_its_lock_that_still_hangs_will_do():
    site = done(filled_again(), release("C1", 43))
    assert [k.padlock for k in site.permits["P-1"].hanging if k.where == "C1"] == ["110"]
    assert "C1" in site.permits["P-1"].released


def test_a_second_lock_of_the_same_person_is_not_asked_for():
    assert refused(filled_again(), release("C1", 43, padlock="999")) == {"already-locked"}
