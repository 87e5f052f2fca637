"""May what this thread wrote last have been kept? Asked when the database failed.

Until the commit begins nothing was kept. From then on only the database can tell, and a lost one does not.
"""

import threading
from typing import Final

AT_COMMIT: Final = "the database failed while it was committing"
"""The note on an error that came in place of the commit's own answer."""

_this_thread = threading.local()


def nothing_kept() -> None:
    """A request begins, or a transaction: what came before is not what will be asked about."""
    _this_thread.may_be_kept = False


def commit_begins() -> None:
    _this_thread.may_be_kept = True


def may_be_kept() -> bool:
    """Did the last transaction of this thread get as far as its commit?"""
    return getattr(_this_thread, "may_be_kept", False)


def note_commit(error: BaseException) -> None:
    """Note on an error that left a transaction whether its commit had begun."""
    if may_be_kept():
        error.add_note(AT_COMMIT)


def came_at_commit(error: BaseException) -> bool:
    return AT_COMMIT in getattr(error, "__notes__", ())
