"""References: eight characters that name a person without saying who it is.

The alphabet is Crockford's base 32: no I, L, O or U, so that a reference survives being read aloud and typed.
"""

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8

_READ_AS = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None})


def ref_of(numbers: bytes) -> str:
    """A reference from at least eight random bytes; each byte gives one character (its low five bits)."""
    if len(numbers) < LENGTH:
        raise ValueError(f"{len(numbers)} bytes are too few for a reference; {LENGTH} would be right")
    return "".join(ALPHABET[number & 31] for number in numbers[:LENGTH])


def tidy_ref(text: str) -> str | None:
    """The reference that a person meant by what they typed, or None if it cannot be one."""
    ref = text.strip().upper().translate(_READ_AS)
    return ref if len(ref) == LENGTH and set(ref) <= set(ALPHABET) else None
