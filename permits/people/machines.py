"""Which machines a site has, as far as this room may know.

People lie below the plant and cannot look machines up. The plant room sets `known_machines` when the
application starts; until then a machine's code is taken as it is typed.
"""

from collections.abc import Callable

from permits.people.models import Site

known_machines: Callable[[Site], list[tuple[str, str]]] | None = None


def machines_at(site: Site) -> list[tuple[str, str]] | None:
    """(code, name) of each machine at `site`, or None when nobody told this room how to find out."""
    return known_machines(site) if known_machines else None


def machine_objection(site: Site, machine: str) -> str | None:
    """Why `machine` cannot be used at `site` and what would be right, or None when it can."""
    if not machine:
        return "No machine is named; the code on its name plate would be right."
    if len(machine) > 64:
        return f"The machine code has {len(machine)} characters; 64 at most would be right."
    known = machines_at(site)
    if known is None or any(machine == code for code, _ in known):
        return None
    codes = ", ".join(code for code, _ in known) or "none yet: import the plant first"
    return f"There is no machine {machine!r} at {site.name}; known here: {codes}."
