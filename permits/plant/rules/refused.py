"""What is raised when a change of the plant cannot be made: every reason, for the person who asked."""

from __future__ import annotations

from collections.abc import Iterable


class PlantRefused(Exception):
    """Nothing was changed. `reasons`: each says what stands against it and what would be right."""

    def __init__(self, reasons: Iterable[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__("\n".join(self.reasons))
