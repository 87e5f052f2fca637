"""Every condition of calibration in words: what it asks, who can meet it, and where it comes from.

The conditions themselves are in the files beside this folder and in the room's actions; a test holds both
alike, code by code.
"""

from __future__ import annotations

from collections.abc import Mapping

from permits.work.rules.clauses.rule import Rule, Topic

from .describing import DESCRIBING, MEASURING
from .on_axis import AXES, CORRECTING, READING, SETTINGS

__all__ = ["RULES", "SHARED", "TOPICS"]

TOPICS: tuple[Topic, ...] = (AXES, READING, CORRECTING, SETTINGS, DESCRIBING, MEASURING)

RULES: Mapping[str, Rule] = {code: rule for topic in TOPICS for code, rule in topic.rules.items()}
"""The rule of each code."""

SHARED = frozenset({"correction-unproven", "wrong-unit"})
"""Conditions that the permit asks as well, in the same words: they stand among the permit's."""
