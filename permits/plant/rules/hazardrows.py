"""A plant file's own lines above which stored energy can hurt, tighter than the published ones. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from permits.plant.rules.rows import Nearest, Row, plain
from permits.plant.rules.stores.lines import LINES, Line, SiteLines


def read_hazard_lines(top: Row, nearest: Nearest) -> dict[str, Decimal]:
    """The site's own lines by name. One that is as published is left out: it says nothing of its own.

    A line that no one knows, and one that is looser than published, are wrong however strict.
    """
    if "hazard_lines" not in top:
        return {}
    row = top.inner("hazard_lines", 'an object of lines and numbers, such as {"shock_v": "60"}')
    if row is None:
        return {}
    for name in dict.fromkeys(row.value.repeated):
        row.wrong(name[:60], "the line stands here more than once", "to give it once")
    found: dict[str, Decimal] = {}
    for name in row.value:
        if (line := LINES.get(name)) is None:
            near = nearest.to(name, tuple(LINES))
            right = f"one of {', '.join(LINES)}"
            row.wrong(name[:60], "is no line", f"'{near}', if that was meant, or {right}" if near else right)
            continue
        errors_before = len(row.errors)
        value = row.decimal(name, line.right, signed=True)
        if len(row.errors) > errors_before:
            continue
        if not line.allows(value):
            row.wrong(name, *_refused(line, value))
        elif value != line.published:
            found[name] = value
    return {name: found[name] for name in LINES if name in found}


def written_hazard_lines(site_lines: SiteLines) -> dict[str, str]:
    """A site's own lines as JSON values: texts of digits."""
    return {name: plain(site_lines[name]) for name in LINES if name in site_lines}


def stored_hazard_lines(stored: Mapping[str, str]) -> dict[str, Decimal]:
    """The lines that `written_hazard_lines` wrote, trusted without a check."""
    return {name: Decimal(value) for name, value in stored.items()}


def _refused(line: Line, value: Decimal) -> tuple[str, str]:
    said = f"is {plain(value)} {line.unit}"
    if line.is_looser(value):
        said += f", looser than the published line of {plain(line.published)} {line.unit} ({line.source})"
        return said, f"{line.right}: a line may be tightened, never loosened"
    return said, line.right
