"""Factories of sites, people, roles, authorisations, hostings; they write tables only, no ledger entries."""

from datetime import UTC, date, datetime

import factory
from django.contrib.auth.hashers import make_password

from permits.ledger.models import Head
from permits.people.models import Authorisation, Hosting, Membership, Person, Site
from permits.people.rules.roles import Role

GRANTED = datetime(2026, 1, 5, 8, tzinfo=UTC)
PASSWORD = "invented-words-for-tests"
PIN = "804216"


class HeadFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Head

    name = factory.Sequence(lambda n: f"HEAD{n}")


class SiteFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Site

    code = factory.Sequence(lambda n: f"SITE{n}")
    name = factory.LazyAttribute(lambda site: f"Works {site.code}")
    head = factory.SubFactory(HeadFactory, name=factory.SelfAttribute("..code"))
    timezone = "UTC"


class PersonFactory(factory.django.DjangoModelFactory):
    """`PersonFactory(site=site, site__role=Role.ISSUER)` gives the role too."""

    class Meta:
        model = Person
        skip_postgeneration_save = True

    class Params:
        disabled = factory.Trait(is_active=False)
        first_password = factory.Trait(password_is_first=True)
        no_pin = factory.Trait(pin="")
        pin_locked = factory.Trait(pin_failures=10, pin_locked_at=GRANTED)

    sign_in = factory.Sequence(lambda n: f"person{n}")
    name = factory.Sequence(lambda n: f"Person Number {n}")
    password = factory.LazyFunction(lambda: make_password(PASSWORD))
    pin = factory.LazyFunction(lambda: make_password(PIN))

    @factory.post_generation
    def site(self, create, site, **kwargs):
        if site is not None:
            MembershipFactory(person=self, site=site, **kwargs)


class MembershipFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Membership

    class Params:
        ended = factory.Trait(ended_at=datetime(2026, 6, 1, 8, tzinfo=UTC))

    person = factory.SubFactory(PersonFactory)
    site = factory.SubFactory(SiteFactory)
    role = Role.TECHNICIAN
    granted_at = GRANTED


class AuthorisationFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Authorisation

    class Params:
        expired = factory.Trait(starts_on=date(2020, 1, 1), expires_on=date(2020, 12, 31))
        withdrawn = factory.Trait(withdrawn_at=datetime(2026, 6, 1, 8, tzinfo=UTC))

    person = factory.SubFactory(PersonFactory)
    site = factory.SubFactory(SiteFactory)
    machine = "C1"
    qualified = False
    starts_on = date(2026, 1, 1)
    expires_on = date(2099, 12, 31)
    given_at = GRANTED


class HostingFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Hosting

    class Params:
        expired = factory.Trait(starts_on=date(2020, 1, 1), expires_on=date(2020, 12, 31))
        ended = factory.Trait(ended_at=datetime(2026, 6, 1, 8, tzinfo=UTC))

    person = factory.SubFactory(PersonFactory, employer="Harrowmere Fitters")
    site = factory.SubFactory(SiteFactory)
    host = factory.SubFactory(PersonFactory)
    starts_on = date(2026, 1, 1)
    expires_on = date(2099, 12, 31)
    informed = "procedures handed over, theirs read"
    given_at = GRANTED
