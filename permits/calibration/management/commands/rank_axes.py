"""`rank_axes FILE`: which axis explains what the pre-check pieces show?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from permits.calibration.management.file_answer import FileAnswerCommand
from permits.calibration.rules import pieces_input, ranking_answers
from permits.calibration.rules.axes import rank


class Command(FileAnswerCommand):
    help = "Ranks the axes by how well each alone explains the deviations of the test piece features."
    forms = f"Input:\n\n{pieces_input.FORM}\n\nAnswer with --format json:\n\n{ranking_answers.FORM}"

    def answer_to(self, text: bytes) -> tuple[dict[str, Any], Callable[[], str]]:
        pieces = pieces_input.read_pieces(text)
        ranking = rank(pieces.features, pieces.order)
        return ranking_answers.as_json(ranking), lambda: ranking_answers.as_text(ranking)
