"""What the columns of the permit's tables share: lengths, choices, the phases that are open."""

from __future__ import annotations

from permits.work.rules.words import Phase

REF = 8  # a person's reference; persons are named as the ledger names them, not by a key
CODE = 64  # a node's id in the plant file

OPEN_PHASES = [phase.value for phase in Phase if not phase.is_over]


def chosen(enum: type) -> list[tuple[str, str]]:
    return [(one.value, one.value) for one in enum]  # type: ignore[attr-defined]
