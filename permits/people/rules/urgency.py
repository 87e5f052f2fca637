"""How near an authorisation is to its end, so that expired and expiring ones are seen first."""

from datetime import date
from enum import IntEnum

from permits.people.rules.dates import in_words
from permits.people.rules.standing import Authority

SOON_DAYS = 30


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


def urgency(authority: Authority, day: date) -> Urgency:
    """The urgency on the site's calendar day `day`."""
    if authority.withdrawn:
        return Urgency.WITHDRAWN
    if authority.expires_on < day:
        return Urgency.EXPIRED
    if authority.starts_on > day:
        return Urgency.LATER
    return Urgency.EXPIRING if (authority.expires_on - day).days < SOON_DAYS else Urgency.HOLDING


def span_in_words(authority: Authority, day: date) -> str:
    """'until 3 March 2027 (98 days)', 'expired after …', 'from … until …'."""
    until = in_words(authority.expires_on)
    match urgency(authority, day):
        case Urgency.EXPIRED:
            return f"expired after {until}"
        case Urgency.LATER:
            return f"from {in_words(authority.starts_on)} until {until}"
        case Urgency.WITHDRAWN:
            return "withdrawn"
        case _:
            left = (authority.expires_on - day).days
            more = "last day" if left == 0 else "1 more day" if left == 1 else f"{left} more days"
            return f"until {until} ({more})"
