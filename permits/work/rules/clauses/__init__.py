"""Every condition of the rules in words: what it asks, who can meet it, and where it comes from.

The conditions themselves are in the files beside this folder; a test holds both alike, code by code.
"""

from __future__ import annotations

from collections.abc import Mapping

from .asking import AMENDING, ASKING
from .ending import ENDING
from .every_step import EVERY_STEP, PEOPLE
from .inside import CLEARING, INSIDE
from .isolating import LOCKING, PROVING
from .left_out import NOT_OFFERED
from .otherwise import ABSENT, HANDING_OVER, ON_PAPER, STOPPING
from .policies import POLICIES
from .rule import Clause, NotOffered, Own, Rule, Sure, Topic
from .testing import JOBS, TESTING

__all__ = ["NOT_OFFERED", "RULES", "TOPICS", "Clause", "NotOffered", "Own", "Rule", "Sure", "Topic"]

TOPICS: tuple[Topic, ...] = (
    EVERY_STEP, PEOPLE, ASKING, AMENDING, LOCKING, PROVING, INSIDE, CLEARING, TESTING, JOBS, ENDING, STOPPING,
    HANDING_OVER, ABSENT, ON_PAPER, POLICIES,
)  # fmt: skip

RULES: Mapping[str, Rule] = {code: rule for topic in TOPICS for code, rule in topic.rules.items()}
"""The rule of each code."""
