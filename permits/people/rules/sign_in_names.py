"""Sign-in names: what people type to sign in. Latin letters, so that any plant keyboard can type them."""

import re

_SHAPE = re.compile(r"[a-z0-9](?:[a-z0-9.-]{0,38}[a-z0-9])?")


def tidy_sign_in(text: str) -> str:
    """The name as it is kept: no surrounding space, lower case."""
    return text.strip().lower()


def sign_in_objection(name: str) -> str | None:
    """Why this (tidied) name cannot be used and what would be right, or None when it can."""
    if len(name) < 2:
        return "A sign-in name has 2 characters or more; such as m.tarn would be right."
    if len(name) > 40:
        return f"This sign-in name has {len(name)} characters; 40 at most would be right."
    if not _SHAPE.fullmatch(name):
        return (
            "A sign-in name is letters a to z, digits, dots and hyphens, and starts and ends with a letter "
            "or digit; such as m.tarn would be right."
        )
    return None
