"""Verification finds what a database's owner did without the triggers, and names the first bad entry."""

import json
from datetime import timedelta
from uuid import UUID, uuid4

import pytest

from permits.ledger import verify as verifying
from permits.ledger.body import body_digest
from permits.ledger.canonical import canonical
from permits.ledger.models import Entry, Head, Receipt
from permits.ledger.pen import open_ledger, writing
from permits.ledger.verify import verify
from tests.ledger.conftest import ODO, SEVEN, on_sqlite

pytestmark = pytest.mark.django_db


def number(head, number):
    return Entry.objects.filter(head=head, number=number)


def forge(head, place, *, rehash=True, **members):
    """Rewrite the body of entry `place`, its digest and its columns as well as a clever owner would."""
    entry = number(head, place).get()
    body = canonical(json.loads(entry.body) | members)
    columns = {name: members[name] for name in ("kind", "about", "by", "previous") if name in members}
    if rehash:
        columns["digest"] = body_digest(body)
    number(head, place).update(body=body.decode(), **columns)


def found(head, at, words):
    verdict = verify(head)
    assert not verdict.ok
    assert words in verdict.what
    assert verdict.first_bad == at
    assert verdict.entries == at - 1
    return verdict


def test_a_sound_ledger_is_sound(five):
    verdict = verify(five)
    assert (verdict.ok, verdict.entries, verdict.first_bad) == (True, 5, None)


def test_an_empty_ledger_is_sound(head):
    assert (verify(head).ok, verify(head).entries) == (True, 0)


@pytest.mark.parametrize("place", [1, 3, 5])
def test_a_changed_body_is_found(five, owner, place):
    forge(five, place, rehash=False, data={"point": "Q9"})
    found(five, place, "it was changed: its body doesn't have the digest beside it")


def test_one_changed_character_is_found(five, owner):
    entry = number(five, 2).get()
    number(five, 2).update(body=entry.body.replace("off", "oft"))
    found(five, 2, "it was changed")


@pytest.mark.parametrize("place", [1, 3, 4])
def test_an_entry_replaced_with_its_digest_is_found_by_what_follows(five, owner, place):
    forge(five, place, data={"point": "Q9"})
    found(five, place, "it was replaced")


def test_the_last_entry_replaced_with_its_digest_is_found_by_the_head_row(five, owner):
    forge(five, 5, data={"point": "Q9"})
    found(five, 5, "the head row has another digest")


def test_an_entry_that_follows_nothing_is_found(five, owner):
    forge(five, 3, previous="e" * 64)
    found(five, 3, "it doesn't follow the entry before it")


def test_a_first_entry_that_follows_something_is_found(five, owner):
    forge(five, 1, previous="e" * 64)
    found(five, 1, "it doesn't follow")


@pytest.mark.parametrize("place", [1, 3, 4])
def test_a_missing_entry_is_found(five, owner, place):
    number(five, place)._raw_delete("default")
    found(five, place, f"entry {place} is missing: the next one there is entry {place + 1}")


def test_several_missing_entries_are_found(five, owner):
    Entry.objects.filter(head=five, number__in=[2, 3])._raw_delete("default")
    found(five, 2, "entries 2 to 3 are missing")


def test_a_missing_entry_is_found_though_the_rest_was_renumbered(five, owner):
    number(five, 3)._raw_delete("default")
    number(five, 4).update(number=3)
    number(five, 5).update(number=4)
    found(five, 3, "reordered: in its place stands entry 4")


def test_a_missing_tail_is_found(five, owner):
    Entry.objects.filter(head=five, number__gt=3)._raw_delete("default")
    found(five, 4, "the tail is missing: the head row counts 5 entries, 3 are there")


def test_a_ledger_emptied_is_found(five, owner):
    Entry.objects.filter(head=five)._raw_delete("default")
    found(five, 1, "the tail is missing")


def test_a_missing_tail_with_the_head_set_back_is_found_by_a_receipt(five, owner):
    key = UUID("0c9d8f5e-2f0e-4b53-9a38-0a8d6e1d9f11")
    with writing(five.pk, by=ODO, at=SEVEN + timedelta(hours=1), key=key) as pen:
        pen.write("noted", "permit:P-1", {})
    third = number(five, 3).get()
    Entry.objects.filter(head=five, number__gt=3)._raw_delete("default")
    Head.objects.filter(pk=five.pk).update(number=3, digest=third.digest, last_at=third.at)
    found(five, 4, "a receipt names entry 6")


@pytest.fixture
def receipts(five):
    """Entries 6 and 7 under one key, entry 8 under another."""
    for hour, entries in ((1, 2), (2, 1)):
        with writing(five.pk, by=ODO, at=SEVEN + timedelta(hours=hour), key=uuid4()) as pen:
            for _ in range(entries):
                pen.write("noted", "permit:P-1", {})
    assert verify(five).ok
    return Receipt.objects.filter(head=five)


@pytest.mark.parametrize(("first", "said"), [(7, 7), (6, 6), (1, 6)])
def test_receipts_that_share_an_entry_are_found(five, receipts, owner, first, said):
    receipts.filter(first=8).update(first=first)
    verdict = verify(five)
    assert (verdict.ok, verdict.entries, verdict.first_bad) == (False, 8, None)
    assert f"two receipts name entry {said}" in verdict.what


def test_a_receipt_with_another_time_than_its_last_entry_is_found(five, receipts, owner):
    receipts.filter(first=6).update(at=SEVEN)
    verdict = verify(five)
    assert (verdict.ok, verdict.entries, verdict.first_bad) == (False, 8, None)
    assert verdict.what == "the receipt of entry 7 has another time than that entry"


def test_receipts_of_another_ledger_are_none_of_this_ones(five, receipts):
    other = open_ledger("second plant")
    with writing(other.pk, by=ODO, at=SEVEN, key=uuid4()) as pen:
        pen.write("noted", "permit:P-1", {})
    assert verify(other).ok
    assert verify(five).ok


def test_a_receipt_whose_last_entry_fell_due_earlier_has_that_entrys_time(five):
    due, now = SEVEN + timedelta(minutes=10), SEVEN + timedelta(minutes=30)
    with writing(five.pk, by=ODO, at=now, key=uuid4()) as pen:
        pen.write("expired", "permit:P-1", {}, at=due)
    assert Receipt.objects.get(head=five).at == due
    assert verify(five).ok


@on_sqlite
@pytest.mark.parametrize(("column", "value"), [("at", "junk"), ("first", "many"), ("last", b"x")])
def test_a_receipt_of_wrong_types_is_found(five, receipts, owner, column, value):
    owner("PRAGMA ignore_check_constraints = ON")
    owner(f"UPDATE ledger_receipt SET {column} = %s WHERE first = 6", value)
    owner("PRAGMA ignore_check_constraints = OFF")
    assert "receipt" in verify(five).what


def test_swapped_numbers_are_found(five, owner):
    number(five, 2).update(number=99)
    number(five, 3).update(number=2)
    number(five, 99).update(number=3)
    found(five, 2, "reordered: in its place stands entry 3")


def test_swapped_bodies_are_found(five, owner):
    second, third = number(five, 2).get(), number(five, 3).get()
    number(five, 2).update(body=third.body)
    number(five, 3).update(body=second.body)
    found(five, 2, "it was changed")


def test_an_entry_beyond_the_head_is_found(five, owner):
    fourth = number(five, 4).get()
    Head.objects.filter(pk=five.pk).update(number=4, digest=fourth.digest, last_at=fourth.at)
    found(five, 5, "it lies beyond the head row, which counts 4 entries")


@pytest.mark.parametrize(
    "change", [{"digest": "e" * 64}, {"last_at": SEVEN}, {"number": 6}, {"name": "another name"}]
)
def test_a_head_row_that_was_changed_is_found(five, owner, change):
    Head.objects.filter(pk=five.pk).update(**change)
    assert not verify(five).ok


@pytest.mark.parametrize(
    ("column", "value"),
    [("kind", "seen"), ("about", "permit:P-9"), ("by", "person:X"), ("at", SEVEN + timedelta(seconds=1))],
)
def test_a_column_that_differs_from_the_body_is_found(five, owner, column, value):
    number(five, 3).update(**{column: value})
    found(five, 3, f"column {column} differs")


def test_a_previous_column_that_differs_is_found(five, owner):
    number(five, 3).update(previous="e" * 64)
    found(five, 3, "column previous differs")


def test_a_digest_column_that_differs_is_told_from_a_changed_body(five, owner):
    number(five, 3).update(digest="e" * 64)
    found(five, 3, "column digest differs")


def test_an_entry_of_another_ledger_is_found(five, owner):
    forge(five, 1, ledger="second plant")
    found(five, 1, "it belongs to the ledger 'second plant'")


def test_a_time_that_goes_back_is_found(five, owner):
    forge(five, 5, at="2026-11-25T06:59:00.000000Z")
    entry = number(five, 5).get()
    before = SEVEN - timedelta(minutes=1)
    number(five, 5).update(at=before)
    Head.objects.filter(pk=five.pk).update(digest=entry.digest, last_at=before)
    found(five, 5, "is before that of entry 4")


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("", "no JSON"),
        ("{", "no JSON"),
        ("[" * 100_000, "no JSON"),
        ("[]", "not an object"),
        ("17", "not an object"),
        ('{"a":1,"a":2}', "a member name occurs twice"),
        ('{"a":NaN}', "NaN is no JSON number"),
        ('{"a":1e999}', "no canonical form"),
        ('{"a":"\\ud800"}', "no canonical form"),
        ('{"a":9007199254740993}', "no canonical form"),
        ('{"a":' + "9" * 5000 + "}", "no JSON"),
        ('{"a": 1}', "not in canonical form"),
        ('{"b":1,"a":2}', "not in canonical form"),
        ('{"a":1}', "other members than an entry has: a, about"),
        ("[" * 500 + "]" * 500, "not an object"),
    ],
)
def test_malformed_bodies_are_found_and_break_nothing(five, owner, body, words):
    number(five, 3).update(body=body, digest=body_digest(body.encode()))
    found(five, 3, words)


@pytest.mark.parametrize(
    ("member", "value"),
    [("v", 2), ("v", True), ("number", "3"), ("data", []), ("by_digest", None), ("device", 7), ("at", {})],
)
def test_members_of_the_wrong_kind_are_found(five, owner, member, value):
    forge(five, 3, **{member: value})
    assert verify(five).first_bad == 3


def test_a_body_with_another_form_of_time_is_found(five, owner):
    forge(five, 3, at="2026-11-25T07:02:00Z")
    found(five, 3, "column at differs")


@on_sqlite
@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("at", "junk"),
        ("at", "2026-99-99 07:00:00"),
        ("at", 7),
        ("body", b"\xff\xfe"),
        ("kind", b"x"),
        ("digest", 5),
    ],
)
def test_values_of_a_wrong_type_are_found(five, owner, column, value):
    owner(f"UPDATE ledger_entry SET {column} = %s WHERE number = 3", value)
    assert verify(five).first_bad == 3


@on_sqlite
def test_text_that_is_no_utf_8_is_found(five, owner):
    owner("UPDATE ledger_entry SET body = CAST(x'fffe' AS TEXT) WHERE number = 4")
    found(five, 4, "can't be read")


@on_sqlite
@pytest.mark.parametrize(("column", "value"), [("number", "many"), ("last_at", "junk"), ("digest", b"x")])
def test_a_head_row_of_wrong_types_is_found(five, owner, column, value):
    owner("PRAGMA ignore_check_constraints = ON")
    owner(f"UPDATE ledger_head SET {column} = %s", value)
    owner("PRAGMA ignore_check_constraints = OFF")
    verdict = verify(five)
    assert not verdict.ok
    assert "head row" in verdict.what


def test_a_ledger_longer_than_one_chunk_is_read_in_one_pass(head, monkeypatch, django_assert_num_queries):
    with writing(head.pk, by=ODO, at=SEVEN) as pen:
        for point in range(50):
            pen.write("noted", "permit:P-1", {"point": point})
    monkeypatch.setattr(verifying, "CHUNK", 7)
    with django_assert_num_queries(5):  # head, entries, head again, the last receipt, receipts
        assert verify(head).entries == 50
