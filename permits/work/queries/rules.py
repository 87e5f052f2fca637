"""What the page of rules shows: each step with its conditions, each condition with its words and grounds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import get_args

from django.utils.text import slugify

import permits.work.rules
from permits.people.rules.roles import Role
from permits.work import rulebook
from permits.work.queries.rule_lines import ChapterLines, RuleLine, RulesPage, StepLine
from permits.work.rules import commands as c
from permits.work.rules import found_in_source
from permits.work.rules.clauses import BELOW, RULES, TOPICS, Own, Rule, Topic
from permits.work.rules.clauses.published import STEPS_ENFORCED
from permits.work.rules.held_up import OF_THE_SITE, SAFER
from permits.work.rules.moved_on import ALWAYS_RIGHT, CANNOT_STAND_BESIDE, ENDS
from permits.work.rules.steps import ONLY_BY, STEPS

LEAD = "What a permit is refused for, from the asking to its end."
FOLDER = Path(permits.work.rules.__file__).parent
HELD_UP = "not while held up"
FRESH = "from a fresh page: nothing may have happened since it was shown"
IN_PART: dict[type[c.Ask], str] = {c.TakeOffForAbsent: f"at a point {HELD_UP}"}
"""A padlock on the box is signed off also while the permit is held up: it only makes things safer."""

NAMED_AT_MOST = 8
"""A condition that is asked in more steps than this says how many they are."""


@cache
def source() -> found_in_source.Source:
    """The rules' own source, read once a process."""
    return found_in_source.read({file.stem: file.read_text(encoding="utf-8") for file in FOLDER.glob("*.py")})


@cache
def rules_page() -> RulesPage:
    """All rules: the permit's, those of the rooms above, those of the rooms below."""
    above = tuple(map(of_a_room_above, rulebook.chapters()))
    chapters = (
        of_the_permit([step for chapter in above for step in chapter.steps]),
        *above,
        *(of_a_room_below(*below) for below in BELOW),
    )
    return RulesPage(
        chapters,
        steps_in_all=sum(len(chapter.steps) for chapter in chapters),
        rules_in_all=sum(len(chapter.lines) for chapter in chapters),
    )


def of_the_permit(above: Iterable[StepLine]) -> ChapterLines:
    """`above`: the steps of the rooms above; a condition that they share with the permit stands here."""
    groups = tuple((title, tuple(step_line(command) for command in commands)) for title, commands in STEPS)
    steps = [step for _, each in groups for step in each]
    topics = tuple(
        (topic.title, tuple(rule_line(code, rule, steps, above) for code, rule in topic.rules.items()))
        for topic in TOPICS
    )
    return ChapterLines("The permit", LEAD, groups, topics)


def of_a_room_above(chapter: rulebook.Chapter) -> ChapterLines:
    """A chapter as its room registered it, each condition with the steps that ask it."""
    known = {**RULES, **{code: rule for topic in chapter.topics for code, rule in topic.rules.items()}}
    groups = tuple((title, tuple(line_of(step, known) for step in steps)) for title, steps in chapter.steps)
    steps = [step for _, each in groups for step in each]
    topics = tuple(
        (topic.title, tuple(told_of(topic, code, steps) for code in topic.rules)) for topic in chapter.topics
    )
    return ChapterLines(chapter.title, chapter.lead, groups, topics)


def of_a_room_below(title: str, lead: str, topics: Iterable[Topic]) -> ChapterLines:
    told = tuple((topic.title, tuple(told_of(topic, code, ()) for code in topic.rules)) for topic in topics)
    return ChapterLines(title, lead, (), told, has_codes=False)


def line_of(step: rulebook.Step, known: Mapping[str, Rule]) -> StepLine:
    asks_first = (step.asks_first, step_anchor(step.asks_first)) if step.asks_first else None
    return StepLine(step.anchor, step.title, step.who, "", *parted(step.codes, known), asks_first=asks_first)


def told_of(topic: Topic, code: str, steps: Iterable[StepLine]) -> RuleLine:
    return RuleLine(code, topic.rules[code], topic.asked, tuple(one for one in steps if code in one.codes))


def step_line(command: type[c.Ask]) -> StepLine:
    found, title = source().of_command(command.__name__), title_of(command)
    safety, order = parted(found.codes, RULES)
    return StepLine(
        anchor=step_anchor(title),
        title=title,
        who=who_may(found),
        signed=c.SIGNED.get(command, ""),
        safety=safety,
        order=order,
        waits="" if issubclass(command, SAFER + OF_THE_SITE) else IN_PART.get(command, HELD_UP),
        fresh=issubclass(command, c.NEEDS_FRESH_PAGE),
        beside=beside(command),
        late=command in get_args(c.LateCommand),
        enters=command is c.EnterLate,
    )


def beside(command: type[c.Ask]) -> str:
    """What may not have happened since the page was shown from which the command was asked."""
    if issubclass(command, ALWAYS_RIGHT):
        return "whatever happened since its page was shown"
    if issubclass(command, c.NEEDS_FRESH_PAGE):
        return FRESH
    found = CANNOT_STAND_BESIDE[command]
    turns = ", nor after the permit’s end" if found.turns == ENDS else ", nor after a turn of the permit"
    return f"not once {found.but} since its page was shown{turns if found.turns else ''}"


def title_of(command: type[c.Ask]) -> str:
    """What the step is called."""
    return next(titles[command] for _, titles in STEPS if command in titles)


def step_anchor(title: str) -> str:
    return f"step-{slugify(title)}"


def parted(codes: Iterable[str], known: Mapping[str, Rule]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is asked for safety, and what for the record alone; each in the order in which it is met."""
    of_order = {code: is_of_order(known[code]) for code in codes}
    return (
        tuple(code for code, order in of_order.items() if not order),
        tuple(code for code, order in of_order.items() if order),
    )


def is_of_order(rule: Rule) -> bool:
    """Is it asked for no other reason than that the record would not be true without it?"""
    return set(rule.grounds) <= {Own.RECORD, STEPS_ENFORCED}


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


def rule_line(code: str, rule: Rule, steps: Iterable[StepLine], above: Iterable[StepLine]) -> RuleLine:
    steps = tuple(steps)
    own = tuple(step for step in steps if code in step.codes)
    shared = tuple(step for step in above if code in step.codes)
    return RuleLine(code, rule, asked_where(code, own, steps), own + shared)


def asked_where(code: str, own: tuple[StepLine, ...], steps: tuple[StepLine, ...]) -> str:
    """Where a condition is asked, in words; "" where the steps that ask it say it themselves."""
    if code in passed_by_every_step():
        return "every step"
    if code in source().of_function("held_up", "held_up").codes:
        return f"every step marked “{HELD_UP}”"
    if code == "clock-behind":  # asked where the time is known: actions.refuse_by_clock
        return "every step, but what only makes things safer"
    if code == "page-stale":  # asked beside the step's own conditions: actions.decided
        return "every step, by what it says of its page"
    if len(own) > NAMED_AT_MOST:
        return f"{len(own)} of the {len(steps)} steps"
    return "" if own else NO_STEP.get(code, "the page of the site's numbers")


NO_STEP = dict.fromkeys(("wanted-live", "shared-point", "kept-live"), "no step: it is shown beside the plan")


@cache
def passed_by_every_step() -> frozenset[str]:
    """What is looked at after every command, whatever its own conditions found."""
    after = ("consequences", "guard_the_invariant")
    return frozenset(code for name in after for code in source().of_function("decide", name).codes)
