"""What the page of rules shows: each step with its conditions, each condition with its words and grounds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import get_args

from django.utils.text import slugify

import permits.work.rules
from permits.people.rules.roles import Role
from permits.work.rules import commands as c
from permits.work.rules import found_in_source
from permits.work.rules.clauses import NOT_OFFERED, RULES, TOPICS, Clause, NotOffered, Own, Rule, Sure
from permits.work.rules.clauses.published import STEPS_ENFORCED
from permits.work.rules.held_up import OF_THE_SITE, SAFER
from permits.work.rules.steps import ONLY_BY, STEPS

FOLDER = Path(permits.work.rules.__file__).parent
HELD_UP = "not while held up"
FRESH = "from a fresh page"
IN_PART: dict[type[c.Ask], str] = {c.TakeOffForAbsent: f"at a point {HELD_UP}"}
"""A padlock on the box is signed off also while the permit is held up: it only makes things safer."""

NAMED_AT_MOST = 8
"""A condition that is asked in more steps than this says how many they are."""


@dataclass(frozen=True, slots=True)
class StepLine:
    """One command. `codes`: its own conditions; `safety`, `order`: the same, parted by what they are for.

    `signed`: what the signature means, "" where none is asked. `waits`: whether it has to wait while the
    permit is held up, in words; "" where it need not. `fresh`: refused from a page that has gone stale.
    `late`: may be entered afterwards when it happened on paper.
    """

    anchor: str
    title: str
    who: str
    signed: str
    codes: tuple[str, ...]
    waits: str
    fresh: bool
    late: bool

    @property
    def safety(self) -> tuple[str, ...]:
        return tuple(code for code in self.codes if not is_of_order(RULES[code]))

    @property
    def order(self) -> tuple[str, ...]:
        return tuple(code for code in self.codes if is_of_order(RULES[code]))


def is_of_order(rule: Rule) -> bool:
    """Is it asked for no other reason than that the record would not be true without it?"""
    return set(rule.grounds) <= {Own.RECORD, STEPS_ENFORCED}


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One condition. `asked`: in words where it is asked, when that is not the list of `steps`."""

    code: str
    rule: Rule
    asked: str
    steps: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class RulesPage:
    groups: tuple[tuple[str, tuple[StepLine, ...]], ...]
    topics: tuple[tuple[str, tuple[RuleLine, ...]], ...]
    not_offered: tuple[NotOffered, ...] = NOT_OFFERED
    sure: tuple[Sure, ...] = tuple(Sure)
    own: tuple[Own, ...] = tuple(Own)

    @property
    def steps(self) -> tuple[StepLine, ...]:
        return tuple(step for _, steps in self.groups for step in steps)

    @property
    def clauses(self) -> list[Clause]:
        """Every published clause that a rule, or what is left out, names; each once, by where it stands."""
        named = {clause for line in self.lines for clause in line.rule.clauses}
        return sorted(named | {one.clause for one in self.not_offered}, key=lambda clause: clause.cite)

    @property
    def lines(self) -> tuple[RuleLine, ...]:
        return tuple(line for _, lines in self.topics for line in lines)


@cache
def source() -> found_in_source.Source:
    """The rules' own source, read once a process."""
    return found_in_source.read({file.stem: file.read_text(encoding="utf-8") for file in FOLDER.glob("*.py")})


@cache
def rules_page() -> RulesPage:
    groups = tuple(
        (title, tuple(step_line(command, name) for command, name in steps.items())) for title, steps in STEPS
    )
    steps = [step for _, each in groups for step in each]
    topics = tuple(
        (topic.title, tuple(rule_line(code, rule, steps) for code, rule in topic.rules.items()))
        for topic in TOPICS
    )
    return RulesPage(groups, topics)


def step_line(command: type[c.Ask], title: str) -> StepLine:
    found = source().of_command(command.__name__)
    return StepLine(
        anchor=f"step-{slugify(title)}",
        title=title,
        who=who_may(found),
        signed=c.SIGNED.get(command, ""),
        codes=found.codes,
        waits="" if issubclass(command, SAFER + OF_THE_SITE) else IN_PART.get(command, HELD_UP),
        fresh=issubclass(command, c.NEEDS_FRESH_PAGE),
        late=command in get_args(c.LateCommand),
    )


def who_may(found: found_in_source.Found) -> str:
    """Who may give a command, as its conditions say."""
    roles = [with_article(Role(role).words) for role in found.roles]
    persons = [one for one in found.persons if one != found_in_source.AUTHORISED]
    only = [ONLY_BY[code] for code in found.codes if code in ONLY_BY and not roles + persons]
    who = either([*found.ties, *persons, *roles, *only[:1]]) or "anyone at the site"
    if found_in_source.AUTHORISED in found.persons:
        return f"{who}, authorised for every machine of the permit"
    return who


def with_article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def either(many: Iterable[str]) -> str:
    """ "the holder, an issuer or a safety officer"."""
    *first, last = dict.fromkeys(many) or ("",)
    return f"{', '.join(first)} or {last}" if first else last


def rule_line(code: str, rule: Rule, steps: Iterable[StepLine]) -> RuleLine:
    steps = tuple(steps)
    own = tuple(step for step in steps if code in step.codes)
    return RuleLine(code, rule, asked_where(code, own, steps), own)


def asked_where(code: str, own: tuple[StepLine, ...], steps: tuple[StepLine, ...]) -> str:
    """Where a condition is asked, in words; "" where the steps that ask it say it themselves."""
    if code in passed_by_every_step():
        return "every step"
    if code in source().of_function("held_up", "held_up").codes:
        return f"every step marked “{HELD_UP}”"
    if code == "page-stale":  # asked before the rules are: actions.refuse_stale_page
        return f"every step marked “{FRESH}”"
    if len(own) > NAMED_AT_MOST:
        return f"{len(own)} of the {len(steps)} steps"
    return "" if own else NO_STEP.get(code, "the page of the site's numbers")


NO_STEP = dict.fromkeys(("wanted-live", "shared-point", "kept-live"), "no step: it is shown beside the plan")


@cache
def passed_by_every_step() -> frozenset[str]:
    """What is looked at after every command, whatever its own conditions found."""
    after = ("consequences", "guard_the_invariant")
    return frozenset(code for name in after for code in source().of_function("decide", name).codes)
