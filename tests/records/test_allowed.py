"""Roles, authorisations, hosts and the site's numbers are what the ledger says; what is not is named."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from permits.ledger.models import Head
from permits.ledger.pen import writing
from permits.ledger.verify import verify
from permits.people import actions
from permits.people.models import Authorisation, Hosting, Membership, Person
from permits.people.rules.roles import Role
from permits.records.allowed import compared_who_may
from permits.work.actions import set_policy
from permits.work.models import SitePolicy
from permits.work.rules.words import Policy
from tests.records import job as jobs

pytestmark = pytest.mark.django_db


@pytest.fixture
def changed(plant):
    """The demo plant after something of everything was given, ended and changed."""
    at = jobs.morning_after(plant)
    by = {name: Person.objects.get(sign_in=name) for name in ("maud", "odo", "wim")}
    site, day = plant, plant.day_of(at)
    author = by["maud"].author
    actions.grant_role(site=site, person=by["odo"], role=Role.AUDITOR, by=author, at=at)
    actions.end_role(site=site, person=by["odo"], role=Role.AUDITOR, by=author, at=at)
    actions.grant_role(site=site, person=by["odo"], role=Role.AUDITOR, by=author, at=at)
    given = {"site": site, "person": by["wim"], "machine": "C1", "by": author, "at": at}
    later = day + timedelta(days=400)
    leave = actions.authorise(**given, qualified=True, starts_on=later, expires_on=later + timedelta(days=30))
    actions.withdraw_authorisation(site=site, authorisation=leave, why="not needed", by=author, at=at)
    company = {"employer": "Marlstone Drives", "host": by["odo"].ref, "informed": "each other's procedures"}
    hosted = {"site": site, "person": by["wim"], "by": author, "at": at, "starts_on": day}
    actions.host_contractor(**hosted, **company, expires_on=day + timedelta(days=3))
    actions.host_contractor(**hosted, **company, expires_on=day + timedelta(days=9))
    actions.disable_person(site=site, person=by["wim"], why="away", by=author, at=at)
    actions.enable_person(site=site, person=by["wim"], why="back", by=author, at=at)
    set_policy(site=site, chosen=Policy(clear_minutes=5), by=author, at=at)
    return plant


def said(site):
    return [one.what for one in compared_who_may(site)]


def test_the_ledger_gives_again_who_may_do_what(changed):
    assert said(changed) == []
    assert Membership.objects.exclude(ended_at=None).exists()
    assert Authorisation.objects.exclude(withdrawn_at=None).exists()
    assert Hosting.objects.exclude(ended_at=None).exists()


def wim():
    return Person.objects.get(sign_in="wim")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda site: Membership.objects.create(
                site=site, person=wim(), role="officer", granted_at=jobs.morning_after(site)
            ),
            "the tables have the role of {wim} (officer; given",
        ),
        (
            lambda site: Membership.objects.exclude(ended_at=None).update(ended_at=None, role="issuer"),
            "(issuer; given",
        ),
        (lambda site: Membership.objects.filter(ended_at=None)[0].delete(), "the ledger has the role of"),
        (
            lambda site: Authorisation.objects.exclude(withdrawn_at=None).update(withdrawn_at=None),
            "the tables have the authorisation of {wim} (C1, ",
        ),
        (
            lambda site: Authorisation.objects.exclude(withdrawn_at=None).update(qualified=False),
            "not qualified; given",
        ),
        (
            lambda site: Hosting.objects.filter(ended_at=None).update(informed="nothing at all"),
            "nothing at all; given",
        ),
        (lambda site: SitePolicy.objects.update(own_issue=True), "policy is Policy(clear_minutes=5, "),
        (lambda site: SitePolicy.objects.all().delete(), "the ledger makes it Policy(clear_minutes=5, "),
        (
            lambda site: Person.objects.filter(sign_in="wim").update(employer=""),
            "employer of {wim} is '' in the tables; the ledger makes it 'Marlstone Drives'",
        ),
        (
            lambda site: Person.objects.filter(sign_in="wim").update(is_active=False),
            "{wim} is disabled in the tables; the ledger makes them active",
        ),
    ],
)
def test_what_was_changed_by_hand_is_named(changed, change, words):
    change(changed)
    assert words.format(wim=wim().ref) in "\n".join(said(changed))
    assert verify(Head.objects.get(pk=changed.head_id)).ok  # the ledger is whole: it is the rows that lie


def test_who_was_disabled_stays_so(changed):
    by = Person.objects.get(sign_in="maud").author
    actions.disable_person(site=changed, person=wim(), why="left", by=by, at=jobs.morning_after(changed))
    assert said(changed) == []
    Person.objects.filter(sign_in="wim").update(is_active=True)
    assert said(changed) == [f"{wim().ref} is active in the tables; the ledger makes them disabled"]


def test_an_entry_that_ends_what_nobody_gave_stops_it(changed):
    with writing(changed.head_id, by=wim().author, at=jobs.morning_after(changed)) as pen:
        number = pen.write("ROLE_ENDED", wim().about, {"role": "officer"}).number
    [stopped] = compared_who_may(changed)
    assert (stopped.entry, f"it ends a role that {wim().ref} has not" in stopped.what) == (number, True)


def test_the_command_says_it_and_fails(changed, capsys):
    call_command("replay_ledger")
    out = capsys.readouterr().out
    assert out.startswith("QUILLFEN: no difference, 0 permits from 0 entries (skipped: ")
    assert "; who may do what: from " in out
    SitePolicy.objects.update(own_issue=True)
    with pytest.raises(CommandError, match="1 of 1 sites differ"):
        call_command("replay_ledger")
    assert "QUILLFEN: DIFFERENT: whole site: policy is Policy(" in capsys.readouterr().out
