"""Signing in, proving and setting passwords; a name waits longer and longer after failures in a row.

A try is counted as a failure before it is checked and taken back when it was right, so that a hundred tries
at the same moment cannot slip through together. Nothing is ever held against an address.
"""

import logging
import secrets
from datetime import datetime

from django.contrib.auth.hashers import make_password
from django.db.models import F, Q

from permits.ledger.pen import Author, writing
from permits.people.models import Person, Site
from permits.people.rules.declined import Declined, SignInRefused
from permits.people.rules.kinds import Kind
from permits.people.rules.refs import ALPHABET
from permits.people.rules.sign_in_names import tidy_sign_in
from permits.people.rules.waiting import MOST_FAILURES, wait_after

logger = logging.getLogger("permits.access")

NOT_SIGNED_IN = (
    "Not signed in. The name or the password is wrong, or this name is waiting after several failures in "
    "a row (30 seconds after the fifth, then longer, one hour at most). Check both and try again after the "
    "wait; an administrator can give a new first password."
)


def sign_in(*, name: str, password: str, at: datetime) -> Person:
    """The person who may open a session with this name and password.

    Raises SignInRefused with the same words, after the same work, for an unknown name, a wrong password, a
    disabled person and a name that has to wait: an answer must not tell which names exist.
    """
    person = Person.objects.filter(sign_in=tidy_sign_in(name)[:40]).first()
    if person is None:
        make_password(password)  # the time that a check would have taken
        proven = False
    else:
        proven = _proven(person, password, at=at) and person.is_active
    if person is None or not proven:
        logger.warning("sign-in failed for the name %r", name[:80])
        raise SignInRefused(NOT_SIGNED_IN)
    logger.info("%s signed in", person.about)
    return person


def prove_password(*, person: Person, password: str, at: datetime) -> None:
    """Asks someone who is signed in for their password again; throttled together with sign-in.

    Raises Declined with `field` "password" when it is wrong or the name has to wait.
    """
    if not _proven(person, password, at=at):
        logger.warning("%s did not prove their password", person.about)
        raise Declined(
            "This is not your password, or your name is waiting after several failures in a row (one hour "
            "at most). The password you signed in with would be right.",
            field="password",
        )


def set_password(*, site: Site | None, person: Person, password: str, by: Author, at: datetime) -> None:
    """The person's own new password (validated by the form). It ends their other sessions.

    The entry goes to the ledger of `site`; someone who has no site yet has no ledger to write to.
    """
    person.password, person.password_is_first = make_password(password), False
    fields = ["password", "password_is_first"]
    if site is None:
        person.save(update_fields=fields)
        return
    with writing(site.head_id, by=by, at=at) as pen:
        person.save(update_fields=fields)
        pen.write(Kind.PASSWORD_SET, person.about, {})


def fresh_password() -> str:
    """A random first password to be read out and typed once: 100 bits in groups that survive a bad line."""
    letters = "".join(secrets.choice(ALPHABET) for _ in range(20))
    return "-".join(letters[start : start + 5] for start in range(0, 20, 5))


def reset_password(*, site: Site, person: Person, first_password: str, by: Author, at: datetime) -> None:
    """Gives a forgotten password's owner a first password that they must change; ends sessions and waiting.

    Raises Declined for one's own: that is changed on one's own page.
    """
    if by.ref == person.about:
        raise Declined("Your own password is changed on your own page.")
    password = make_password(first_password)
    with writing(site.head_id, by=by, at=at) as pen:
        Person.objects.filter(pk=person.pk).update(
            password=password,
            password_is_first=True,
            session_number=F("session_number") + 1,
            sign_in_failures=0,
            sign_in_waits_until=None,
        )
        pen.write(Kind.PASSWORD_RESET, person.about, {})
    person.refresh_from_db()


def _proven(person: Person, password: str, *, at: datetime) -> bool:
    counted = _count_a_try(person, at)
    right = person.check_password(password)  # also while waiting: the answer takes the same time
    if not (counted and right):
        return False
    Person.objects.filter(pk=person.pk).update(sign_in_failures=0, sign_in_waits_until=None)
    return True


def _count_a_try(person: Person, at: datetime) -> bool:
    """Counts one more failure in advance; False when the name has to wait, or used up its failures."""
    free = Q(sign_in_waits_until=None) | Q(sign_in_waits_until__lte=at)
    while True:
        failures = Person.objects.values_list("sign_in_failures", flat=True).get(pk=person.pk)
        if failures >= MOST_FAILURES:
            return False
        wait = wait_after(failures + 1)
        same = Person.objects.filter(pk=person.pk, sign_in_failures=failures)
        if same.filter(free).update(
            sign_in_failures=failures + 1, sign_in_waits_until=at + wait if wait else None
        ):
            return True
        if same.exists():
            return False  # nobody else tried meanwhile: it is the wait
