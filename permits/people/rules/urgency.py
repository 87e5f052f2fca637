"""How near an authorisation or a hosting is to its end, so that expired and expiring ones are seen first."""

from datetime import date
from enum import IntEnum
from typing import Protocol

from permits.people.rules.dates import in_words

SOON_DAYS = 30


class Lasting(Protocol):
    """What holds from a first to a last day unless it was withdrawn, as a table row or as a value."""

    @property
    def starts_on(self) -> date: ...
    @property
    def expires_on(self) -> date: ...
    @property
    def withdrawn(self) -> bool: ...


class Urgency(IntEnum):
    """In the order in which they are shown. Thirty days' notice is site policy."""

    EXPIRED = 0
    EXPIRING = 1
    HOLDING = 2
    LATER = 3
    WITHDRAWN = 4

    @property
    def word(self) -> str:
        return ("expired", "expires soon", "in date", "not yet", "withdrawn")[self]

    @property
    def badge(self) -> str:
        """The look of its badge (components/state_badge.html)."""
        return ("stale", "stale", "info", "info", "over")[self]


def urgency(lasting: Lasting, day: date) -> Urgency:
    """The urgency on the site's calendar day `day`."""
    if lasting.withdrawn:
        return Urgency.WITHDRAWN
    if lasting.expires_on < day:
        return Urgency.EXPIRED
    if lasting.starts_on > day:
        return Urgency.LATER
    return Urgency.EXPIRING if (lasting.expires_on - day).days < SOON_DAYS else Urgency.HOLDING


def span_in_words(lasting: Lasting, day: date) -> str:
    """'until 3 March 2027 (98 days)', 'expired after …', 'from … until …'."""
    until = in_words(lasting.expires_on)
    match urgency(lasting, day):
        case Urgency.EXPIRED:
            return f"expired after {until}"
        case Urgency.LATER:
            return f"from {in_words(lasting.starts_on)} until {until}"
        case Urgency.WITHDRAWN:
            return "withdrawn"
        case _:
            left = (lasting.expires_on - day).days
            more = "last day" if left == 0 else "1 more day" if left == 1 else f"{left} more days"
            return f"until {until} ({more})"
