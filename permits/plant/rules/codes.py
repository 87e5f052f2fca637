"""Tokens in a tag's QR code and the short code printed beside it. Pure; randomness is an argument."""

from __future__ import annotations

from typing import Final

ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32: no I, L, O or U, which a person misreads."""

CHECKED: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
"""The 36 characters of ISO/IEC 7064 MOD 37,36, each worth its place here."""

QR_ALPHANUMERIC: Final = frozenset(CHECKED + " $%*+-./:")
"""What QR's alphanumeric mode can hold (ISO/IEC 18004): capitals only."""

TOKEN_BYTES: Final = 10
TOKEN_LENGTH: Final = 16
BODY_LENGTH: Final = 6

_LOOKS_LIKE: Final = str.maketrans({"O": "0", "I": "1", "L": "1"})
_SEPARATORS: Final = str.maketrans("", "", " -‐‑‒–—_./\t\u00a0\u202f\r\n")


class CodeError(ValueError):
    """A code that cannot be right; the message says what was wrong and what would be right."""


def new_token(random: bytes) -> str:
    """16 characters of Crockford base 32 from 10 random bytes (80 bits, so it cannot be guessed)."""
    if len(random) != TOKEN_BYTES:
        raise CodeError(f"A token is made from {TOKEN_BYTES} random bytes; {len(random)} were given.")
    return _base32(int.from_bytes(random, "big"), TOKEN_LENGTH)


def tag_url(public_url: str, token: str) -> str:
    """The address in a tag's QR code, in capitals so that the code can use alphanumeric mode.

    Raises CodeError where the site's address has a character that a short code cannot hold.
    """
    url = f"{public_url.strip().rstrip('/').upper()}/T/{token}"
    strange = sorted(set(url) - QR_ALPHANUMERIC)
    if strange or not url.startswith(("HTTP://", "HTTPS://")):
        found = f"it has {' '.join(map(repr, strange))}" if strange else "it has no scheme"
        raise CodeError(
            f"The site's public address {public_url!r} cannot be printed in a tag: {found}. "
            "Right would be http:// or https:// and a name of letters, digits, dots, hyphens and a port."
        )
    return url


def check_character(body: str) -> str:
    """The check character of ISO/IEC 7064 MOD 37,36 for `body` (capitals and digits)."""
    product = 36
    for character in body:
        total = (product + CHECKED.index(character)) % 36 or 36
        product = total * 2 % 37
    return CHECKED[(1 - product) % 36]


def short_code(random: bytes) -> str:
    """Six characters and their check character, from at least 4 random bytes.

    MOD 37,36 finds every wrong character but not quite every swap of two neighbours, and its check
    character may be one that people misread. Bodies where either happens are passed over for the
    next, so that each code issued is safe against both.
    """
    if len(random) < 4:
        raise CodeError(f"A short code is made from at least 4 random bytes; {len(random)} were given.")
    number = int.from_bytes(random, "big")
    while True:
        body = _base32(number, BODY_LENGTH)
        code = body + check_character(body)
        if code[-1] in ALPHABET and not any(map(_is_valid, _swaps(code))):
            return code
        number += 1


def parse_short_code(typed: str) -> str:
    """The canonical code ("ABCDEF7") of what a person typed in any case and with any separators.

    O is read as 0, I and L as 1. Raises CodeError with a message for the person.
    """
    code = typed.upper().translate(_SEPARATORS).translate(_LOOKS_LIKE)
    if not code:
        raise CodeError("No code was typed. It is the 7 characters beside the QR code, like ABC-DEF-7.")
    strange = next((c for c in code if c not in ALPHABET), None)
    if strange == "U":
        raise CodeError("Codes never have the letter U. Look at the tag again: it may be a V.")
    if strange is not None:
        raise CodeError(f"“{strange}” is not in any code: they have only letters A to Z and digits.")
    if len(code) != BODY_LENGTH + 1:
        raise CodeError(
            f"A code has {BODY_LENGTH + 1} characters, like ABC-DEF-7; {len(code)} were typed. "
            "Type all of them, the last one too."
        )
    if not _is_valid(code):
        raise CodeError(
            f"{shown(code)} is not a code on any tag: its last character does not fit the others. At least "
            "one character is wrong or two have changed places; which, nobody can tell. Look at the tag."
        )
    return code


def shown(code: str) -> str:
    """As printed and as read aloud: "ABC-DEF-7"."""
    return f"{code[:3]}-{code[3:6]}-{code[6:]}"


def _base32(number: int, length: int) -> str:
    return "".join(ALPHABET[number >> 5 * place & 31] for place in reversed(range(length)))


def _is_valid(code: str) -> bool:
    return check_character(code[:-1]) == code[-1]


def _swaps(code: str) -> list[str]:
    """Every code that two neighbours changing places would make, other than the code itself."""
    swapped = (code[:i] + code[i + 1] + code[i] + code[i + 2 :] for i in range(len(code) - 1))
    return [other for other in swapped if other != code]
