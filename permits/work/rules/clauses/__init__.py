"""Every condition of the rules in words: what it asks, who can meet it, and where it comes from.

The conditions themselves are in the files beside this folder; a test holds both alike, code by code. BELOW
are those of the rooms below, which know no codes: a test holds them to the places that refuse.
"""

from __future__ import annotations

from collections.abc import Mapping

from .asking import AMENDING, ASKING
from .ending import ENDING
from .every_step import EVERY_STEP, PEOPLE
from .inside import CLEARING, INSIDE
from .isolating import LOCKING, PROVING
from .left_out import NOT_LISTED, NOT_OFFERED
from .otherwise import ABSENT, HANDING_OVER, ON_PAPER, STOPPING
from .people import AUTHORISING, HOSTING, ROLES, SIGNING
from .plant import PLANT, PROCEDURES, TAGS
from .policies import POLICIES
from .rule import Clause, NotOffered, Own, Rule, Sure, Topic
from .testing import JOBS, TESTING

__all__ = [
    "BELOW",
    "NOT_LISTED",
    "NOT_OFFERED",
    "RULES",
    "TOPICS",
    "Clause",
    "NotOffered",
    "Own",
    "Rule",
    "Sure",
    "Topic",
]

TOPICS: tuple[Topic, ...] = (
    EVERY_STEP, PEOPLE, ASKING, AMENDING, LOCKING, PROVING, INSIDE, CLEARING, TESTING, JOBS, ENDING, STOPPING,
    HANDING_OVER, ABSENT, ON_PAPER, POLICIES,
)  # fmt: skip

RULES: Mapping[str, Rule] = {code: rule for topic in TOPICS for code, rule in topic.rules.items()}
"""The rule of each code."""

BELOW: tuple[tuple[str, str, tuple[Topic, ...]], ...] = (
    (
        "Plant and procedures",
        "What a procedure, a tag or a change of the plant is refused for, each in its own words.",
        (PROCEDURES, PLANT, TAGS),
    ),
    (
        "People",
        "What a role, an authorisation, a host or a signature is refused for, each in its own words.",
        (ROLES, AUTHORISING, HOSTING, SIGNING),
    ),
)
"""What the rooms below ask: title, what it is about, topics."""
