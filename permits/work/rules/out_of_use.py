"""What keeps a machine out of use after an officer closed its permit as not proven, and what lifts it.

Each axis that was corrected and not checked needs an as-left check of its own; a defect that was open is
looked at again. Only what happens after the close counts: a proof from before knows nothing of what was left.
The check needs no other correction: what is found in tolerance is left as it is (calibration/rules/owing.py).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from . import events as e
from .state import Permit, Site
from .whom import job_of, page_of, the_crew
from .words import CHECK_ITEMS, OutOfUse

Machines = Mapping[str, OutOfUse]


def left_by(site: Site, p: Permit) -> tuple[OutOfUse, ...]:
    """What stays open on each of the permit's machines if it ends now, with what was left there before."""
    found = []
    own_defects = tuple(f"{dict(CHECK_ITEMS).get(d.item, d.item)}: {d.what}" for _, d in p.open_defects)
    for machine in site.machines_of(p.zones):
        was = site.out_of_use.get(machine)
        own = (axis for job in p.jobs if job.machine == machine for axis in job.unproven)
        axes = tuple(dict.fromkeys((*(was.axes if was else ()), *own)))
        defects = tuple(dict.fromkeys((*(was.defects if was else ()), *own_defects)))
        any_axis = was.any_axis if was else not (axes or defects)
        found.append(OutOfUse(machine, p.id, axes, defects, any_axis))
    return tuple(found)


def out_of_use_after(machines: Machines, p: Permit, event: e.Event) -> Machines:
    """The machines out of use after an event of permit `p`, which is told as it was before or after it.

    What is proven or looked over is lifted at once: what the permit then leaves open it answers for itself.
    """
    match event:
        case e.ClosedOutOfUse():
            left = {one.machine: one for one in event.out_of_use}
            # An entry from before axes were named: an as-left check of any lifts it.
            unnamed = {m: OutOfUse(m, event.permit, any_axis=True) for m in event.machines}
            return {**machines, **unnamed, **left}
        case e.AxisProven() if event.lifts:
            proven = {job.machine for job in p.jobs if job.number == event.job}
            return lifted(
                replace(one, axes=tuple(a for a in one.axes if a != event.axis), any_axis=False)
                if one.machine in proven
                else one
                for one in machines.values()
            )
        case e.MachineChecked():
            # Every item was answered: what is still wrong is a defect of this permit now.
            seen = {machine for machine, _ in p.procedures}
            return lifted(
                replace(one, defects=()) if one.machine in seen else one for one in machines.values()
            )
        case _:
            return machines


def lifted(machines: Iterable[OutOfUse]) -> Machines:
    """Those of which something is still open."""
    return {one.machine: one for one in machines if one.axes or one.defects or one.any_axis}


def owed_since(machines: Machines, machine: str, axis: str) -> str:
    """The permit that was closed without this axis' as-left check, while that is owed; "" where none is."""
    one = machines.get(machine)
    return one.permit if one is not None and (one.any_axis or axis in one.axes) else ""


# ── in words ────────────────────────────────────────────────────────────────────────────────────────────


def what_is_open(one: OutOfUse) -> str:
    """The axes, then the defects; "" where nothing was named."""
    return "; ".join(part for part in (", ".join(one.axes), *one.defects) if part)


def why_out_of_use(one: OutOfUse) -> str:
    """A sentence without its full stop: "C1 is out of use since P-1 was closed not proven: angle"."""
    named = what_is_open(one)
    since = f"{one.machine} is out of use since {one.permit} was closed not proven"
    return f"{since}: {named}" if named else since


def defects_left(site: Site, p: Permit) -> tuple[str, ...]:
    """What earlier permits left open on the permit's machines, for the check that looks at it again."""
    machines = [machine for machine, _ in p.procedures]  # as the check lifts them; none before the issue
    return tuple(
        f"{defect} ({machine}, left by {site.out_of_use[machine].permit})"
        for machine in machines or site.machines_of(p.zones)
        if machine in site.out_of_use
        for defect in site.out_of_use[machine].defects
    )


def what_lifts(site: Site, p: Permit, one: OutOfUse) -> str:
    """What has to be done under permit `p`, a later one, and by whom; in full sentences."""
    found: list[str] = []
    by = the_crew(site, p)
    if one.axes or one.any_axis:
        of = f" of {' and of '.join(one.axes)}" if one.axes else ""
        found.append(
            f"{by} proves it by an as-left check{of}: the holder isolates again and begins a test cycle; "
            f"then the axis is opened and fresh pieces are read, {job_of(p.id)}. In tolerance, it is closed "
            "as it is, and proven; if not, it is corrected and checked."
        )
    if one.defects:
        found.append(
            f"{by} looks at the defects again in the machine check, {page_of(p)}; what is still wrong they "
            "mend, or an officer accepts it."
        )
    return " ".join(found)
