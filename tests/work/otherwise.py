"""Commands for what goes otherwise on the small plant: stops, handovers, absent people, amendments, paper."""

from __future__ import annotations

from dataclasses import replace

from permits.plant.rules.energy import Kind, Link, Node
from permits.work.rules import commands as c
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.state import Person, Site
from permits.work.rules.words import BOX
from tests.work.small_plant import QUALIFIED, SITE, at, with_graph

# A second officer, so that no officer is alone with an absent person's lock, and a second gate to the yard.
TWO_OFFICERS = replace(
    SITE, people={**SITE.people, "ida": Person("ida", "Ida Officer", frozenset({"officer"}))}
)

LOCKABLE_FEED = (
    Node("F3", Kind.SUPPLY, "Second feeder", machine="CUT"),
    Node("Q3", Kind.ISOLATOR, "Second switch", sequence=15, machine="CUT"),
    Link("F3", "Q3"),
    Link("Q3", "DRV"),
)


def fed_twice(site: Site, when: float = 30) -> Site:
    """A second feed of the drive is found, with a switch in it; what that does has happened."""
    found = with_graph(site, *LOCKABLE_FEED)
    return fold(found, plant_changed(found, at(when), "sig"))


def stop(when: float = 30, permit: str = "P-1", *, by: str = "ola", why: str = "smoke") -> c.StopWork:
    return c.StopWork(permit=permit, by=by, at=at(when), why=why)


def suspend(when: float = 30, *, by: str = "odo", why: str = "lightning") -> c.SuspendPermit:
    return c.SuspendPermit(permit="P-1", by=by, at=at(when), why=why)


def lift(when: float = 40, permit: str = "P-1", *, by: str = "sig", how: str = "looked at") -> c.LiftHalt:
    return c.LiftHalt(permit=permit, by=by, at=at(when), how=how)


def emergency(when: float = 30, *, by: str = "sig", why: str = "fire in hall 2") -> c.DeclareEmergency:
    return c.DeclareEmergency(by=by, at=at(when), why=why)


def end_emergency(when: float = 40, *, by: str = "sig", how: str = "put out") -> c.EndEmergency:
    return c.EndEmergency(by=by, at=at(when), how=how)


def offer(to: str = "pia", when: float = 30, *, by: str = "odo") -> c.OfferHandover:
    return c.OfferHandover(permit="P-1", by=by, at=at(when), to=to)


def name_holder(
    to: str = "pia", when: float = 30, *, by: str = "sig", why: str = "went home ill"
) -> c.NameHolder:
    return c.NameHolder(permit="P-1", by=by, at=at(when), to=to, why=why)


def withdraw(when: float = 31, *, by: str = "odo") -> c.WithdrawHandover:
    return c.WithdrawHandover(permit="P-1", by=by, at=at(when), why="stays on")


def take_over(when: float = 35, *, by: str = "pia", knows: bool = True) -> c.AcceptHandover:
    return c.AcceptHandover(
        permit="P-1", by=by, at=at(when), knows_energies=knows, knows_hazards=True, knows_control=True
    )


def absent(
    where: str = BOX,
    owner: str = "odo",
    when: float = 40,
    *,
    by: str = "sig",
    second: str = "maud",
    not_on_site: str = "gate list",
    tried: str = "telephone, wife",
    searched: str = "by Sig and Maud",
) -> c.TakeOffForAbsent:
    return c.TakeOffForAbsent(
        permit="P-1", by=by, at=at(when), where=where, owner=owner, second=second, not_on_site=not_on_site,
        tried=tried, searched=searched,
    )  # fmt: skip


def told_back(
    person: str = "odo", when: float = 60, *, by: str = "sig", how: str = "at the gate"
) -> c.TellReturned:
    return c.TellReturned(by=by, at=at(when), person=person, how=how)


def amend(
    when: float = 41, *, lock: tuple[str, ...] = ("Q3",), release: tuple[str, ...] = (), by: str = "maud",
    why: str = "the second feed",
) -> c.AmendPlan:  # fmt: skip
    return c.AmendPlan(permit="P-1", by=by, at=at(when), lock=lock, release=release, why=why)


def acknowledge(notice: int = 0, when: float = 20, *, by: str = "ola") -> c.AcknowledgeNotice:
    return c.AcknowledgeNotice(permit="P-1", by=by, at=at(when), notice=notice)


def on_paper(
    when: float = 60, *, since: float = 30, by: str = "sig", why: str = "no power"
) -> c.DeclarePaper:
    return c.DeclarePaper(by=by, at=at(when), since=at(since), why=why)


def late(
    what: c.LateCommand, when: float = 61, *, happened: float = 40, by: str = "odo", second: str = "hal",
    form: str = "F-7",
) -> c.EnterLate:  # fmt: skip
    return c.EnterLate(
        permit=what.permit, by=by, at=at(when), what=what, happened_at=at(happened), second=second, form=form
    )


def off_paper(
    when: float = 70, *, by: str = "sig", how: str = "forms 7 to 9", all_out: bool = True
) -> c.EndPaper:
    return c.EndPaper(by=by, at=at(when), how=how, all_inside_signed_on=all_out)


def with_shift(site: Site) -> Site:
    """Two more of the next shift, both qualified: Una and Vic."""
    more = {ref: Person(ref, name, frozenset({"technician"}), QUALIFIED) for ref, name in NEXT_SHIFT.items()}
    return replace(site, people={**site.people, **more})


NEXT_SHIFT = {"una": "Una Nextshift", "vic": "Vic Nextshift"}
