"""What an entry's body says, and its digest. Pure: the pen writes bodies, the verifier reads them.

A body is the canonical JSON of exactly the members in MEMBERS. Its digest is the leaf hash of RFC 9162,
so that entries can become leaves of a Merkle tree without being rewritten.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Final

from permits.ledger.canonical import MOST, canonical
from permits.ledger.merkle import leaf_hash

VERSION: Final = 1
GENESIS: Final = "0" * 64
"""What the first entry follows."""
MEMBERS: Final = frozenset(
    {"about", "at", "by", "by_digest", "data", "device", "kind", "ledger", "number", "previous", "v"}
)


def body_bytes(
    *,
    ledger: str,
    number: int,
    previous: str,
    kind: str,
    about: str,
    by: str,
    by_digest: str,
    device: str,
    at: datetime,
    data: Mapping[str, object],
) -> bytes:
    """The body of one entry. Raises ValueError for a naive `at`, and what `canonical` raises for the data."""
    return canonical(
        {
            "about": about,
            "at": time_text(at),
            "by": by,
            "by_digest": by_digest,
            "data": data,
            "device": device,
            "kind": kind,
            "ledger": ledger,
            "number": number,
            "previous": previous,
            "v": VERSION,
        }
    )


def body_digest(body: bytes) -> str:
    """64 lower-case hex digits: SHA-256(0x00 ‖ body), the leaf hash of RFC 9162 §2.1.1."""
    return leaf_hash(body).hex()


def utc(at: datetime) -> datetime:
    """The same moment in UTC. Raises ValueError for a naive time."""
    if at.utcoffset() is None:
        raise ValueError(f"{at.isoformat()} has no time zone; a time in the ledger has to carry one")
    return at.astimezone(UTC)


def time_text(at: datetime) -> str:
    """The one form of a time in entries: UTC, six decimals, such as 2026-11-25T07:40:00.123456Z."""
    return utc(at).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def refuse_unkept(value: object, where: str = "data") -> None:
    """Raise TypeError or ValueError, naming the place, for data that would not be read back as it was hashed.

    Kept are str, bool, None, integers within ±(2^53 − 1), and lists and dicts of them with str names.
    """
    if value is None or isinstance(value, bool):
        return
    if isinstance(value, str):
        _refuse_surrogates(value, where)
    elif isinstance(value, int):
        if abs(value) >= MOST:
            raise ValueError(f"{where} is {value}, not below 2^53; write it as a string")
    elif isinstance(value, list):
        for place, item in enumerate(value):
            refuse_unkept(item, f"{where}[{place}]")
    elif isinstance(value, dict):
        for name, item in value.items():
            if not isinstance(name, str):
                raise TypeError(f"{where} has the name {name!r}, which is no str; names have to be str")
            _refuse_surrogates(name, f"a name in {where}")
            refuse_unkept(item, f"{where}.{name}")
    else:
        raise TypeError(
            f"{where} is a {type(value).__name__}; entries keep str, int, bool, None, list and dict "
            "(decimals and lengths as strings with their unit, times as UTC strings)"
        )


def _refuse_surrogates(text: str, where: str) -> None:
    if any("\ud800" <= character <= "\udfff" for character in text):
        raise ValueError(f"{where} has a lone surrogate; text has to be whole Unicode characters")


def refuse_odd_text(what: str, text: str, longest: int) -> None:
    """Raise ValueError, naming `what`, for a column's text that is empty, too long or no single line."""
    if not isinstance(text, str) or not text.strip():
        raise ValueError(f"{what} is empty; it has to say something")
    if len(text) > longest:
        raise ValueError(f"{what} has {len(text)} characters; at most {longest} fit")
    if any(ord(character) < 32 for character in text):
        raise ValueError(f"{what} has a control character in it: {text!r}; it has to be one line of text")
