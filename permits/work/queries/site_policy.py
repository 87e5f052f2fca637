"""The site's own numbers for the page that shows them, and when they were last changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.ledger.models import Entry
from permits.people.models import Person, Site
from permits.work.rules.clauses import Clause
from permits.work.rules.policy import CHANGED, SETTINGS, Setting
from permits.work.store import policy_of

__all__ = ["PolicyLine", "policy_changed", "policy_lines", "policy_of"]


@dataclass(frozen=True, slots=True)
class PolicyLine:
    """One number as it is now."""

    setting: Setting
    value: int | bool

    @property
    def now(self) -> str:
        return self.setting.shown(self.value)

    @property
    def default(self) -> str:
        return self.setting.shown(self.setting.default)

    @property
    def is_default(self) -> bool:
        return self.value == self.setting.default

    @property
    def clause(self) -> Clause | None:
        """The published clause that it rests on; None where it is the site's own."""
        return self.setting.ground if isinstance(self.setting.ground, Clause) else None


def policy_lines(site: Site) -> list[PolicyLine]:
    policy = policy_of(site)
    return [PolicyLine(setting, getattr(policy, setting.field)) for setting in SETTINGS]


def policy_changed(site: Site) -> tuple[str, datetime, int] | None:
    """Who changed the numbers last, when, and the entry's number; None where nobody ever did."""
    entry = Entry.objects.filter(head=site.head_id, kind=CHANGED).order_by("-number").first()
    if entry is None:
        return None
    person = Person.objects.filter(ref=entry.by.removeprefix("person:")).first()
    return (person.name if person else entry.by), entry.at, entry.number
