"""A page that is sent twice: was this very request carried out before, or is it another under the same key?

Only the same request counts as a repeat: the same person, the same address, the same content. Anything else
that comes under a used key (a page gone back to and corrected, the key of another form) is not carried out:
its page says so, keeps what was typed and has a fresh key.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from typing import Any
from uuid import UUID, uuid4

from django.forms import Form

from permits.ledger.sent import Sent, SentOtherwise, done
from permits.people.access import SiteRequest

LEFT_OUT = {"csrfmiddlewaretoken", "key", "seen", "pin", "second_pin"}
"""What is not of a request's content: its key, the browser's token, what its page showed, and PINs, of which
nothing is kept."""


@dataclass(frozen=True, slots=True)
class NotTaken:
    """What was asked and why it was not done, as components/refusal.html takes it."""

    asked: str
    unmet: tuple[dict[str, str], ...]


def sent_with(request: SiteRequest) -> Sent | None:
    """The request's key and what came under it; None where the key is missing or damaged."""
    try:
        key = UUID(request.POST.get("key", ""))
    except ValueError:
        return None
    return Sent(key, content_of(request))


def content_of(request: SiteRequest) -> str:
    """SHA-256 over who asked, of which page, and with what in each field and file."""
    said = {
        "by": request.person.ref,
        "page": request.get_full_path(),
        "fields": {name: values for name, values in request.POST.lists() if name not in LEFT_OUT},
        "files": {name: [file_digest(one) for one in files] for name, files in request.FILES.lists()},
    }
    return sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def file_digest(file: Any) -> list[str]:
    digest = sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    file.seek(0)
    return [str(file.name), digest.hexdigest()]


def was_done(request: SiteRequest) -> bool:
    """Was this very request carried out before? Then its form need not make sense any more.

    Raises SentOtherwise where its key was used for another request.
    """
    sent = sent_with(request)
    return sent is not None and done(request.site.head_id, sent) is not None


def is_repeat(request: SiteRequest) -> bool:
    """The same, for what is done on the way to the answer: no repeat where the key was another request's."""
    with suppress(SentOtherwise):
        return was_done(request)
    return False


def not_taken(request: SiteRequest, other: SentOtherwise, asked: str) -> NotTaken:
    """Why a request under a used key was not carried out, and what to do."""
    then = other.at.astimezone(request.site.zone)
    what = (
        f"This page was sent already at {then:%H:%M} on {then.day} {then:%B}, and what it did then is "
        "recorded; what you changed since is not."
    )
    return NotTaken(asked, ({"what": what, "who": "Look at what is recorded, then send it again."},))


def give_fresh_key(form: Form) -> None:
    """The page that is about to be shown can be sent as a request of its own; what was typed stays."""
    form.data = form.data.copy()  # type: ignore[attr-defined]  # what was posted is immutable
    form.data["key"] = str(uuid4())  # type: ignore[index]
