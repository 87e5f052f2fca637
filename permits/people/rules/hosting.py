"""Who answers at a site for an outside contractor, and for how long.

The two employers tell each other of their lockout or tagout procedures: 29 CFR 1910.147(f)(2). That a named
person of the site stands for it, up to a last day, is our own rule.
"""

from dataclasses import dataclass
from datetime import date

from permits.people.rules.dates import in_words


@dataclass(frozen=True, slots=True)
class Hosting:
    """One contractor's host: their reference and name, the first and the last day on which it holds."""

    host: str
    starts_on: date
    expires_on: date
    host_name: str = ""


def against(hosting: Hosting | None, day: date, host_is_here: bool) -> str:
    """Why this hosting does not hold on the site's calendar day `day`; "" when it does.

    `host_is_here`: the host has a role at the site and is no contractor themselves. The reasons are clauses
    that follow "… is a contractor of X, and".
    """
    return ", and ".join(filter(None, (without_host(hosting, host_is_here), out_of_days(hosting, day))))


def without_host(hosting: Hosting | None, host_is_here: bool) -> str:
    """Why nobody answers for the contractor, or ""."""
    if hosting is None:
        return "nobody here is their host"
    if host_is_here:
        return ""
    return f"their host {hosting.host_name} is no longer one of this site’s own people"


def out_of_days(hosting: Hosting | None, day: date) -> str:
    """Why the hosting does not cover `day`, or ""."""
    if hosting is None or hosting.starts_on <= day <= hosting.expires_on:
        return ""
    if day < hosting.starts_on:
        return f"{hosting.host_name} is their host only from {in_words(hosting.starts_on)}"
    return f"{hosting.host_name} was their host until {in_words(hosting.expires_on)}"
