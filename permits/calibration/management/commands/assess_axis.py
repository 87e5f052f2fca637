"""`assess_axis FILE`: adjust this axis, leave it, or measure again?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from permits.calibration.management.file_answer import FileAnswerCommand
from permits.calibration.rules import answers, axis_input
from permits.calibration.rules.deciding import assess


class Command(FileAnswerCommand):
    help = "Says of the readings of one axis: leave it, adjust it, or measure again, and why."
    forms = f"Input:\n\n{axis_input.FORM}\n\nAnswer with --format json:\n\n{answers.FORM}"

    def answer_to(self, text: bytes) -> tuple[dict[str, Any], Callable[[], str]]:
        answer = assess(axis_input.read_axis(text))
        return answers.as_json(answer), lambda: answers.as_text(answer)
