"""A site's own numbers in words: what each is for, its range, and whether it asks for more than the law."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from .clauses import Own
from .clauses import published as p
from .clauses.rule import SITE_POLICY, Clause
from .refusal import Unmet
from .words import Policy

DEFAULTS = Policy()
CHANGED = "SITE_POLICY_CHANGED"
"""The kind of the entry; its data: {"before": {…}, "after": {…}}, each as `as_data` has it."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One field of Policy. `least` to `most`: what a site may choose, both included; a switch has 0 and 1.

    `unit`: "" for a switch. `zero`: what 0 means, where it is not a number of units. `ground`: what it rests
    on; `more_than_law`: how it compares with what the law asks.
    """

    field: str
    name: str
    unit: str
    least: int
    most: int
    what_for: str
    ground: Clause | Own
    more_than_law: str
    zero: str = ""

    @property
    def is_switch(self) -> bool:
        return isinstance(self.default, bool)

    @property
    def default(self) -> int | bool:
        found: int | bool = getattr(DEFAULTS, self.field)
        return found

    @property
    def range(self) -> str:
        """ "1 to 60 minutes", "yes or no"."""
        return "yes or no" if self.is_switch else f"{self.least} to {self.most} {self.unit}"

    def shown(self, value: int | bool) -> str:
        """ "10 minutes", "1 hour", "yes"."""
        if self.is_switch:
            return "yes" if value else "no"
        if value == 0 and self.zero:
            return self.zero
        return f"{value} {self.unit.removesuffix('s') if value == 1 else self.unit}"

    def allows(self, value: int | bool) -> bool:
        return isinstance(value, bool) == self.is_switch and self.least <= value <= self.most


SETTINGS: tuple[Setting, ...] = (
    Setting(
        "clear_minutes", "A clear confirmation stays fresh for", "minutes", 1, 60,
        "How long it still counts that someone saw a danger area clear of people. Shorter is safer: people "
        "walk. A posted watcher keeps an area fresh for longer.",
        SITE_POLICY, "The law asks that everyone is out, and names no minutes.",
    ),
    Setting(
        "permit_hours", "A permit runs at most", "hours", 1, 72,
        "How long a permit may run before an issuer has to look at it again and extend it. A shift or two.",
        SITE_POLICY, "The law names no hours; a permit is for work within a time.",
    ),
    Setting(
        "test_hours", "A sanction for test runs at most", "hours", 1, 24,
        "How long points may be energised for tests before an issuer has to sanction the test anew.",
        SITE_POLICY, "The law lets locks come off only for the time that the task needs power; it names no "
        "hours.",
    ),
    Setting(
        "recheck_minutes", "A store that can recharge is read again within", "minutes", 0, 1440,
        "The longest that the test of a store which can build up again holds, however long its own interval "
        "is. It makes an interval of the plant shorter, never longer.",
        p.RE_ACCUMULATES, "The law asks to go on testing, and names no interval.",
        zero="each store's own interval",
    ),
    Setting(
        "own_issue", "Issuer and holder may be one person", "", 0, 1,
        "For a site where someone works alone. Each use is an exception in the records, for ever.",
        p.TWO_PEOPLE, "“No” asks for more than the law; “yes” is what the law leaves open.",
    ),
)  # fmt: skip
"""Every field of Policy, in the order in which a page shows them."""

OF_FIELD: Mapping[str, Setting] = {setting.field: setting for setting in SETTINGS}


def as_data(policy: Policy) -> dict[str, int | bool]:
    """The policy as an entry holds it."""
    return {field.name: getattr(policy, field.name) for field in dataclasses.fields(policy)}


def changed(before: Policy, after: Policy) -> tuple[Setting, ...]:
    """The settings in which two policies differ."""
    return tuple(s for s in SETTINGS if getattr(before, s.field) != getattr(after, s.field))


def against_changing(before: Policy, after: Policy, shown: Policy | None = None) -> Iterator[Unmet]:
    """Why a policy can't take another's place. `shown`: what whoever chose saw as it was, None if unknown."""
    for setting in SETTINGS:
        value = getattr(after, setting.field)
        if not setting.allows(value):
            yield Unmet(
                "out-of-range",
                f"“{setting.name}” is {value}; a site may choose {setting.range}.",
                "You choose a number within the range, on this page.",
            )
    if shown is not None and shown != before:
        others = "; ".join(f"{s.name}: {s.shown(getattr(before, s.field))}" for s in changed(shown, before))
        yield Unmet(
            "numbers-moved-on",
            f"Someone changed the site's numbers since this page was shown. {others}.",
            "You look at them as they are now, then decide again on this page.",
        )
    elif not changed(before, after):
        yield Unmet(
            "nothing-changes",
            "Every number is as it was.",
            "You change one, or leave this page: nothing is left to do.",
        )
