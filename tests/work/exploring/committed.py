"""TABLE.md and TWO_JOBS.md read back, table by table."""

from __future__ import annotations

from pathlib import Path


def rows_of(number: int, file: str = "TABLE.md") -> list[list[str]]:
    """The rows of the file's table with this number, from 0, each as its cells; without the head."""
    tables: list[list[list[str]]] = []
    inside = False
    for line in Path(__file__).with_name(file).read_text(encoding="utf-8").splitlines():
        if line.startswith("|"):
            if not inside:
                tables.append([])
            tables[-1].append([cell.strip() for cell in line.strip("|").split("|")])
        inside = line.startswith("|")
    return tables[number][2:]
