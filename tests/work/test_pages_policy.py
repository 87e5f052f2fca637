"""The site's own numbers: everyone reads them, an officer changes them, and they hold at once."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils.timezone import now

from permits.ledger.models import Entry
from permits.work import actions
from permits.work.models import SitePolicy
from permits.work.queries import settled
from permits.work.rules import commands as c
from permits.work.rules.against import not_clear
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.policy import as_data
from permits.work.rules.refusal import Refused
from permits.work.rules.words import Policy
from permits.work.store import policy_of
from tests.work.reading_pages import text_of

CHANGE = "/policy/change/"


@pytest.fixture
def maud(works, phone):
    return phone("maud")


def posted(shown=None, key=None, **changes):
    """What the form posts: a switch that is off sends nothing."""
    shown = shown or Policy()
    values = {**as_data(shown), **changes}
    if not values["own_issue"]:
        del values["own_issue"]
    return {"key": str(key or uuid4()), "shown": json.dumps(as_data(shown)), **values}


def entries(site):
    return Entry.objects.filter(head=site.head_id, kind="SITE_POLICY_CHANGED")


def data_of(entry):
    return json.loads(entry.body)["data"]


# ── reading ─────────────────────────────────────────────────────────────────────────────────────────────


def test_everyone_reads_each_number_with_default_range_and_ground(works, phone):
    page = text_of(phone("odo").get("/policy/"))
    assert "A clear confirmation stays fresh for" in page
    assert "10 minutes, as here" in page
    assert "1 to 60 minutes" in page
    assert "The law asks to go on testing, and names no interval." in page
    assert "29 CFR 1910.147(d)(5)(ii)" in page
    assert "Nobody has changed them yet." in page
    assert "Change the numbers" not in page


def test_only_an_officer_is_offered_the_change(maud):
    page = text_of(maud.get("/policy/"))
    assert "Change the numbers" in page
    assert "How this site measures" in page


# ── changing ────────────────────────────────────────────────────────────────────────────────────────────


def test_an_officer_changes_numbers_and_the_ledger_keeps_both(works, maud, person):
    answer = maud.post(CHANGE, posted(clear_minutes=5, recheck_minutes=30))
    assert (answer.status_code, answer.url) == (302, "/policy/")
    assert policy_of(works) == Policy(clear_minutes=5, recheck_minutes=30)
    (entry,) = entries(works)
    assert (entry.about, entry.by) == ("site", person("maud").about)
    before = {
        "clear_minutes": 10, "permit_hours": 12, "test_hours": 4, "own_issue": False, "recheck_minutes": 0,
    }  # fmt: skip
    assert data_of(entry) == {
        "before": before,
        "after": {**before, "clear_minutes": 5, "recheck_minutes": 30},
    }
    page = text_of(maud.get("/policy/"))
    assert "They hold from now on, for open permits as well." in page
    assert f"Last changed by {person('maud').name} on" in page
    assert f"entry {entry.number}" in page


def test_a_request_that_is_sent_twice_changes_once(works, maud):
    sent = posted(clear_minutes=5)
    assert maud.post(CHANGE, sent).status_code == 302
    assert maud.post(CHANGE, sent).status_code == 302
    assert entries(works).count() == 1


def test_the_same_key_given_to_the_action_changes_once(works, person):
    key, by = uuid4(), person("maud").author
    for minutes in (5, 6):
        actions.set_policy(site=works, chosen=Policy(clear_minutes=minutes), by=by, at=now(), key=key)
    assert policy_of(works).clear_minutes == 5


def test_what_changes_nothing_is_refused(works, maud):
    answer = maud.post(CHANGE, posted())
    assert answer.status_code == 409
    assert "Every number is as it was." in text_of(answer)
    assert entries(works).count() == 0
    assert not SitePolicy.objects.filter(site=works).exists()


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("clear_minutes", "90", "90 is too much; a whole number from 1 to 60 would be right."),
        ("clear_minutes", "0", "0 is too little; a whole number from 1 to 60 would be right."),
        ("permit_hours", "2.5", "Not a whole number; a whole number from 1 to 72 would be right."),
        ("test_hours", "", "Nothing is entered; a whole number from 1 to 24 would be right."),
        ("recheck_minutes", "1441", "1441 is too much; a whole number from 0 to 1440 would be right."),
    ],
)
def test_what_is_out_of_range_is_said_and_what_was_typed_stays(works, maud, field, typed, says):
    answer = maud.post(CHANGE, posted(own_issue="on", **{field: typed}))
    assert answer.status_code == 422
    assert says in text_of(answer)
    form = answer.context["form"]
    assert form[field].value() == typed
    assert form["own_issue"].value() is True
    assert entries(works).count() == 0


def test_an_action_that_is_called_with_a_number_out_of_range_writes_nothing(works, person):
    with pytest.raises(Refused) as refused:
        actions.set_policy(
            site=works, chosen=Policy(clear_minutes=61), by=person("maud").author, at=now()
        )  # fmt: skip
    assert refused.value.codes == {"out-of-range"}
    assert entries(works).count() == 0


@pytest.mark.parametrize("shown", ["", "[]", "{", '{"minutes": 1}', "7"])
def test_a_damaged_page_is_told_so(works, maud, shown):
    answer = maud.post(CHANGE, posted(clear_minutes=5) | {"shown": shown})
    assert answer.status_code == 422
    assert "load the page again" in text_of(answer)
    assert entries(works).count() == 0


def test_an_older_page_does_not_undo_what_another_officer_changed(works, maud, person):
    actions.set_policy(
        site=works, chosen=Policy(clear_minutes=5), by=person("torvald").author, at=now()
    )  # fmt: skip
    answer = maud.post(CHANGE, posted(permit_hours=8))
    assert answer.status_code == 409
    page = text_of(answer)
    assert "Someone changed the site's numbers since this page was shown." in page
    assert "A clear confirmation stays fresh for: 5 minutes" in page
    assert policy_of(works) == Policy(clear_minutes=5)
    again = {name: answer.context["form"][name].value() for name in ("key", "shown")}
    assert json.loads(again["shown"])["clear_minutes"] == 5
    sent = posted(Policy(clear_minutes=5), permit_hours=8) | again
    assert maud.post(CHANGE, sent).status_code == 302
    assert policy_of(works) == Policy(clear_minutes=5, permit_hours=8)


def test_own_issue_is_warned_of_where_it_is_switched_on_and_while_it_is(works, maud):
    page = text_of(maud.post(CHANGE, posted(own_issue="on"), follow=True))
    assert "Issuer and holder may be one person now. Each permit that one person both issues" in page
    page = text_of(maud.get("/policy/"))
    assert "Issuer and holder may be one person here." in page


# ── at once ─────────────────────────────────────────────────────────────────────────────────────────────


def stale(site, reference, at):
    """Does a clear confirmation of the permit have to be given again?"""
    seen = settled(site, at)
    permit = seen.permits[reference]
    unmet = not_clear(seen, permit, areas_to_confirm(seen, permit), at)
    return "confirmation-stale" in {one.code for one in unmet}


def test_a_shorter_freshness_holds_for_an_open_permit_at_once(job, works, person):
    job.to("cleared")
    later = job.at + timedelta(minutes=6)
    assert not stale(works, job.id, later)
    actions.set_policy(site=works, chosen=Policy(clear_minutes=5), by=person("maud").author, at=job.at)
    assert stale(works, job.id, later)


def refused_to_issue_to_oneself(works, job, issuer):
    command = c.IssuePermit(permit=job.id, by=issuer.ref, at=now(), holder=issuer.ref)
    with pytest.raises(Refused) as refused:
        actions.perform(site=works, command=command, by=issuer.author)
    return refused.value.codes


def test_own_issue_holds_for_a_permit_that_is_open_already(job, works, person):
    job.to("asked")
    issuer = person("szczesny")
    assert "own-issue" in refused_to_issue_to_oneself(works, job, issuer)
    actions.set_policy(site=works, chosen=Policy(own_issue=True), by=person("maud").author, at=now())
    left = refused_to_issue_to_oneself(works, job, issuer)
    assert left  # an issuer who is no technician still holds nothing
    assert "own-issue" not in left


def test_what_fell_due_before_is_written_before_the_change(job, works, person):
    job.to("accepted")
    over = job.row.ends_at + timedelta(minutes=1)
    actions.set_policy(site=works, chosen=Policy(permit_hours=24), by=person("maud").author, at=over)
    written = Entry.objects.filter(head=works.head_id).order_by("-number").values_list("kind", flat=True)
    assert list(written[:2]) == ["SITE_POLICY_CHANGED", "PERMIT_EXPIRED"]
