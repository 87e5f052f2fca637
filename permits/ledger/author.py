"""Who writes an entry: an identifier that says nothing by itself, and a salted digest of the name."""

import re
from dataclasses import dataclass
from typing import Final

from permits.ledger.body import GENESIS, refuse_odd_text

LONGEST: Final = 80
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Author:
    """`ref` such as "person:K7Q2M9XB"; `digest`, 64 hex digits, SHA-256 of salt and name.

    `device` names whose device it was where that is not the author's own. Raises ValueError for odd values.
    """

    ref: str
    digest: str
    device: str = ""

    def __post_init__(self) -> None:
        refuse_odd_text("the author's reference", self.ref, LONGEST)
        if not _DIGEST.fullmatch(self.digest):
            raise ValueError("an author's digest is 64 lower-case hex digits (SHA-256)")


CLOCK: Final = Author("system:clock", GENESIS)
"""Who writes what fell due by time alone: nobody, so there is no name to digest."""
