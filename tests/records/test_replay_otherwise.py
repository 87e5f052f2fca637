"""Replaying a ledger in which everything went otherwise; rows changed behind its back are named."""

from importlib import import_module
from io import StringIO

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import transaction

from permits.records.replay import replay
from permits.work.models import Acknowledgement, Halt, OutOfUse, SiteStanding, Untold
from permits.work.rules import commands as c
from tests.records import job as jobs
from tests.records.otherwise import of_site, otherwise, stop, told_back

pytestmark = pytest.mark.django_db


@pytest.fixture
def gone(job):
    """A permit after all of it, and another one at work that is stopped by an emergency not yet ended."""
    otherwise(job)
    other = jobs.Job(job.site, job.at(), holder="eleni", crew=())
    jobs.accepted(other)
    stop(other)
    of_site(other, c.DeclareEmergency, "maud", why="Fire in hall 2")
    of_site(other, c.DeclarePaper, "maud", since=other.at(), why="No power in the server room")
    return other


def test_the_ledger_gives_the_tables_again(gone):
    done = replay(gone.site)
    assert done.differences == []
    assert done.permits == 2
    assert {row.kind for row in Halt.objects.all()} == {"stop", "suspension", "emergency"}
    assert list(Untold.objects.values_list("person", "permit")) == [(gone.ref("odo"), "P-1")]
    standing = SiteStanding.objects.get(site=gone.site)
    assert (standing.emergency["why"], standing.paper["why"]) == (
        "Fire in hall 2",
        "No power in the server room",
    )
    assert Acknowledgement.objects.count() == 2


def test_it_does_so_after_everything_is_over_too(gone):
    told_back(gone, "odo")
    of_site(gone, c.EndPaper, "maud", how="Nothing was on paper", all_inside_signed_on=True)
    of_site(gone, c.EndEmergency, "torvald", how="Put out")
    gone.do(c.LiftHalt, "maud", how="Looked at, nothing burnt")
    assert replay(gone.site).differences == []
    assert not Untold.objects.exists()
    assert not Halt.objects.filter(lifted_at=None).exists()


def test_a_site_from_before_is_told_of_each_permit_as_its_entries_tell_it(gone):
    """One row a person was kept, of the latest permit, or none of an earlier one."""
    migration = import_module("permits.work.migrations.0012_who_is_to_be_told_as_entries_tell_it")
    Untold.objects.update(permit="P-2")
    assert replay(gone.site).differences
    migration.fill(apps, None)
    assert replay(gone.site).differences == []
    Untold.objects.create(site=gone.site, person=gone.ref("odo"), permit="P-2")
    migration.keep_the_latest(apps, None)
    assert list(Untold.objects.values_list("permit", flat=True)) == ["P-2"]


CHANGES = [
    (lambda: SiteStanding.objects.update(emergency=None), "whole site: emergency is None in the tables"),
    (lambda: SiteStanding.objects.update(paper=None), "whole site: paper is None in the tables"),
    (lambda: SiteStanding.objects.all().delete(), "whole site: emergency is None in the tables"),
    (lambda: Untold.objects.all().delete(), "whole site: untold is {} in the tables"),
    (
        lambda: OutOfUse.objects.create(
            site=SiteStanding.objects.get().site,
            machine="C1",
            permit="P-1",
            axes=[],
            defects=[],
            any_axis=True,
        ),
        "whole site: out_of_use is {",
    ),
    (lambda: Untold.objects.update(permit="P-2"), "whole site: untold is {"),
    (
        lambda: Halt.objects.filter(permit__reference="P-2", n=0).update(why="Nothing"),
        "permit P-2: halts[0] is",
    ),
    (
        lambda: Halt.objects.filter(permit__reference="P-2", n=1).delete(),
        "permit P-2: halts has 1 items",
    ),
    (
        lambda: Acknowledgement.objects.filter(permit__reference="P-2").delete(),
        "permit P-2: acknowledgements has 0 items",
    ),
]


def test_a_row_changed_by_hand_is_named(gone, owner):
    for change, words in CHANGES:
        change_back = transaction.savepoint()
        change()
        out = StringIO()
        with pytest.raises(CommandError) as stopped:
            call_command("replay_ledger", stdout=out)
        assert stopped.value.returncode == 1
        assert f"DIFFERENT: {words}" in out.getvalue()
        transaction.savepoint_rollback(change_back)
    assert replay(gone.site).differences == []
