"""A contractor works under a permit while one of the site's own people hosts them; they always may come out.

The two employers inform each other: 29 CFR 1910.147(f)(2). A host by name and a last day are our practice.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from permits.people.rules.hosting import Hosting
from tests.work.small_plant import (
    SITE,
    accept,
    accepted_site,
    checked_site,
    done,
    issue,
    lock,
    locked_site,
    name_crew,
    occupied_site,
    p1,
    readings,
    refusal,
    refused,
    release,
    request,
    sign_off,
    sign_on,
    with_person,
)

TODAY = date(2026, 11, 25)
DAY = timedelta(days=1)
BY_SIG = Hosting("sig", TODAY, TODAY, "Sig Officer")


def of_a_contractor(site, ref, hosting=None):
    return with_person(site, ref, employer="Harrowmere Fitters", hosting=hosting)


def said(refused, code) -> tuple[str, str]:
    return next((unmet.what, unmet.who) for unmet in refused.unmet if unmet.code == code)


def test_a_contractor_without_a_host_does_not_sign_on():
    no = refusal(of_a_contractor(checked_site(), "hal"), sign_on("hal", "202", 22))
    assert no.codes == {"not-hosted"}
    assert said(no, "not-hosted") == (
        "Hal Helper is a contractor of Harrowmere Fitters, and nobody here is their host.",
        "A safety officer gives them a host of the site, under “People”: Sig Officer.",
    )


def test_with_a_host_on_the_first_and_last_day_they_do():
    site = done(of_a_contractor(checked_site(), "hal", BY_SIG), sign_on("hal", "202", 22))
    assert [on.person for on in p1(site).signed_on] == ["hal"]


@pytest.mark.parametrize(
    ("days", "says"),
    [
        ((TODAY + DAY, TODAY + 9 * DAY), "Sig Officer is their host only from 26 November 2026."),
        ((TODAY - 9 * DAY, TODAY - DAY), "Sig Officer was their host until 24 November 2026."),
    ],
)
def test_before_and_after_the_hosting_they_do_not(days, says):
    no = refusal(
        of_a_contractor(checked_site(), "hal", Hosting("sig", *days, "Sig Officer")),
        sign_on("hal", "202", 22),
    )
    assert no.codes == {"hosting-over"}
    assert said(no, "hosting-over") == (
        f"Hal Helper is a contractor of Harrowmere Fitters, and {says}",
        "A safety officer gives them a host for today, under “People”: Sig Officer.",
    )


def test_the_day_is_the_plants_own():
    """Noon in UTC is one in the morning of the next day in Auckland, in November (tz database)."""
    site = replace(of_a_contractor(checked_site(), "hal", BY_SIG), timezone="Pacific/Auckland")
    assert p1(done(site, sign_on("hal", "202", 22))).signed_on
    assert "hosting-over" in refused(site, sign_on("hal", "202", 6 * 60))


@pytest.mark.parametrize("gone", ["left the site", "became a contractor"])
def test_a_host_who_is_gone_hosts_nobody(gone):
    site = of_a_contractor(checked_site(), "hal", Hosting("ola", TODAY, TODAY, "Ola Operator"))
    if gone == "left the site":
        site = replace(site, people={ref: who for ref, who in site.people.items() if ref != "ola"})
    else:
        site = with_person(site, "ola", employer="Harrowmere Fitters")
    no = refusal(site, sign_on("hal", "202", 22))
    assert no.codes == {"not-hosted"}
    assert "their host Ola Operator is no longer one of this site’s own people." in said(no, "not-hosted")[0]


def test_a_host_who_is_gone_and_days_that_are_over_are_both_named():
    site = of_a_contractor(checked_site(), "hal", Hosting("gone", TODAY - DAY, TODAY - DAY, "Gone"))
    assert refused(site, sign_on("hal", "202", 22)) == {"not-hosted", "hosting-over"}


def test_the_sites_own_people_need_no_host():
    assert p1(done(checked_site(), sign_on("hal", "202", 22))).signed_on


@pytest.mark.parametrize(
    ("site", "who", "ask"),
    [
        (lambda: done(SITE, request()), "hal", issue),
        (lambda: done(SITE, request()), "odo", issue),
        (lambda: done(SITE, request(), issue()), "odo", accept),
        (lambda: done(SITE, request(), issue(crew=()), accept()), "hal", lambda: name_crew("hal")),
        (accepted_site, "odo", lambda: lock("Q1", "101", 5)),
        (lambda: done(accepted_site(), lock("Q1", "101", 5), lock("Q2", "102", 6)), "odo",
         lambda: release("C1", 7)),
        (locked_site, "odo", lambda: readings(13)[0]),
    ],
    ids=["issue, of the crew", "issue, of the holder", "accept", "name crew", "lock", "release", "verify"],
)  # fmt: skip
def test_every_step_that_needs_an_authorisation_needs_the_host(site, who, ask):
    before = site()
    assert "not-hosted" in refused(of_a_contractor(before, who), ask())
    done(of_a_contractor(before, who, BY_SIG), ask())


def test_signing_off_is_never_refused():
    site = of_a_contractor(occupied_site(), "hal")
    assert "hal" in [on.person for on in p1(site).signed_on]
    assert "hal" not in [on.person for on in p1(done(site, sign_off("hal", 23))).signed_on]
