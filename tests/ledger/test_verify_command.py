"""`verify_ledger` as people and programs use it: its lines, its JSON, its exit statuses."""

import json
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from permits.ledger.management.commands import verify_ledger
from permits.ledger.models import Entry
from permits.ledger.pen import open_ledger, writing
from tests.ledger.conftest import ODO, SEVEN

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def eight(monkeypatch):
    """It is eight o'clock, an hour after the first entry."""
    now = SEVEN + timedelta(hours=1)
    monkeypatch.setattr(verify_ledger, "now", lambda: now)
    return now


def change(head, place):
    Entry.objects.filter(head=head, number=place).update(body="{}")


def test_the_command_says_when_there_is_no_ledger(db, capsys):
    call_command("verify_ledger")
    assert "no ledger yet" in capsys.readouterr().out


def test_the_command_has_a_line_for_each_ledger(five, capsys):
    open_ledger("a second plant")
    call_command("verify_ledger")
    lines = capsys.readouterr().out.splitlines()
    assert lines == ["QP: sound, 5 entries", "a second plant: sound, 0 entries"]


def test_the_command_fails_and_names_the_first_bad_entry(five, owner, capsys):
    open_ledger("a second plant")
    change(five, 3)
    with pytest.raises(CommandError, match="1 of 2 ledgers") as error:
        call_command("verify_ledger")
    assert error.value.returncode == 1
    assert "QP: BAD at entry 3: it was changed" in capsys.readouterr().out


def test_the_command_takes_one_site(five, capsys):
    open_ledger("a second plant")
    call_command("verify_ledger", "--site", "QP")
    assert capsys.readouterr().out == "QP: sound, 5 entries\n"


def test_the_command_names_the_ledgers_there_are_for_one_there_is_not(five):
    with pytest.raises(CommandError, match="no ledger named 'QX'; there are: QP") as error:
        call_command("verify_ledger", "--site", "QX")
    assert error.value.returncode == 2


def test_the_command_answers_in_json(five, owner, capsys):
    call_command("verify_ledger", "--format", "json")
    answer = json.loads(capsys.readouterr().out)
    assert answer["ok"]
    assert answer["ledgers"][0] == {
        "ledger": "QP", "ok": True, "entries": 5, "first_bad": None, "what": "every entry is sound",
        "ahead_s": 0,
    }  # fmt: skip
    change(five, 2)
    with pytest.raises(CommandError):
        call_command("verify_ledger", "--format", "json")
    answer = json.loads(capsys.readouterr().out)
    assert (answer["ok"], answer["ledgers"][0]["first_bad"]) == (False, 2)


def test_a_last_entry_in_the_future_is_told(five, eight, capsys):
    """The chain is sound; the clock was wrong when it was written, or is now."""
    with writing(five.pk, by=ODO, at=eight + timedelta(seconds=60)) as pen:
        pen.write("noted", "permit:P-1", {})
    call_command("verify_ledger")
    assert capsys.readouterr().out == "QP: sound, 6 entries\n"
    open_ledger("a second plant")
    with writing(five.pk, by=ODO, at=eight + timedelta(minutes=90)) as pen:
        pen.write("noted", "permit:P-1", {})
    with pytest.raises(CommandError, match="1 of 2 ledgers end in the future") as error:
        call_command("verify_ledger")
    assert error.value.returncode == 3
    assert "QP: sound, 7 entries, but the last one lies 90 min in the future\n" in capsys.readouterr().out
    with pytest.raises(CommandError):
        call_command("verify_ledger", "--format", "json")
    answer = json.loads(capsys.readouterr().out)
    assert answer["ok"], "every entry is sound"
    assert [one["ahead_s"] for one in answer["ledgers"]] == [5400, 0]


def test_the_command_says_when_there_are_no_tables(db):
    with connection.cursor() as cursor:
        for table in ("receipt", "entry", "head"):
            cursor.execute(f"ALTER TABLE ledger_{table} RENAME TO away_{table}")
    with pytest.raises(CommandError, match="migrate") as error:
        call_command("verify_ledger")
    assert error.value.returncode == 2
