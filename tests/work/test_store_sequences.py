"""Whatever people do, in whatever order: the tables say what the ledger says, and the ledger verifies.

Each sequence of commands goes through the one write path, against the database; then the ledger's entries are
read back and folded by the rules, and compared with what the tables hold.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from permits.ledger.models import Entry, Head
from permits.ledger.verify import verify
from permits.plant.actions import remove_link, save_link
from permits.work import store
from permits.work.actions import perform, settle_site
from permits.work.models import OutOfUse as Row
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules.evolve import fold
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Permit as State
from permits.work.rules.state import Site
from permits.work.rules.words import OutOfUse
from permits.work.rules.written import KINDS, from_data
from tests.factories_plant import CLERK
from tests.work.conftest import rolled_back
from tests.work.following import following
from tests.work.small_plant import PEOPLE, at, request
from tests.work.small_site import SmallSite, small_site
from tests.work.trying import dangerous

pytestmark = pytest.mark.django_db

SECOND_FEED = {"from": "F2", "to": "DRV"}
WAYS = ("on", "on", "on", "on", "on", "on", "late", "harm", "harm", "out", "plant", "again")
STEPS = st.lists(
    st.tuples(st.sampled_from(WAYS), st.sampled_from(sorted(PEOPLE)), st.integers(0, 30)),
    min_size=15,
    max_size=40,
)


class Sequence:
    """Follows one drawn list of steps at a small site."""

    def __init__(self, small: SmallSite) -> None:
        self.small, self.now, self.fed_twice = small, at(0), False

    def do(self, ask: c.Command) -> None:
        with suppress(Refused):
            perform(site=self.small.site, command=ask, by=self.small.author(ask.by))
        self.now += timedelta(seconds=30)

    def ask_for(self, *zones: str, by: str) -> None:
        asked = request(zones=zones, by=self.small.people[by].ref)
        window = {"starts_at": self.now, "ends_at": self.now + timedelta(hours=6)}
        self.do(replace(asked, at=self.now, **window))

    def everyone_carries_on(self, *, but: tuple[type[c.Ask], ...] = ()) -> None:
        """Each person does what their next step says under each permit; `but` what is left undone."""
        now = store.load(self.small.site)
        for permit in list(now.permits):
            for person in self.small.people.values():
                ask = following(now, permit, person.ref, self.now) if permit in now.permits else None
                if ask is not None and not isinstance(ask, but):
                    self.do(ask)
                    now = store.load(self.small.site)
        self.now += timedelta(minutes=6)

    def step(self, way: str, who: str, number: int) -> None:
        match way:
            case "on":
                self.everyone_carries_on()
            case "late":
                self.now += timedelta(minutes=number * 10)
                settle_site(site=self.small.site, at=self.now)
            case "harm":
                self.harm(who, number)
            case "out":
                for permit in store.load(self.small.site).open:
                    ref = self.small.people[who].ref
                    self.do(c.SignOffCrew(permit=permit.id, by=ref, at=self.now))
            case "plant" if number < 8:
                change = remove_link if self.fed_twice else save_link
                link = {"source": "F2", "target": "DRV"} if self.fed_twice else {"link": SECOND_FEED}
                change(site=self.small.site, **link, by=CLERK, at=self.now)
                self.fed_twice = not self.fed_twice
            case "again":
                self.ask_for("SAW", "OUT", by="odo")

    def harm(self, who: str, number: int) -> None:
        """One of the commands that could take protection away, with the rules deciding."""
        asks = [ask for ask in dangerous(store.load(self.small.site), self.now) if ask.by]
        if asks:
            self.do(asks[number % len(asks)])


def rows_of(site) -> dict[str, State]:
    return {p.id: p for p in store.permits_from(Permit.objects.filter(site=site).order_by("number"))}


def told(site, now: Site) -> Site:
    """The site's permits folded from the ledger's entries alone."""
    state = Site(graph=now.graph, people=now.people)
    for entry in Entry.objects.filter(head=site.head_id, kind__in=KINDS).order_by("number"):
        by = entry.by.removeprefix("person:") if entry.by != "system:clock" else ""
        permit = entry.about.removeprefix("permit:")
        data = json.loads(entry.body)["data"]
        state = fold(state, [from_data(entry.kind, data, permit=permit, by=by, at=entry.at)])
    return state


def compare(site) -> None:
    now = store.load(site)
    state = told(site, now)
    assert rows_of(site) == state.permits
    assert {p.id: p for p in state.open} == now.permits
    assert state.padlock_owners == now.padlock_owners
    assert state.next_number == now.next_number
    assert state.out_of_use == now.out_of_use
    assert verify(Head.objects.get(pk=site.head_id)).ok


@pytest.fixture
def small(db) -> SmallSite:
    return small_site()


def test_the_small_site_is_read_as_the_rules_tests_have_it(small):
    now = store.load(small.site)
    assert now.graph == Site(graph=now.graph, people={}).graph
    assert {p.name for p in now.people.values()} >= {p.name for p in PEOPLE.values()}
    assert set(now.procedures) == {"CUT", "DRILL", "BOARD"}


def test_tables_and_ledger_agree_after_the_next_steps_have_led_to_the_end(small):
    sequence = Sequence(small)
    sequence.ask_for("SAW", "OUT", by="odo")
    sequence.ask_for("NEXT", by="pia")
    for _ in range(60):
        if not store.load(small.site).open:
            break
        sequence.everyone_carries_on()
    assert not store.load(small.site).open
    compare(small.site)


def test_tables_and_ledger_agree_whatever_people_do(small):
    @settings(
        max_examples=6,
        deadline=None,
        phases=[Phase.generate],  # a sequence takes seconds; a failing one is told as it was drawn
        suppress_health_check=list(HealthCheck),
        database=None,
    )
    @given(STEPS)
    def whatever(steps):
        with rolled_back():
            sequence = Sequence(small)
            sequence.ask_for("SAW", "OUT", by="odo")
            sequence.ask_for("NEXT", by="pia")
            for way, who, number in steps:
                sequence.step(way, who, number)
            compare(small.site)

    whatever()


def test_a_machine_out_of_use_is_loaded_so_until_it_is_proven(small):
    """The officer closes P-1 with the correction unproven; P-2 proves the machine and closes."""
    sequence, people = Sequence(small), small.people
    sequence.ask_for("SAW", "OUT", by="odo")
    bring_to_unproven(sequence)
    sequence.do(c.CloseOutOfUse(permit="P-1", by=people["sig"].ref, at=sequence.now, why="faulty drive"))
    assert store.load(small.site).out_of_use == {"CUT": OutOfUse("CUT", "P-1", ("angle",))}
    compare(small.site)
    assert as_the_migration_fills_it(small.site) == {"CUT": OutOfUse("CUT", "P-1", any_axis=True)}
    sequence.ask_for("SAW", "OUT", by="odo")
    prove_in_the_first_job(sequence, "P-2")
    assert store.load(small.site).out_of_use == {}
    compare(small.site)
    assert as_the_migration_fills_it(small.site) == {}


def as_the_migration_fills_it(site) -> dict[str, OutOfUse]:
    """What is out of use, as it is found in entries that named no axis."""
    migration = import_module("permits.work.migrations.0009_what_is_out_of_use_as_entries_tell_it")
    with rolled_back():
        Row.objects.all().delete()
        migration.fill(apps, None)
        return store.out_of_use_of(site)


def job_of(sequence, permit):
    p = store.load(sequence.small.site).permits.get(permit)
    return p.open_jobs[0][1] if p is not None and p.open_jobs else None


def bring_to_unproven(sequence) -> None:
    """Until a job is open; then a correction, hand-back and power back, without the as-left check."""
    people = sequence.small.people
    while not job_of(sequence, "P-1"):
        sequence.everyone_carries_on()
    who = {"permit": "P-1", "by": people["odo"].ref}
    sequence.do(c.CorrectAxis(**who, at=sequence.now, job=1, axis="angle"))
    sequence.do(c.SignOffCrew(**who, at=sequence.now))
    sequence.do(c.HandBack(
        **who, at=sequence.now, machine_whole=True, guards_on=True, tools_out=True, people_out=True,
        standstill=True, neutral=True,
    ))  # fmt: skip
    while store.load(sequence.small.site).permits["P-1"].reenergised_at is None:
        sequence.everyone_carries_on()


def prove_in_the_first_job(sequence, permit: str) -> None:
    odo = sequence.small.people["odo"].ref
    while permit in store.load(sequence.small.site).permits:
        assert sequence.now < at(1200)
        if job_of(sequence, permit):
            sequence.do(c.ProveAxis(permit=permit, by=odo, at=sequence.now, job=1, axis="angle"))
            sequence.everyone_carries_on()
        else:
            sequence.everyone_carries_on(but=(c.CloseJob,))
