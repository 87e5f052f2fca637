"""The site's own numbers in words: every field described, its range kept by the database too."""

import dataclasses
from dataclasses import replace

import pytest
from django.db.models import CheckConstraint, Q

from permits.work.models import SitePolicy
from permits.work.rules.clauses import Clause, Own, Sure
from permits.work.rules.policy import OF_FIELD, SETTINGS, against_changing, as_data, changed
from permits.work.rules.words import Policy

NUMBERS = [setting for setting in SETTINGS if not setting.is_switch]


def codes(before, after, shown=None):
    return [unmet.code for unmet in against_changing(before, after, shown)]


def test_every_field_is_described_once():
    assert [s.field for s in SETTINGS] == list(OF_FIELD)
    assert set(OF_FIELD) == {field.name for field in dataclasses.fields(Policy)}


def ranges_in_the_tables():
    """Field → (least, most) of the model's constraints."""
    found = {}
    for constraint in SitePolicy._meta.constraints:
        assert isinstance(constraint, CheckConstraint)
        for child in constraint.condition.children if isinstance(constraint.condition, Q) else ():
            field, _, how = child[0].partition("__")
            assert how == "range"
            found[field] = child[1]
    return found


def test_the_tables_keep_the_same_ranges():
    assert ranges_in_the_tables() == {s.field: (s.least, s.most) for s in NUMBERS}


def test_the_tables_begin_with_the_same_defaults():
    for setting in SETTINGS:
        assert SitePolicy._meta.get_field(setting.field).default == setting.default


def test_each_says_what_it_is_for_and_how_it_stands_beside_the_law():
    for setting in SETTINGS:
        assert setting.allows(setting.default)
        assert setting.what_for.endswith(".")
        assert setting.more_than_law.endswith(".")
        assert setting.ground is Own.SITE_POLICY or isinstance(setting.ground, Clause)


def test_going_on_testing_what_can_build_up_again_is_law():
    # 29 CFR 1910.147(d)(5)(ii): where stored energy can re-accumulate, verification continues until the work
    # is done or the possibility is gone.
    ground = OF_FIELD["recheck_minutes"].ground
    assert isinstance(ground, Clause)
    assert (ground.cite, ground.sure) == ("29 CFR 1910.147(d)(5)(ii)", Sure.READ)


@pytest.mark.parametrize("setting", NUMBERS, ids=lambda s: s.field)
def test_a_number_stays_in_its_range(setting):
    for value in (setting.least, setting.most):
        chosen = replace(Policy(own_issue=True), **{setting.field: value})
        assert codes(Policy(), chosen) == []
    for value in (setting.least - 1, setting.most + 1):
        (unmet,) = against_changing(Policy(), replace(Policy(), **{setting.field: value}))
        assert unmet.code == "out-of-range"
        assert f"is {value}; a site may choose {setting.least} to {setting.most} {setting.unit}" in unmet.what


def test_a_switch_is_no_number():
    assert codes(Policy(), replace(Policy(), own_issue=1)) == ["out-of-range"]
    assert codes(Policy(), replace(Policy(), clear_minutes=True)) == ["out-of-range"]


def test_what_changes_nothing_is_refused():
    assert codes(Policy(), Policy()) == ["nothing-changes"]
    assert codes(Policy(clear_minutes=5), Policy()) == []


def test_numbers_that_another_changed_meanwhile_are_named():
    shown, now = Policy(), Policy(clear_minutes=5)
    (unmet,) = against_changing(now, Policy(permit_hours=8), shown)
    assert unmet.code == "numbers-moved-on"
    assert "A clear confirmation stays fresh for: 5 minutes." in unmet.what
    assert codes(now, Policy(clear_minutes=5, permit_hours=8), now) == []


def test_values_read_as_words():
    assert OF_FIELD["permit_hours"].shown(1) == "1 hour"
    assert OF_FIELD["clear_minutes"].shown(10) == "10 minutes"
    assert OF_FIELD["recheck_minutes"].shown(0) == "each store's own interval"
    assert OF_FIELD["own_issue"].shown(True) == "yes"
    assert OF_FIELD["own_issue"].range == "yes or no"


def test_an_entry_holds_whole_numbers_and_yes_or_no():
    assert as_data(Policy()) == {
        "clear_minutes": 10, "permit_hours": 12, "test_hours": 4, "own_issue": False, "recheck_minutes": 0,
    }  # fmt: skip
    assert [s.field for s in changed(Policy(), Policy(test_hours=2, own_issue=True))] == [
        "test_hours", "own_issue",
    ]  # fmt: skip
