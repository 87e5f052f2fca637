"""Who there is: sites, people, their roles at a site, their authorisations, who hosts a contractor."""

import secrets
import zoneinfo
from datetime import date, datetime
from hashlib import sha256

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint
from django.db.models.functions import Lower, Upper
from django.utils.crypto import salted_hmac

from permits.ledger.author import Author
from permits.people.rules.hosting import Hosting as HostingValue
from permits.people.rules.refs import LENGTH, ref_of
from permits.people.rules.roles import Role
from permits.people.rules.waiting import pin_tries_left


def new_ref() -> str:
    """A fresh opaque reference for a person (40 random bits, eight characters)."""
    return ref_of(secrets.token_bytes(LENGTH))


def new_salt() -> str:
    """128 random bits in hexadecimal; keeps a name's digest from being guessed."""
    return secrets.token_hex(16)


class Site(models.Model):
    """One plant: the boundary of permissions, of the ledger and of one energy graph."""

    code = models.CharField(max_length=16, unique=True)
    name = models.CharField(max_length=200)
    head = models.OneToOneField("ledger.Head", on_delete=models.PROTECT, related_name="site")
    timezone = models.CharField(max_length=64, default="UTC")

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(code=Upper("code")), name="site_code_is_upper_case"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The site's time zone."""
        return zoneinfo.ZoneInfo(self.timezone)

    def day_of(self, at: datetime) -> date:
        """The calendar day at this site at the aware time `at`."""
        return at.astimezone(self.zone).date()


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(sign_in=(username or "").strip().lower())


class Person(AbstractBaseUser):
    """Someone who signs in. The name lives here only: the ledger knows the reference and a salted digest."""

    ref = models.CharField(max_length=LENGTH, unique=True, default=new_ref, editable=False)
    sign_in = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200)
    name_salt = models.CharField(max_length=32, default=new_salt, editable=False)
    email = models.EmailField(blank=True)
    employer = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField(default=True)
    password_is_first = models.BooleanField(default=False)
    sign_in_failures = models.PositiveIntegerField(default=0)
    sign_in_waits_until = models.DateTimeField(null=True, blank=True)
    session_number = models.PositiveIntegerField(default=0)
    pin = models.CharField(max_length=128, blank=True)
    pin_failures = models.PositiveSmallIntegerField(default=0)
    pin_locked_at = models.DateTimeField(null=True, blank=True)

    USERNAME_FIELD = "sign_in"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    objects = PersonManager()

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(sign_in=Lower("sign_in")), name="sign_in_is_lower_case"),
            CheckConstraint(
                condition=Q(pin_locked_at=None) | Q(pin_failures__gt=0), name="pin_is_locked_by_failures_only"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name_digest(self) -> str:
        """SHA-256 of salt and name, in hexadecimal: what the ledger holds instead of the name."""
        return sha256((self.name_salt + self.name).encode()).hexdigest()

    @property
    def about(self) -> str:
        """How ledger entries name this person."""
        return f"person:{self.ref}"

    @property
    def author(self) -> Author:
        """This person as the author of a ledger entry made on their own device."""
        return Author(ref=self.about, digest=self.name_digest)

    def author_on(self, owner: "Person") -> Author:
        """This person as the author of a ledger entry made on the device where `owner` is signed in."""
        return Author(
            ref=self.about, digest=self.name_digest, device="" if owner.pk == self.pk else owner.about
        )

    @property
    def has_pin(self) -> bool:
        return bool(self.pin)

    @property
    def pin_is_locked(self) -> bool:
        """Used up counts as locked: the server may have gone away between the last try and its entry."""
        return self.pin_locked_at is not None or not pin_tries_left(self.pin_failures)

    @property
    def is_contractor(self) -> bool:
        """Whether the person works for someone else than the site's own company."""
        return bool(self.employer)

    def _get_session_auth_hash(self, secret: str | bytes | None = None) -> str:
        """Ties sessions to the password and to `session_number`: changing either ends them for good."""
        return salted_hmac(
            "permits.people.session",
            f"{self.session_number}:{self.password}",
            secret=secret,
            algorithm="sha256",
        ).hexdigest()


class MembershipQuerySet(models.QuerySet["Membership"]):
    def live(self) -> "MembershipQuerySet":
        """Roles that have not ended."""
        return self.filter(ended_at=None)


class Membership(models.Model):
    """One role of one person at one site, from its grant until it ends."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=16, choices=[(role.value, role.words) for role in Role])
    granted_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["person", "site", "role"],
                condition=Q(ended_at=None),
                name="one_live_membership_per_person_site_and_role",
            ),
            CheckConstraint(
                condition=Q(role__in=[role.value for role in Role]), name="membership_role_is_one_of_the_six"
            ),
            CheckConstraint(
                condition=Q(ended_at=None) | Q(ended_at__gte=F("granted_at")),
                name="membership_ends_no_earlier_than_it_was_granted",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} is {self.kind.words} at {self.site}"

    @property
    def kind(self) -> Role:
        return Role(self.role)


class AuthorisationQuerySet(models.QuerySet["Authorisation"]):
    def live(self) -> "AuthorisationQuerySet":
        """Authorisations that were not withdrawn, whatever their dates."""
        return self.filter(withdrawn_at=None)

    def holding_on(self, day: date) -> "AuthorisationQuerySet":
        """Authorisations that hold on the site's calendar day `day`."""
        return self.live().filter(starts_on__lte=day, expires_on__gte=day)


class Authorisation(models.Model):
    """Leave for one person to lock out one machine, from `starts_on` up to and including `expires_on`.

    `machine` is the machine's code at the site: this room lies below the plant and holds no key to it.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="authorisations")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="authorisations")
    machine = models.CharField(max_length=64)
    qualified = models.BooleanField(default=False)
    starts_on = models.DateField()
    expires_on = models.DateField()
    given_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = AuthorisationQuerySet.as_manager()

    class Meta:
        constraints = [
            CheckConstraint(
                condition=Q(expires_on__gte=F("starts_on")),
                name="authorisation_expires_no_earlier_than_it_starts",
            ),
            UniqueConstraint(
                fields=["person", "site", "machine", "starts_on"],
                condition=Q(withdrawn_at=None),
                name="one_live_authorisation_per_person_machine_and_start",
            ),
            CheckConstraint(
                condition=Q(withdrawn_at=None) | Q(withdrawn_at__gte=F("given_at")),
                name="authorisation_withdrawn_no_earlier_than_given",
            ),
            CheckConstraint(condition=~Q(machine=""), name="authorisation_names_a_machine"),
        ]

    def __str__(self) -> str:
        return f"{self.person} for {self.machine} until {self.expires_on}"

    @property
    def withdrawn(self) -> bool:
        return self.withdrawn_at is not None


class HostingQuerySet(models.QuerySet["Hosting"]):
    def live(self) -> "HostingQuerySet":
        """Hostings that were not ended, whatever their dates."""
        return self.filter(ended_at=None)


class Hosting(models.Model):
    """One of a site's own people answers for a contractor there, up to and including `expires_on`.

    `informed` is what the two employers told each other.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="hostings")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="hostings")
    host = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="hosts")
    starts_on = models.DateField()
    expires_on = models.DateField()
    informed = models.TextField()
    given_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = HostingQuerySet.as_manager()

    class Meta:
        constraints = [
            UniqueConstraint(
                fields=["person", "site"],
                condition=Q(ended_at=None),
                name="one_live_hosting_per_person_and_site",
            ),
            CheckConstraint(condition=~Q(host=F("person")), name="hosting_is_by_another_person"),
            CheckConstraint(
                condition=Q(expires_on__gte=F("starts_on")), name="hosting_expires_no_earlier_than_it_starts"
            ),
            CheckConstraint(
                condition=~Q(informed=""), name="hosting_says_what_the_employers_told_each_other"
            ),
            CheckConstraint(
                condition=Q(ended_at=None) | Q(ended_at__gte=F("given_at")),
                name="hosting_ended_no_earlier_than_given",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.host} hosts {self.person} until {self.expires_on}"

    @property
    def withdrawn(self) -> bool:
        return self.ended_at is not None

    @property
    def value(self) -> HostingValue:
        """The hosting as the rules see it."""
        return HostingValue(self.host.ref, self.starts_on, self.expires_on, self.host.name)
