"""TABLE.md read back: the walks, the guards, the pairs, the purposes."""

from __future__ import annotations

from pathlib import Path

TABLE = Path(__file__).with_name("TABLE.md")


def rows_of(number: int) -> list[list[str]]:
    """The rows of the file's table with this number, from 0, each as its cells; without the head."""
    tables: list[list[list[str]]] = []
    inside = False
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        if line.startswith("|"):
            if not inside:
                tables.append([])
            tables[-1].append([cell.strip() for cell in line.strip("|").split("|")])
        inside = line.startswith("|")
    return tables[number][2:]
