"""One permit from its first ledger entry to its last, as values. The page and the print both show this.

Everything is read from the ledger; the tables are asked only for names, for the plant, and, while the permit
is open, for what fell due since its last entry.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from permits.people.models import Site
from permits.records import statements, tables
from permits.records.account import Account, account_of
from permits.records.entries import PERMIT, Told, told_about
from permits.records.exceptions import Found, What, found_in
from permits.records.jobs import JobAccount, jobs_in
from permits.records.late import Late, late_in, late_in_full
from permits.records.names import Names, names_for
from permits.records.scope import facts_of, hazards_of, other_permits, parts_played
from permits.records.telling import Voice, tell
from permits.records.times import Clock
from permits.records.watch import clear_minutes_at_first, exceptions_at, touching
from permits.work import queries as work
from permits.work.rules.written import WHOLE_SITE


@dataclass(frozen=True, slots=True)
class StoryLine:
    """One entry. `time` is local with its distance from UTC; `signed`: what its signature means.

    `signers`: who signed; `late`: when it really happened and whose word that is, if it was on paper.
    """

    number: int
    at: datetime
    time: str
    kind: str
    what: str
    detail: str
    who: str
    device: str
    signed: str
    exception: str
    digest: str
    late: str = ""
    signers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Raised:
    """An exception or a note as it is shown. `permit`: whose, "" where it is the site's.

    `is_open`: something is still owed to a person, see exceptions.found.
    """

    what: What
    word: str
    number: int
    permit: str
    time: str
    sentence: str
    detail: str
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Story:
    """`state` and `word`: for the eye and for reading. Between its entries others of the site may lie."""

    site: str
    ledger: str
    reference: str
    title: str
    state: str
    word: str
    is_over: bool
    clock: Clock
    facts: list[tuple[str, str]]
    hazards: list[tuple[str, str]]
    others: list[str]
    people: list[tuple[str, str]]
    lines: list[StoryLine]
    exceptions: list[Raised]
    notes: list[Raised]
    around: list[Raised]
    points: list[tables.PointRow] = field(default_factory=list)
    locks: list[tables.HeldRow] = field(default_factory=list)
    releases: list[tables.HeldRow] = field(default_factory=list)
    tests: list[tables.TestRow] = field(default_factory=list)
    crew: list[tables.HeldRow] = field(default_factory=list)
    notices: list[statements.WordRow] = field(default_factory=list)
    checks: list[statements.WordRow] = field(default_factory=list)
    defects: list[statements.DefectRow] = field(default_factory=list)
    confirmations: list[statements.WordRow] = field(default_factory=list)
    sanctions: list[statements.SanctionRow] = field(default_factory=list)
    jobs: list[JobAccount] = field(default_factory=list)
    halts: list[statements.WordRow] = field(default_factory=list)
    amendments: list[statements.WordRow] = field(default_factory=list)
    returns: list[statements.WordRow] = field(default_factory=list)
    signatures: list[statements.SignatureRow] = field(default_factory=list)
    account: Account | None = field(default=None, repr=False)
    names: Names = field(default_factory=Names, repr=False)

    @property
    def first(self) -> int:
        return self.lines[0].number

    @property
    def last(self) -> int:
        return self.lines[-1].number

    @property
    def last_digest(self) -> str:
        return self.lines[-1].digest

    @property
    def entries(self) -> str:
        """ "Entries 12 to 96 of ledger QUILLFEN"."""
        return f"Entries {self.first} to {self.last} of ledger {self.ledger}"


def story_of(site: Site, reference: str, at: datetime) -> Story | None:
    """The permit's story as it is at `at`; None where the site's ledger has no entry about it."""
    told = told_about(site.head_id, PERMIT + reference)
    if not told:
        return None
    account = account_of(told)
    site_exceptions = [one for one in exceptions_at(site) if one.what.is_around]
    is_over = account is not None and account.permit.phase.is_over
    around = around_of(site_exceptions, told, account, is_over=is_over)
    others = other_permits(site, account, told)
    site_wide = told_about(site.head_id, WHOLE_SITE)
    names = names_for(
        site,
        [*told, *site_wide, *(one.told for one in around)],
        more_people=[other.holder or other.requested_by for other in others],
    )
    clock = Clock.of(site.zone, site.timezone, [one.at for one in told])
    voice = Voice(names, clock)
    found = found_in(told, clear_minutes=clear_minutes_at_first(site, site_wide), site_wide=site_wide)
    late = late_in(told)
    state, word = state_of(site, account, at)
    parts = parts_of(account, told, voice) if account is not None else {}
    touched = with_site_wide(told, around)
    return Story(
        site=site.name,
        ledger=site.code,
        reference=reference,
        title=f"{account.permit.kind_of_work}: {account.permit.reason}" if account else "",
        state=state,
        word=word,
        is_over=is_over,
        clock=clock,
        facts=facts_of(site, account, voice) if account else [],
        hazards=hazards_of(account, names) if account else [],
        others=[other.said(names) for other in others],
        people=parts_played(told, names),
        lines=[line_of(one, voice, [f for f in found if f.told is one], late) for one in told],
        exceptions=in_order(raised(one, voice) for one in found if not one.what.is_note),
        notes=in_order(raised(one, voice) for one in found if one.what.is_note),
        around=[raised(one, voice) for one in around],
        halts=statements.halts(touched, voice),
        amendments=statements.amendments(touched, voice),
        account=account,
        names=names,
        **parts,
    )


def with_site_wide(told: Sequence[Told], around: Iterable[Found]) -> list[Told]:
    """The permit's entries with those about the whole site that touched it, in the ledger's order."""
    wide = (one.told for one in around if one.told.about == WHOLE_SITE)
    return sorted((*told, *wide), key=lambda one: one.number)


def parts_of(account: Account, told: Sequence[Told], voice: Voice) -> dict[str, list[Any]]:
    """The tables of a story, by the names of its fields."""
    return {
        "points": tables.points(account, voice),
        "locks": tables.locks(account, voice),
        "releases": tables.releases(account, voice),
        "tests": tables.tests(account, voice),
        "crew": tables.crew(account, voice),
        "notices": statements.notices(account, voice),
        "checks": statements.checks(account, voice),
        "defects": statements.defects(account, voice),
        "confirmations": statements.confirmations(told, voice),
        "sanctions": statements.sanctions(account, told, voice),
        "jobs": jobs_in(told, voice),
        "returns": statements.returns(told, voice),
        "signatures": statements.signatures(told, voice),
    }


def state_of(site: Site, account: Account | None, at: datetime) -> tuple[str, str]:
    """The permit's state for the eye and its word; in an open one what fell due since counts."""
    if account is None:
        return "info", "Cannot be read"
    if account.permit.phase.is_over:
        return work.badge(account.permit)
    seen = work.look(site, account.permit.id, at)
    return work.badge(seen.permit if seen else account.permit)


def around_of(
    found: list[Found], told: Sequence[Told], account: Account | None, *, is_over: bool
) -> list[Found]:
    """What happened around the permit while it ran, to its people, its points, its machines' procedures."""
    if account is None:
        return []
    p = account.permit
    people = {p.holder, p.issuer, p.requested_by, *p.crew_named, *(one.person for one in told)} - {""}
    return list(
        touching(
            found,
            first=told[0].number,
            last=told[-1].number if is_over else None,
            people=people,
            points=set(p.points),
            machines={machine for machine, _ in p.procedures},
        )
    )


def line_of(told: Told, voice: Voice, found: Sequence[Found], late: Late) -> StoryLine:
    line = tell(told, voice)
    words = [one.words for one in found if not one.what.is_note]
    return StoryLine(
        number=told.number,
        at=told.at,
        time=voice.clock.full(told.at),
        kind=told.kind,
        what=line.what,
        detail=line.detail,
        who=author_of(told, voice.names),
        device=voice.names.author(told.device) if told.device else "",
        signed=statements.signed(told, late, voice),
        exception=", ".join(words),
        digest=told.digest,
        late=late_in_full(told.number, late, voice),
        signers=statements.signers(told, voice),
    )


def author_of(told: Told, names: Names) -> str:
    renamed = " (renamed since)" if names.was_renamed(told) else ""
    return names.author(told.by) + renamed


def raised(found: Found, voice: Voice) -> Raised:
    """An exception with its entry's own sentence."""
    line = tell(found.told, voice)
    return Raised(
        what=found.what,
        word=found.words,
        number=found.told.number,
        permit=found.told.permit,
        time=voice.clock.full(found.told.at),
        sentence=line.what,
        detail=" ".join(filter(None, (found.why(voice), line.detail))),
        is_open=found.is_open,
    )


def in_order(items: Iterable[Raised]) -> list[Raised]:
    """What was changed, then what is still open, then the gravest kinds; each kind as its entries come."""
    order = list(What)

    def rank(one: Raised) -> tuple[bool, bool, int, int]:
        return one.what is not What.CHANGED_ENTRY, not one.is_open, order.index(one.what), one.number

    return sorted(items, key=rank)
