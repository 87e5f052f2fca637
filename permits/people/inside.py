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


def hold(ref: str) -> None:
    """Until this transaction ends nobody else, at whichever site, signs this person on or disables them.

    A site's own row keeps its commands apart; a person may stand at two sites. It comes after that row and
    before anything is read, so that no two wait for each other and what is read then is as it stands.
    """
    Person.objects.select_for_update(no_key=True).only("pk").get(ref=ref)


def refuse_while_inside(person: Person, *, here: Site, elsewhere: bool = False) -> None:
    """Raises Declined while the person is signed on here; `elsewhere`: or at another site, whose permits are
    not named. Whoever disables somebody has to `hold` them first."""
    known = _knows[0](person) if _knows else []
    under = [f"under {permit} at {site.name}" for site, permit in known if site == here]
    if elsewhere:
        under += dict.fromkeys(f"at {site.name}" for site, _ in known if site != here)
    if under:
        raise Declined(
            f"{person.name} is signed on {', '.join(under)}, and could not say that they are out. They sign "
            "off first; where they cannot be found, an officer has the zones searched and signs them off as "
            "an absent person, at the permit."
        )
