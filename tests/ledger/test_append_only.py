"""What the database itself refuses, to anyone who comes with SQL and leaves the triggers in place."""

import pytest
from django.core.checks import run_checks
from django.core.management import call_command
from django.db import IntegrityError, NotSupportedError, connection, connections, transaction
from django.db.models import F

from permits.ledger.checks import check_triggers
from permits.ledger.models import Entry, Head, Receipt
from permits.ledger.pen import writing
from permits.ledger.triggers import missing_triggers, statements
from permits.ledger.verify import verify
from tests.ledger.conftest import ODO, SEVEN, on_postgresql, on_sqlite

pytestmark = pytest.mark.django_db


def refused(action, words):
    with pytest.raises(IntegrityError, match=words), transaction.atomic():
        action()


def sql(statement, *values):
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def row(after, **changes):
    """An entry to insert: what would come next, with changes."""
    values = {"kind": "noted", "about": "permit:P-1", "by": "x", "at": SEVEN, "body": "{}"}
    values |= {"head": after, "number": after.number + 1, "previous": after.digest, "digest": "f" * 64}
    return Entry(**(values | changes))


@pytest.mark.parametrize(
    "column", ["number", "kind", "about", "by", "at", "body", "previous", "digest", "head_id"]
)
def test_an_entry_is_never_updated(five, column):
    refused(lambda: Entry.objects.filter(number=3).update(**{column: F(column)}), "append-only: entries")


def test_an_entry_is_never_deleted(five):
    refused(lambda: Entry.objects.filter(number=5)._raw_delete("default"), "append-only: entries")
    refused(lambda: sql("DELETE FROM ledger_entry"), "append-only: entries")
    assert verify(five).ok


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"number": 7}, "a gap"),
        ({"number": 5}, "a second fifth entry"),
        ({"number": 0}, "an entry before the first"),
        ({"previous": "e" * 64}, "a parent that does not exist"),
        ({"number": 1, "previous": "0" * 64}, "a second first entry"),
    ],
)
def test_an_entry_only_follows_the_last(five, changes, what):
    refused(row(five, **changes).save, "an entry has to follow the last one of its ledger")


def test_an_entry_does_not_follow_another_ledgers(five, head):
    other = Head.objects.create(name="second plant")
    refused(row(five, head=other).save, "has to follow the last one")


@pytest.mark.parametrize("again", ["number", "previous", "digest"])
def test_the_constraints_alone_refuse_a_fork(five, owner, again):
    third = Entry.objects.get(head=five, number=3)
    refused(row(five, **{again: getattr(third, again)}).save, "(?i)unique")


def test_the_constraint_alone_refuses_numbers_below_one(head, owner):
    refused(row(head, number=0).save, "entries_count_from_one")


def test_a_head_is_never_deleted_and_never_goes_back(five):
    heads = Head.objects.filter(pk=five.pk)
    fourth = Entry.objects.get(head=five, number=4)
    refused(lambda: heads._raw_delete("default"), "append-only: heads")
    for change in (
        {"number": 4, "digest": fourth.digest},
        {"digest": fourth.digest},
        {"last_at": SEVEN},
        {"number": 6, "digest": "f" * 64},
        {"number": 0, "digest": "0" * 64, "last_at": None},
        {"name": "another name"},
        {"id": 77},
    ):
        refused(lambda change=change: heads.update(**change), "moves only forward")
    assert heads.update(number=F("number")) == 1  # nothing changes, so nothing is refused


def test_the_constraints_alone_keep_a_head_consistent(head, owner):
    heads = Head.objects.filter(pk=head.pk)
    refused(lambda: heads.update(number=-1), "head_")
    refused(lambda: heads.update(digest="f" * 64), "head_without_entries_is_at_genesis")


def test_a_receipt_is_never_updated_or_deleted(head):
    key = "0c9d8f5e-2f0e-4b53-9a38-0a8d6e1d9f11"
    with writing(head.pk, by=ODO, at=SEVEN, key=key) as pen:
        pen.write("noted", "permit:P-1", {})
    refused(lambda: Receipt.objects.update(first=F("first")), "append-only: receipts")
    refused(lambda: Receipt.objects.all()._raw_delete("default"), "append-only: receipts")
    refused(Receipt(head=head, key=key, first=1, last=1, at=SEVEN).save, "(?i)unique|append-only: receipts")


def test_a_receipt_names_entries_in_their_order(head):
    key = "0c9d8f5e-2f0e-4b53-9a38-0a8d6e1d9f12"
    for first, last in ((0, 1), (2, 1)):
        receipt = Receipt(head=head, key=key, first=first, last=last, at=SEVEN)
        refused(receipt.save, "receipt_names_its_entries")


def test_nothing_that_entries_hang_on_is_deleted(five):
    refused(five.delete, "(?i)protected|PROTECT|referenced")


@on_sqlite
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
def test_insert_or_replace_is_no_way_round(five, recursive):
    """Without recursive triggers REPLACE deletes silently; other programs don't switch them on."""
    sql(f"PRAGMA recursive_triggers={recursive}")
    third = Entry.objects.get(head=five, number=3)
    try:
        for entry in (
            third,  # itself
            row(five, number=3, previous=third.previous),
            row(five, pk=third.pk),
            row(five, previous=third.previous),
            row(five, digest=third.digest),
        ):
            values = (entry.pk, entry.number, entry.previous, entry.digest, five.pk)
            refused(
                lambda values=values: sql(
                    "INSERT OR REPLACE INTO ledger_entry (id, number, previous, digest, head_id, "
                    'kind, about, "by", at, body) '
                    "VALUES (%s, %s, %s, %s, %s, 'noted', 'x', 'x', '2026-11-25 07:00:00', '{}')",
                    *values,
                ),
                "has to follow the last one|append-only",
            )
        refused(lambda: sql("REPLACE INTO ledger_head SELECT * FROM ledger_head"), "append-only: heads")
        refused(lambda: sql("UPDATE OR REPLACE ledger_head SET number = 4"), "moves only forward")
    finally:
        sql("PRAGMA recursive_triggers=ON")
    assert verify(five).ok


@on_postgresql
@pytest.mark.parametrize("table", ["ledger_entry", "ledger_receipt", "ledger_head"])
def test_truncate_is_no_way_round(five, table):
    sql("SET CONSTRAINTS ALL IMMEDIATE")  # else PostgreSQL refuses because of the rows just written
    refused(lambda: sql(f"TRUNCATE {table} CASCADE"), "append-only")
    assert verify(five).ok


def test_the_check_is_silent_while_every_trigger_is_there(db):
    assert [error for error in run_checks(tags=["ledger"]) if error.id.startswith("ledger.")] == []


def test_the_check_names_a_missing_trigger_and_the_command_puts_it_back(five, capsys):
    on = " ON ledger_entry" if connection.vendor == "postgresql" else ""
    sql(f"DROP TRIGGER ledger_entry_update{on}")
    (error,) = check_triggers(None)
    assert error.id == "ledger.E001"
    assert "ledger_entry_update" in error.msg
    assert "ledger_entry_delete" not in error.msg
    assert "protect_ledger" in error.hint


@on_postgresql
def test_the_check_sees_a_trigger_that_is_switched_off(db):
    sql("ALTER TABLE ledger_entry DISABLE TRIGGER ledger_entry_delete")
    assert missing_triggers(connection) == ["ledger_entry_delete"]


def test_protecting_a_protected_ledger_changes_nothing(db, capsys):
    call_command("protect_ledger")
    assert "Nothing to do" in capsys.readouterr().out


def test_another_database_is_refused_in_words(monkeypatch):
    with pytest.raises(NotSupportedError, match="use SQLite or PostgreSQL"):
        statements("oracle")
    monkeypatch.setattr(connections["default"], "vendor", "mysql")
    (error,) = check_triggers(None)
    assert error.id == "ledger.E002"
