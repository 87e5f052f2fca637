"""Copies of the machine's settings: one saved before the job, another after it, each a new file. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from permits.work.rules.refusal import Unmet


@dataclass(frozen=True, slots=True)
class Copy:
    """A saved copy: where it is, in words or as a file's name; with SHA-256 (hex) and size in bytes where
    the file was shown. The file itself is not kept here: the digest tells whether a file is that one."""

    reference: str
    sha256: str = ""
    size: int | None = None

    @property
    def words(self) -> str:
        if not self.sha256:
            return self.reference
        return f"{self.reference} (SHA-256 {self.sha256}, {self.size or 0:,} bytes)"

    @property
    def data(self) -> dict[str, object] | None:
        """The file for the ledger; None where only words were given."""
        if not self.sha256:
            return None
        return {"name": self.reference, "sha256": self.sha256, "size": self.size or 0}


def against_copy_after(before: Copy, after: Copy, *, corrections: int) -> Iterator[Unmet]:
    """The copy after the job is a save of its own: another name, and after a correction another content."""
    if after.reference.strip().casefold() == before.reference.strip().casefold():
        yield Unmet(
            "copy-not-new",
            f"“{after.reference}” is the copy from before the job.",
            "You save the settings again at the machine, under a new name: no save overwrites another.",
        )
    elif corrections and after.sha256 and after.sha256 == before.sha256:
        yield Unmet(
            "copy-unchanged",
            "This file is the same as the one from before the job, byte for byte, but "
            f"{corrections} correction{'s were' if corrections != 1 else ' was'} made since.",
            "You save the settings from the machine again, then attach that file on this page.",
        )
