"""Setting up a site with its ledger."""

import zoneinfo
from datetime import datetime
from typing import Final

from permits.ledger.body import GENESIS
from permits.ledger.models import Head
from permits.ledger.pen import Author, open_ledger, writing
from permits.people.models import Site
from permits.people.rules.declined import Declined
from permits.people.rules.kinds import Kind

SETUP: Final = Author("system:setup", GENESIS)
"""Who writes a site's first entries, before anyone is there to sign: nobody, so no name to digest."""


def add_site(*, code: str, name: str, timezone: str, by: Author, at: datetime) -> Site:
    """A new site with a ledger of its own, which starts with the entry that says so.

    Raises Declined when the code is no run of capitals and digits or is taken, or the time zone is unknown.
    """
    if not (code.isascii() and code.isalnum() and code == code.upper() and len(code) <= 16):
        raise Declined(
            f"The site code {code!r} is not 1 to 16 capitals and digits; such as QUILLFEN would be right.",
            field="code",
        )
    if timezone not in zoneinfo.available_timezones():
        raise Declined(
            f"{timezone!r} is no known time zone; such as Europe/London or UTC would be right.",
            field="timezone",
        )
    if Site.objects.filter(code=code).exists():
        raise Declined(
            f"There is a site {code} already; a code that is not taken would be right.", field="code"
        )
    head = Head.objects.filter(name=code).first() or open_ledger(code)  # left from a setup that was cut short
    with writing(head.pk, by=by, at=at) as pen:
        site = Site.objects.create(code=code, name=name, head=head, timezone=timezone)
        pen.write(Kind.SITE_ADDED, f"site:{code}", {"name": name, "timezone": timezone})
    return site
