"""A machine's or node's code as one part of an address, whatever characters it has."""

from __future__ import annotations

from django.urls import register_converter


class CodeConverter:
    """Codes may have slashes, and a browser takes away parts that are only dots: both are written otherwise.

    "~" stands for itself as "~0" and for a slash as "~1", as in a JSON pointer (RFC 6901); for a dot "~2".
    """

    regex = "[^/]+"

    def to_python(self, value: str) -> str:
        return value.replace("~1", "/").replace("~2", ".").replace("~0", "~")

    def to_url(self, value: str) -> str:
        written = value.replace("~", "~0").replace("/", "~1")
        return written.replace(".", "~2") if set(written) == {"."} else written


register_converter(CodeConverter, "code")
