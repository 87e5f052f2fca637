"""What a replay found that ledger and tables say differently."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Difference:
    """What ledger and tables say differently. `entry`: where the replay stopped, None for a table's field."""

    permit: str
    what: str
    entry: int | None = None
