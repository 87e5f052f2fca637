"""The PIN that signs again: checked, set by its owner, reset by an officer or administrator.

A PIN never stands alone: it is asked only inside a session that a full sign-in opened. As with passwords, a
try is counted before it is checked.
"""

from datetime import datetime

from django.contrib.auth.hashers import check_password, make_password
from django.db.models import F

from permits.ledger.pen import Author, writing
from permits.people.models import Membership, Person, Site
from permits.people.rules.declined import Declined, PinRefused
from permits.people.rules.kinds import Kind
from permits.people.rules.sign_in_names import tidy_sign_in
from permits.people.rules.waiting import PIN_TRIES, pin_objection, pin_tries_left

RESET = "a safety officer or an administrator of the site can reset it"


def check_pin(person: Person, pin: str, *, site: Site, at: datetime, by: Author | None = None) -> None:
    """Returns when `pin` is the person's; an outermost action, to be called before the pen is taken.

    Raises PinRefused saying what would help: no PIN set, wrong (with the tries left), locked, disabled.
    A wrong PIN is an entry at `site`. `by` is who is signed in, where that is not the person.
    """
    if not person.is_active:
        raise PinRefused(f"{person.name} is disabled and cannot sign; an administrator can enable them.")
    if not person.has_pin:
        raise PinRefused(f"{person.name} has no PIN yet; it is set under “my page”.", field="pin")
    counted = Person.objects.filter(pk=person.pk, pin_locked_at=None, pin_failures__lt=PIN_TRIES).update(
        pin_failures=F("pin_failures") + 1
    )
    if not counted:
        raise PinRefused(
            f"The PIN of {person.name} is locked after {PIN_TRIES} wrong ones; {RESET}.", field="pin"
        )
    if check_password(pin, person.pin):
        Person.objects.filter(pk=person.pk, pin_locked_at=None).update(pin_failures=0)
        return
    left = _record_failure(person, site=site, by=by or person.author, at=at)
    if left:
        tries = f"{left} more {'try' if left == 1 else 'tries'}"
        raise PinRefused(
            f"This is not the PIN of {person.name}; {tries} before it locks. If it is forgotten, {RESET}.",
            field="pin",
        )
    raise PinRefused(
        f"This is not the PIN of {person.name}, and it is now locked after {PIN_TRIES} wrong ones; {RESET}.",
        field="pin",
    )


def _record_failure(person: Person, *, site: Site, by: Author, at: datetime) -> int:
    """Writes the entry, locks the PIN after the last try; the number of tries left."""
    with writing(site.head_id, by=by, at=at) as pen:
        person.refresh_from_db(fields=["pin_failures", "pin_locked_at"])
        left = pin_tries_left(person.pin_failures)
        pen.write(Kind.PIN_FAILED, person.about, {"tries_left": left})
        if not left and person.pin_locked_at is None:
            person.pin_locked_at = pen.at
            person.save(update_fields=["pin_locked_at"])
            pen.write(Kind.PIN_LOCKED, person.about, {"after": PIN_TRIES})
    return left


def signer(site: Site, sign_in: str, pin: str, at: datetime, *, by: Author | None = None) -> Person:
    """Who signs with this name and PIN at `site`: for someone who acts on another person's device.

    `by` is the person who is signed in there. The view then acts as `person.author_on(request.person)`.
    Raises PinRefused: nobody of that name at this site, or as `check_pin` does.
    """
    name = tidy_sign_in(sign_in)
    membership = (
        Membership.objects.live()
        .filter(site=site, person__sign_in=name[:40])
        .select_related("person")
        .first()
    )
    if membership is None:
        raise PinRefused(
            f"Nobody at {site.name} signs in as {name!r}; the name on their own page would be right.",
            field="sign_in",
        )
    check_pin(membership.person, pin, site=site, at=at, by=by)
    return membership.person


def sign_again(*, site: Site, here: Person, sign_in: str, pin: str, at: datetime) -> Author:
    """The author of an act that is signed with a PIN: `here`, who is signed in, or another person by name.

    `sign_in` is empty (or one's own) for oneself. Raises PinRefused.
    """
    if tidy_sign_in(sign_in) in {"", here.sign_in}:
        check_pin(here, pin, site=site, at=at)
        return here.author
    return signer(site, sign_in, pin, at, by=here.author).author_on(here)


def set_pin(*, site: Site, person: Person, pin: str, by: Author, at: datetime) -> None:
    """The person's own new PIN. Raises Declined when it is too short, not digits, a plain run, or locked."""
    if objection := pin_objection(pin):
        raise Declined(objection, field="pin")
    hashed = make_password(pin)
    with writing(site.head_id, by=by, at=at) as pen:
        person.refresh_from_db(fields=["pin", "pin_failures", "pin_locked_at"])
        if person.pin_is_locked:
            raise Declined(f"Your PIN is locked after {PIN_TRIES} wrong ones; {RESET}.", field="pin")
        person.pin, person.pin_failures = hashed, 0
        person.save(update_fields=["pin", "pin_failures"])
        pen.write(Kind.PIN_SET, person.about, {})


def reset_pin(*, site: Site, person: Person, why: str, by: Author, at: datetime) -> None:
    """Removes the PIN and unlocks it: its owner sets a new one. Raises Declined for one's own."""
    if by.ref == person.about:
        raise Declined("Nobody resets their own PIN; another officer or administrator can.")
    with writing(site.head_id, by=by, at=at) as pen:
        person.pin, person.pin_failures, person.pin_locked_at = "", 0, None
        person.save(update_fields=["pin", "pin_failures", "pin_locked_at"])
        pen.write(Kind.PIN_RESET, person.about, {"why": why})
