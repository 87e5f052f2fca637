"""`verify_ledger` as people and programs use it: its lines, its JSON, its exit statuses."""

import json
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from permits.ledger.body import body_digest
from permits.ledger.canonical import canonical
from permits.ledger.management.commands import verify_ledger
from permits.ledger.models import Entry, Head
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


# ── digests kept elsewhere ──────────────────────────────────────────────────────────────────────────────


def kept_of(head):
    return dict(Entry.objects.filter(head=head).values_list("number", "digest"))


def write_anew(head, since):
    """What an owner of the database can do: from some entry on all is another story, head row and all."""
    previous = None
    for entry in Entry.objects.filter(head=head, number__gte=since).order_by("number"):
        members = json.loads(entry.body)
        members |= {"previous": previous or entry.previous, "data": {"point": "Q9", "position": "on"}}
        body = canonical(members)
        digest = body_digest(body)
        Entry.objects.filter(pk=entry.pk).update(
            body=body.decode(), previous=members["previous"], digest=digest
        )
        previous = digest
    head.digest = previous
    head.save()


def verified(capsys, *arguments):
    try:
        call_command("verify_ledger", *arguments)
    except CommandError as error:
        return error.returncode, capsys.readouterr().out.strip() or str(error)
    return 0, capsys.readouterr().out.strip()


def test_a_digest_that_was_kept_is_found_again(five, capsys):
    kept = kept_of(five)
    code, said = verified(capsys, "--kept", f"2:{kept[2][:16]}", "--kept", f" 5:{kept[5].upper()}")
    assert (code, said) == (0, "QP: sound, 5 entries, with the digest that was kept of 2, 5")


def test_a_ledger_that_was_written_anew_is_sound_and_a_kept_digest_finds_it(five, owner, capsys):
    kept = kept_of(five)
    write_anew(five, 3)
    assert verified(capsys) == (0, "QP: sound, 5 entries")
    assert verified(capsys, "--kept", f"2:{kept[2]}")[0] == 0  # the one before is as it was
    code, said = verified(capsys, "--kept", f"5:{kept[5]}")
    assert code == 1
    assert said == (
        "QP: BAD at entry 5: it has not the digest that was kept: an entry from 1 on was written anew "
        "(0 sound entries before that)"
    )
    code, said = verified(capsys, "--kept", f"2:{kept[2][:16]}", "--kept", f"4:{kept[4][:16]}")
    assert "at entry 4: it has not the digest that was kept: an entry from 3 on was written anew (2 s" in said
    code, said = verified(capsys, *(f"--kept={number}:{digest}" for number, digest in kept.items()))
    assert "at entry 3: it has not the digest that was kept: it was written anew (2 sound" in said


def test_an_entry_that_is_there_no_more_was_kept(five, owner, capsys):
    kept = kept_of(five)
    four = Entry.objects.get(head=five, number=4)
    Entry.objects.filter(head=five, number=5)._raw_delete("default")
    Head.objects.filter(pk=five.pk).update(number=4, digest=four.digest, last_at=four.at)
    assert verified(capsys) == (0, "QP: sound, 4 entries")
    code, said = verified(capsys, "--kept", f"5:{kept[5]}")
    assert (code, said) == (
        1,
        "QP: BAD at entry 5: the tail is missing: the digest of entry 5 was kept, 4 are there "
        "(4 sound entries before that)",
    )


@pytest.mark.parametrize(
    "kept", ["5", "5:", "5:abc", "0:" + "a" * 64, "x:" + "a" * 64, "5:" + "g" * 64, "5:" + "a" * 15]
)
def test_what_is_no_kept_digest_is_said(five, kept, capsys):
    code, said = verified(capsys, "--kept", kept)
    assert (code, "17:3f9c… would be right" in said) == (2, True)


def test_one_entry_has_one_kept_digest_of_one_ledger(five, capsys):
    digest = kept_of(five)[5]
    assert verified(capsys, "--kept", f"5:{digest}", "--kept", f"05:{'a' * 64}") == (
        2, "Entry 5 is given twice; give each once.",
    )  # fmt: skip
    open_ledger("a second plant")
    code, said = verified(capsys, "--kept", f"5:{digest}")
    assert (code, said) == (2, "Of which ledger is it? Name one with --site: QP, a second plant.")
    assert verified(capsys, "--site", "QP", "--kept", f"5:{digest}")[0] == 0


def test_the_command_says_when_there_are_no_tables(db):
    with connection.cursor() as cursor:
        for table in ("receipt", "entry", "head"):
            cursor.execute(f"ALTER TABLE ledger_{table} RENAME TO away_{table}")
    with pytest.raises(CommandError, match="migrate") as error:
        call_command("verify_ledger")
    assert error.value.returncode == 2
