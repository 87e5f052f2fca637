"""One test per constraint of the people room, going round the actions to hit it."""

from datetime import UTC, date, datetime

import pytest
from django.db import IntegrityError
from django.db.models import ProtectedError

from permits.people.models import Authorisation, Hosting, Membership, Person, Site
from permits.people.rules.roles import Role
from tests.factories_people import (
    GRANTED,
    AuthorisationFactory,
    HostingFactory,
    MembershipFactory,
    PersonFactory,
    SiteFactory,
)

pytestmark = pytest.mark.django_db
EARLIER = datetime(2025, 1, 1, tzinfo=UTC)


def refuses(name):
    return pytest.raises(IntegrityError, match=name)


def test_site_code_is_upper_case():
    with refuses("site_code_is_upper_case"):
        SiteFactory(code="Quillfen")


def test_two_sites_never_share_a_code_or_a_ledger():
    site = SiteFactory()
    with refuses("code"):
        SiteFactory(code=site.code, head__name="ANOTHER")


def test_two_sites_never_share_a_ledger():
    with refuses("head"):
        SiteFactory(head=SiteFactory().head)


def test_sign_in_is_lower_case():
    with refuses("sign_in_is_lower_case"):
        PersonFactory(sign_in="Odo")


def test_sign_in_belongs_to_one_person():
    PersonFactory(sign_in="odo")
    with refuses("sign_in"):
        PersonFactory(sign_in="odo")


def test_pin_is_locked_by_failures_only():
    with refuses("pin_is_locked_by_failures_only"):
        PersonFactory(pin_locked_at=GRANTED)


def test_one_live_membership_per_person_site_and_role():
    held = MembershipFactory()
    Membership.objects.filter(pk=held.pk).update(ended_at=GRANTED)
    again = MembershipFactory(person=held.person, site=held.site)
    MembershipFactory(person=held.person, site=held.site, role=Role.ISSUER)
    with pytest.raises(IntegrityError):
        MembershipFactory(person=again.person, site=again.site)


def test_membership_role_is_one_of_the_six():
    with refuses("membership_role_is_one_of_the_six"):
        MembershipFactory(role="boss")


def test_membership_ends_no_earlier_than_it_was_granted():
    with refuses("membership_ends_no_earlier_than_it_was_granted"):
        MembershipFactory(ended_at=EARLIER)


def test_authorisation_expires_no_earlier_than_it_starts():
    AuthorisationFactory(starts_on=date(2026, 3, 1), expires_on=date(2026, 3, 1))
    with refuses("authorisation_expires_no_earlier_than_it_starts"):
        AuthorisationFactory(starts_on=date(2026, 3, 2), expires_on=date(2026, 3, 1))


def test_one_live_authorisation_per_person_machine_and_start():
    held = AuthorisationFactory(withdrawn=True)
    again = AuthorisationFactory(person=held.person, site=held.site)
    AuthorisationFactory(person=held.person, site=held.site, starts_on=date(2026, 2, 2))
    with pytest.raises(IntegrityError):
        AuthorisationFactory(person=again.person, site=again.site)


def test_authorisation_withdrawn_no_earlier_than_given():
    with refuses("authorisation_withdrawn_no_earlier_than_given"):
        AuthorisationFactory(withdrawn_at=EARLIER)


def test_authorisation_names_a_machine():
    with refuses("authorisation_names_a_machine"):
        AuthorisationFactory(machine="")


def test_one_live_hosting_per_person_and_site():
    held = HostingFactory(ended=True)
    again = HostingFactory(person=held.person, site=held.site)
    HostingFactory(person=held.person)  # at another site
    with pytest.raises(IntegrityError):
        HostingFactory(person=again.person, site=again.site)


def test_hosting_is_by_another_person():
    person = PersonFactory(employer="Harrowmere Fitters")
    with refuses("hosting_is_by_another_person"):
        HostingFactory(person=person, host=person)


def test_hosting_expires_no_earlier_than_it_starts():
    HostingFactory(starts_on=date(2026, 3, 1), expires_on=date(2026, 3, 1))
    with refuses("hosting_expires_no_earlier_than_it_starts"):
        HostingFactory(starts_on=date(2026, 3, 2), expires_on=date(2026, 3, 1))


def test_hosting_says_what_the_employers_told_each_other():
    with refuses("hosting_says_what_the_employers_told_each_other"):
        HostingFactory(informed="")


def test_hosting_ended_no_earlier_than_given():
    with refuses("hosting_ended_no_earlier_than_given"):
        HostingFactory(ended_at=EARLIER)


def test_nobody_with_a_past_can_be_deleted():
    held, authorised, hosted = MembershipFactory(), AuthorisationFactory(), HostingFactory()
    rows = (held.person, held.site, authorised.person, authorised.site, held.site.head)
    for row in (*rows, hosted.person, hosted.host, hosted.site):
        with pytest.raises(ProtectedError):
            row.delete()


def test_every_constraint_has_a_test():
    named = {
        constraint.name
        for model in (Site, Person, Membership, Authorisation, Hosting)
        for constraint in model._meta.constraints
    }
    assert {name for name in named if f"test_{name}" not in globals()} == set()
