"""The published clauses that only calibration rests on, in our words; marked as the permit's are."""

from __future__ import annotations

from permits.work.rules.clauses.rule import Clause, Sure

AGREED_BEFORE = Clause(
    "ILAC-G8:09/2019", "the rule for deciding is agreed before anything is measured", Sure.READ
)
GUARD_BAND = Clause(
    "ILAC-G8:09/2019, guard band w = U",
    "what is called good lies inside the tolerance by the expanded uncertainty at least",
    Sure.SECOND_HAND,
)
TYPE_A = Clause(
    "JCGM 100:2008 (GUM), type A evaluation",
    "how far readings differ among themselves is found from several of them",
    Sure.FROM_MEMORY,
)
AMENDED = Clause(
    "ISO/IEC 17025:2017, 7.5.2",
    "an amendment keeps what stood there before, the change, its date and who made it",
    Sure.FROM_MEMORY,
)
