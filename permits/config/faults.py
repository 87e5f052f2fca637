"""When the database cannot be used: a page that says what to do, one line in the log, and never a false 200.

Django asks `failed` for every error that no view answered, wherever it arose. It tells the database's own
faults (gone away, full disk, no turn) from mistakes in the program, such as a missing table: those stay what
they are, with the page of 500 and the traceback in the log.

The page says *not recorded* where that is known: nothing was written, or the database refused to keep it.
Where the connection broke during the commit, or after it, it says *perhaps*.
"""

import errno
import logging
import shutil
import sys
from collections.abc import Callable
from typing import Final

from django.conf import settings
from django.contrib.sessions.exceptions import SessionInterrupted
from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views import defaults

from permits.ledger import outcome

logger = logging.getLogger("permits.faults")

RETRY_AFTER_S: Final = 30
ROOM: Final = 64 * 1024
"""Bytes below which a disk is called full: less than SQLite asks for to open a database."""
FULL: Final = "its disk is full"
AWAY: Final = "the database does not answer"
BUSY: Final = "too many want to write at once"
BROKEN: Final = "the database cannot be read or written"

_SQLITE: Final = {
    "SQLITE_FULL": FULL, "SQLITE_BUSY": BUSY, "SQLITE_LOCKED": BUSY, "SQLITE_PROTOCOL": BUSY,
    "SQLITE_CANTOPEN": AWAY, "SQLITE_IOERR": BROKEN, "SQLITE_READONLY": BROKEN, "SQLITE_PERM": BROKEN,
    "SQLITE_CORRUPT": BROKEN, "SQLITE_NOTADB": BROKEN, "SQLITE_NOMEM": BROKEN,
}  # fmt: skip
"""SQLite's primary result codes (sqlite.org/rescode.html) that no change of the program would mend."""

_SQLSTATE: Final = {
    "53100": FULL, "53": BUSY, "55P03": BUSY, "40001": BUSY, "40P01": BUSY, "08": AWAY, "57": AWAY,
    "58": BROKEN, "25006": BROKEN, "XX": BROKEN,
}  # fmt: skip
"""The same for PostgreSQL: classes and codes of its manual's appendix A."""

_DISK: Final = {errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EROFS: BROKEN, errno.EIO: BROKEN}


def fault_in(error: BaseException | None) -> str:
    """What is wrong with the database or its disk, in a few words; "" for any other error."""
    if isinstance(error, SessionInterrupted):  # Django's word for a session that could not be written
        return next((fault for one in _behind(error) if (fault := fault_in(one))), "")
    if isinstance(error, OSError):
        return _DISK.get(error.errno or 0, "")
    if not isinstance(error, DatabaseError | InterfaceError):
        return ""
    cause = error.__cause__
    name = getattr(cause, "sqlite_errorname", None)
    if name is not None:
        fault = _SQLITE.get("_".join(str(name).split("_")[:2]), "")
        return FULL if fault in (AWAY, BROKEN) and _no_room() else fault
    state = getattr(cause, "sqlstate", None)
    if state is not None:
        return _SQLSTATE.get(state) or _SQLSTATE.get(state[:2], "")
    if isinstance(error, OperationalError):  # no turn at the gate; or no connection that could give a code
        return BUSY if cause is None else AWAY
    return AWAY if isinstance(error, InterfaceError) and "connection" in str(error) else ""


def _no_room() -> bool:
    """Is the embedded database's disk full? Of its side files SQLite says only that they failed."""
    try:
        return shutil.disk_usage(settings.DATA).free < ROOM
    except OSError:
        return False


def _behind(error: BaseException) -> list[BaseException]:
    """What led to an error, nearest first."""
    found: list[BaseException] = []
    behind = error.__cause__ or error.__context__
    while behind is not None and behind not in found:
        found.append(behind)
        behind = behind.__cause__ or behind.__context__
    return found


def each_by_itself(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Middleware, the first: what the thread wrote for the request before is not this one's."""

    def answer(request: HttpRequest) -> HttpResponse:
        outcome.nothing_kept()
        return get_response(request)

    return answer


def perhaps_recorded(fault: str, error: BaseException) -> bool:
    """Can nobody tell whether what was sent was kept? A full or busy database says itself that it was not."""
    refused = outcome.came_at_commit(error) and fault in (FULL, BUSY)
    return outcome.may_be_kept() and not refused


def failed(request: HttpRequest) -> HttpResponse:
    """Django's handler500: the page of 503 for a fault of the database, that of 500 for all else."""
    error = sys.exc_info()[1]
    fault = fault_in(error)
    return unavailable(request, fault, error) if error and fault else defaults.server_error(request)


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler400: a session that could not be written is the database's fault, not the browser's."""
    fault = fault_in(exception)
    return unavailable(request, fault, exception) if fault else defaults.bad_request(request, exception)


def _key_in(request: HttpRequest) -> str:
    """The request's key, as it was sent; "-" where there is none, or what was sent cannot be read."""
    try:
        return request.POST.get("key", "-")
    except Exception:  # the browser may be gone as well; nothing may keep the page from being answered
        return "-"


def unavailable(request: HttpRequest, fault: str, error: BaseException) -> HttpResponse:
    """The page, made without the database, and the one line of the log: who, where, what, which request."""
    known = request.__dict__  # only what is there already: asking for more would ask the database
    site, person = known.get("site"), known.get("person")
    sent = request.method not in {"GET", "HEAD", "OPTIONS"}
    perhaps = sent and perhaps_recorded(fault, error)
    logger.error(
        "%s: %s %r, site %s, person %s, key %.40r: %s: %s%s",
        fault,
        request.method,
        request.path,
        getattr(site, "code", "-"),
        getattr(person, "ref", "-"),
        _key_in(request),
        type(error).__name__,
        " ".join(str(error).split()),
        " (perhaps recorded)" if perhaps else "",
    )
    shown = {"fault": fault, "sent": sent, "perhaps": perhaps, "seconds": RETRY_AFTER_S}
    page = render_to_string("503.html", shown)
    response = HttpResponse(page, status=503)
    response["Retry-After"] = str(RETRY_AFTER_S)
    response["Cache-Control"] = "no-store"
    response._has_been_logged = True  # type: ignore[attr-defined]  # Django's log would add a traceback
    return response
