"""Which rules have certain words: the page of rules, with what does not have them left out."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import replace

from permits.work.queries.rule_lines import ChapterLines, RuleLine, RulesPage, StepLine
from permits.work.queries.rules import rules_page


def rules_with(text: str) -> RulesPage:
    """The page with the rules, steps and clauses in which every word is found; all of it for no word.

    Words are looked for in a rule, who can see to it, its clauses, its code as it is or as it is read, and
    what it belongs to; in a step, who may, what it is signed for, and the codes of its conditions.
    """
    words, page = plain(text).split(), rules_page()
    if not words:
        return page
    return replace(
        page,
        chapters=tuple(filter(is_left, (with_words(chapter, words) for chapter in page.chapters))),
        not_offered=tuple(
            one for one in page.not_offered if has(words, one.what, one.why, one.clause.cite, one.clause.what)
        ),
        not_listed=tuple(pair for pair in page.not_listed if has(words, *pair)),
    )


def with_words(chapter: ChapterLines, words: list[str]) -> ChapterLines:
    groups = (
        (title, tuple(step for step in steps if step_has(words, chapter, title, step)))
        for title, steps in chapter.groups
    )
    topics = (
        (title, tuple(line for line in lines if rule_has(words, chapter, title, line)))
        for title, lines in chapter.topics
    )
    return replace(
        chapter,
        groups=tuple((title, steps) for title, steps in groups if steps),
        topics=tuple((title, lines) for title, lines in topics if lines),
    )


def is_left(chapter: ChapterLines) -> bool:
    return bool(chapter.groups or chapter.topics)


def step_has(words: list[str], chapter: ChapterLines, group: str, step: StepLine) -> bool:
    return has(words, chapter.title, group, step.title, step.who, step.signed, *read(step.codes))


def rule_has(words: list[str], chapter: ChapterLines, topic: str, line: RuleLine) -> bool:
    rule = line.rule
    clauses = (text for clause in rule.clauses for text in (clause.cite, clause.what, clause.sure))
    return has(words, chapter.title, topic, rule.asks, rule.who, *read([line.code]), *clauses, *rule.own)


def read(codes: Iterable[str]) -> Iterable[str]:
    """A code as it is written and as it is read."""
    return (text for code in codes for text in (code, code.replace("-", " ")))


def has(words: list[str], *texts: str) -> bool:
    hay = plain(" \n ".join(texts))
    return all(word in hay for word in words)


def plain(text: str) -> str:
    """For comparing: one Unicode form, no capitals, and a typed apostrophe like a printed one."""
    return unicodedata.normalize("NFKC", text).casefold().replace("’", "'")
