"""Every step that the rules can offer has a page: nobody is told what to do next and shown no way there."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from permits.work import rules
from permits.work.views.ways import address

FOLDER = Path(rules.__path__[0])


def offered() -> set[str]:
    """The first argument of every Step(…) and Choice(…) in the rules, where it is written out."""
    found = set()
    for file in FOLDER.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            named = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if named and node.func.id in ("Step", "Choice") and node.args:
                first = node.args[0]
                if isinstance(first, ast.Constant) and first.value:
                    found.add(first.value)
    return found


@pytest.mark.parametrize("action", sorted(offered()))
def test_a_step_that_is_offered_has_a_page(action):
    assert address("P-1", action, "C1").startswith("/"), action


def test_the_steps_are_found_in_the_source():
    assert {"accept", "lock", "verify", "hand-back", "tell-returned", "end-paper"} <= offered()
