"""One process: somebody signs on at one site in the moment in which another site disables them.

disabled_meanwhile.py sign-on|disable   which of the two is in the middle of its transaction when the other
arrives; prints JSON: whether the other waited for it, what came of the other, and how things stand then
"""

from __future__ import annotations

import json
import sys
import threading
from collections.abc import Callable
from typing import Any
from unittest import mock

import django

WHO = "hal"


class Other:
    """What arrives meanwhile, on a connection of its own. `came`: what came of it."""

    def __init__(self, ask: Callable[[], object]) -> None:
        self.ask, self.came, self.waited = ask, "", False
        self.thread = threading.Thread(target=self.run)

    def run(self) -> None:
        from django.db import connection

        from permits.people.rules.declined import Declined
        from permits.work.rules.refusal import Refused

        try:
            self.ask()
            self.came = "done"
        except (Declined, Refused) as refused:
            self.came = str(refused)
        finally:
            connection.close()

    def arrives_in(self, real: Callable[..., Any]) -> Callable[..., Any]:
        """`real`, at whose beginning the other arrives, and is given a second to come to its end."""

        def meanwhile(*given: Any, **named: Any) -> Any:
            if self.thread.ident is None:
                self.thread.start()
                self.thread.join(1)
                self.waited = self.thread.is_alive()
            return real(*given, **named)

        return meanwhile


def main(first: str) -> None:
    django.setup()
    from permits.ledger.pen import Pen
    from permits.people.actions import disable_person
    from permits.people.models import Person
    from permits.people.rules.roles import Role
    from permits.work.actions import perform
    from permits.work.models import CrewSignOn
    from tests.factories_people import PersonFactory, SiteFactory
    from tests.work.small_plant import accept, at, isolate, issue, request, sign_on, tell
    from tests.work.small_site import small_site

    small = small_site()
    for command in (request(), issue(), accept(), tell(), *isolate()):
        perform(site=small.site, command=command, by=small.author(command.by))
    beside = SiteFactory(code="BESIDE", name="Workshop beside", timezone="UTC")
    administrator = PersonFactory(site=beside, site__role=Role.ADMINISTRATOR)
    person = small.people[WHO]

    def signs_on() -> object:
        return perform(site=small.site, command=sign_on(WHO, "202"), by=person.author)

    def disables() -> None:
        whom = Person.objects.get(pk=person.pk)
        disable_person(site=beside, person=whom, why="left", by=administrator.author, at=at(30))

    begins, other = (signs_on, Other(disables)) if first == "sign-on" else (disables, Other(signs_on))
    with mock.patch.object(Pen, "write", other.arrives_in(Pen.write)):
        begins()
    other.thread.join(60)
    found = {
        "waited": other.waited,
        "came": other.came,
        "inside": CrewSignOn.objects.filter(person=WHO, off_at=None).exists(),
        "active": Person.objects.get(pk=person.pk).is_active,
    }
    print(json.dumps(found))


if __name__ == "__main__":
    main(sys.argv[1])
