"""Asks the rooms above where somebody is inside a machine now, without knowing permits.

People may not import work. Work registers here, when the application starts, who can tell. Whoever is inside
must be able to say that they are out: their way in to the site is not taken from them until then.
"""

from __future__ import annotations

from collections.abc import Callable

from permits.people.models import Person, Site
from permits.people.rules.declined import Declined

Knows = Callable[[Person], list[tuple[Site, str]]]
"""Called with a person; answers with the sites and permits under which they are signed on now."""

_knows: list[Knows] = []


def who_knows(callback: Knows) -> Knows:
    """Register who knows; whoever registers later takes the place of the one before. A decorator."""
    _knows[:] = [callback]
    return callback


def refuse_while_inside(person: Person, *, at: Site | None = None) -> None:
    """Raises Declined while the person is signed on, at this site or at any."""
    known = _knows[0](person) if _knows else []
    under = [f"{permit} at {site.name}" for site, permit in known if at is None or site == at]
    if under:
        raise Declined(
            f"{person.name} is signed on under {', '.join(under)}, and could not say that they are out. "
            "They sign off first; where they cannot be found, an officer has the zones searched and takes "
            "their padlock off the group box."
        )
