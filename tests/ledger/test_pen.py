"""The pen: what it writes, what it refuses, and that a block of writing is all or nothing."""

import json
from datetime import UTC, datetime, timedelta, timezone
from hashlib import sha256
from types import SimpleNamespace
from uuid import UUID

import pytest
from django.db import transaction

from permits.ledger import pen as pens
from permits.ledger.models import Entry, Head, Receipt
from permits.ledger.pen import AlreadyDone, Author, NothingWritten, SentOtherwise, done, open_ledger, writing
from permits.ledger.sent import Sent
from permits.ledger.verify import verify
from tests.ledger.conftest import ODO, SEVEN

pytestmark = pytest.mark.django_db
KEY = UUID("0c9d8f5e-2f0e-4b53-9a38-0a8d6e1d9f11")


def write(head, at=SEVEN, by=ODO, kind="lock-applied", about="permit:P-1", data=None, key=None):
    with writing(head.pk, by=by, at=at, key=key) as pen:
        return pen.write(kind, about, {} if data is None else data)


def test_the_first_entry_says_everything_and_follows_sixty_four_zeros(head):
    entry = write(head, data={"point": "Q3", "padlock": 17, "seen": True, "medium": None})
    assert entry.body == (
        '{"about":"permit:P-1","at":"2026-11-25T07:00:00.000000Z","by":"person:K7Q2M9XB","by_digest":"'
        + "ab" * 32
        + '","data":{"medium":null,"padlock":17,"point":"Q3","seen":true},"device":"","kind":"lock-applied",'
        '"ledger":"QP","number":1,"previous":"' + "0" * 64 + '","v":1}'
    )
    # RFC 9162 §2.1.1: a leaf's hash is SHA-256 over 0x00 and its bytes.
    assert entry.digest == sha256(b"\x00" + entry.body.encode()).hexdigest()
    assert (entry.number, entry.previous) == (1, "0" * 64)


def test_each_entry_follows_the_one_before_and_the_head_moves_with_it(head):
    with writing(head.pk, by=ODO, at=SEVEN) as pen:
        assert pen.next_number == 1
        first = pen.write("permit-issued", "permit:P-1", {})
        assert pen.next_number == 2
        second = pen.write("permit-accepted", "permit:P-1", {})
    assert (second.number, second.previous) == (2, first.digest)
    head.refresh_from_db()
    assert (head.number, head.digest, head.last_at) == (2, second.digest, SEVEN)
    assert verify(head).ok


def test_ledgers_do_not_touch_each_other(head):
    other = open_ledger("second plant")
    write(head)
    assert write(other).number == 1


def test_any_time_zone_is_written_as_utc_and_read_back_the_same(head):
    entry = write(head, at=datetime(2026, 11, 25, 12, 30, 0, 7, tzinfo=timezone(timedelta(hours=5))))
    assert json.loads(entry.body)["at"] == "2026-11-25T07:30:00.000007Z"
    assert Entry.objects.get().at == datetime(2026, 11, 25, 7, 30, 0, 7, tzinfo=UTC)
    assert verify(head).ok


def test_a_naive_time_is_refused(head):
    with pytest.raises(ValueError, match="no time zone"):
        write(head, at=datetime(2026, 11, 25, 7, 0))
    with writing(head.pk, by=ODO, at=SEVEN) as pen:
        with pytest.raises(ValueError, match="no time zone"):
            pen.write("expired", "permit:P-1", {}, at=datetime(2026, 11, 25, 6, 0))
        pen.write("noted", "permit:P-1", {})


def test_now_never_goes_below_the_last_entry(head):
    write(head, at=SEVEN)
    with writing(head.pk, by=ODO, at=SEVEN - timedelta(hours=1)) as pen:
        assert pen.at == SEVEN
        assert pen.write("noted", "permit:P-1", {}).at == SEVEN


def test_what_fell_due_is_written_with_its_due_time(head):
    write(head, at=SEVEN)
    due, now = SEVEN + timedelta(minutes=5), SEVEN + timedelta(minutes=9)
    with writing(head.pk, by=ODO, at=now) as pen:
        assert pen.write("expired", "permit:P-1", {}, at=due).at == due
        assert pen.write("signed-off", "permit:P-1", {}).at == now
    head.refresh_from_db()
    assert head.last_at == now
    assert verify(head).ok


def test_a_due_time_before_the_last_entry_becomes_the_last_entrys(head):
    write(head, at=SEVEN)
    with writing(head.pk, by=ODO, at=SEVEN + timedelta(minutes=1)) as pen:
        assert pen.write("expired", "permit:P-1", {}, at=SEVEN - timedelta(minutes=1)).at == SEVEN


def test_an_entry_can_not_be_ahead_of_now(head):
    with writing(head.pk, by=ODO, at=SEVEN) as pen:
        with pytest.raises(ValueError, match="is after now"):
            pen.write("expired", "permit:P-1", {}, at=SEVEN + timedelta(seconds=1))
        pen.write("noted", "permit:P-1", {})


@pytest.mark.parametrize(
    ("data", "error", "words"),
    [
        ({"reading": {"value": 0.5}}, TypeError, "data.reading.value is a float"),
        ({"seen": [SEVEN]}, TypeError, r"data.seen\[0\] is a datetime"),
        ({"n": 2**53}, ValueError, r"data.n is 9007199254740992, not below 2\^53"),
        ({"n": -(2**53)}, ValueError, r"not below 2\^53"),
        ({"name": "\ud83d"}, ValueError, "data.name has a lone surrogate"),
        ({"\udc00": 1}, ValueError, "a name in data has a lone surrogate"),
        ({1: "a"}, TypeError, "names have to be str"),
        ({"points": ("Q1", "Q2")}, TypeError, "data.points is a tuple"),
        ({"points": {"Q1"}}, TypeError, "data.points is a set"),
        (["a"], TypeError, "data is a list; it has to be a dict"),
    ],
)
def test_data_that_would_not_be_read_back_as_hashed_is_refused_by_place(head, data, error, words):
    with pytest.raises(error, match=words):
        write(head, data=data)
    assert not Entry.objects.exists()


@pytest.mark.parametrize("text", ["", "   ", "two\nlines", "nul\x00", "x" * 200])
def test_odd_kinds_and_subjects_are_refused(head, text):
    with pytest.raises(ValueError, match="kind"):
        write(head, kind=text)
    with pytest.raises(ValueError, match="about"):
        write(head, about=text)


def test_any_script_any_symbol_and_any_control_character_in_data_come_back_unchanged(head):
    words = 'Αθηνά 漢字 😀 e\u0301 \u0000\u001f\u007f\u2028 "\\/'
    write(head, data={"why": words})
    assert json.loads(Entry.objects.get().body)["data"]["why"] == words
    assert verify(head).ok


@pytest.mark.parametrize("digest", ["", "AB" * 32, "ab" * 31, "zz" * 32])
def test_an_author_needs_a_digest(digest):
    with pytest.raises(ValueError, match="64 lower-case hex digits"):
        Author("person:K7Q2M9XB", digest)


def test_a_block_without_an_entry_is_rolled_back(head):
    with pytest.raises(NothingWritten), writing(head.pk, by=ODO, at=SEVEN):
        open_ledger("made on the way")
    assert not Head.objects.filter(name="made on the way").exists()


def test_an_error_rolls_everything_back(head):
    def fail_halfway():
        with writing(head.pk, by=ODO, at=SEVEN, key=KEY) as pen:
            pen.write("lock-applied", "permit:P-1", {})
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_halfway()
    head.refresh_from_db()
    assert (head.number, Entry.objects.count(), Receipt.objects.count()) == (0, 0, 0)
    assert write(head).number == 1


def test_a_key_counts_once_and_the_repeat_learns_what_was_written(head):
    with writing(head.pk, by=ODO, at=SEVEN, key=KEY) as pen:
        pen.write("lock-applied", "permit:P-1", {})
        pen.write("isolated", "permit:P-1", {})
    assert done(head.pk, KEY) == (1, 2)
    entered = False
    with pytest.raises(AlreadyDone) as again, writing(head.pk, by=ODO, at=SEVEN, key=KEY):
        entered = True
    assert not entered
    assert (again.value.first, again.value.last) == (1, 2)
    assert Entry.objects.count() == 2


def test_another_request_under_a_used_key_is_no_repeat_and_is_not_carried_out(head):
    first, other = Sent(KEY, "ab" * 32), Sent(KEY, "cd" * 32)
    write(head, key=first)
    assert done(head.pk, first) == (1, 1)
    for unlike in (other, KEY):
        with pytest.raises(SentOtherwise):
            done(head.pk, unlike)
        with pytest.raises(SentOtherwise) as refused:
            write(head, key=unlike)
        assert refused.value.at == SEVEN
    assert (Entry.objects.count(), Receipt.objects.count()) == (1, 1)
    with pytest.raises(AlreadyDone):
        write(head, key=first)


def test_a_request_from_before_content_was_kept_is_no_repeat_of_what_a_page_sends(head):
    """Nobody knows what it said: rather told than taken for done."""
    write(head, key=KEY)
    with pytest.raises(SentOtherwise):
        write(head, key=Sent(KEY, "ab" * 32))


def test_a_key_belongs_to_one_ledger(head):
    write(head, key=KEY)
    other = open_ledger("second plant")
    assert done(other.pk, KEY) is None
    assert write(other, key=KEY).number == 1


def test_writing_inside_writing_is_refused_and_leaves_the_gate_open(head):
    def nest():
        with writing(head.pk, by=ODO, at=SEVEN) as pen:
            pen.write("noted", "permit:P-1", {})
            write(head)

    with pytest.raises(RuntimeError, match="takes its pen"):
        nest()
    assert write(head).number == 1


def test_the_pen_is_useless_after_its_block(head):
    with writing(head.pk, by=ODO, at=SEVEN) as pen:
        pen.write("noted", "permit:P-1", {})
    with pytest.raises(RuntimeError, match="transaction has ended"):
        pen.write("noted", "permit:P-1", {})


def test_an_unknown_ledger_is_said_so(db):
    with pytest.raises(Head.DoesNotExist), writing(404, by=ODO, at=SEVEN):
        pass


def test_a_ledgers_name_is_its_own(head):
    with pytest.raises(ValueError, match="already"):
        open_ledger("QP")
    for name in ("", "a\nb", "x" * 81):
        with pytest.raises(ValueError, match="a ledger's name"):
            open_ledger(name)


def test_a_ledger_may_be_opened_inside_a_transaction(db):
    with transaction.atomic():
        assert open_ledger("QP").number == 0


def test_an_append_costs_the_same_few_queries_in_a_long_ledger(five, django_assert_num_queries):
    with django_assert_num_queries(5):  # savepoint, head, entry, head row, release
        write(five)


def behind(head, at):
    with writing(head.pk, by=ODO, at=at) as pen:
        pen.write("noted", "permit:P-1", {})
        return round(pen.behind.total_seconds())


def test_the_pen_knows_how_far_the_clock_is_behind_the_last_entry(head):
    assert behind(head, SEVEN) == 0, "there is no last entry"
    assert behind(head, SEVEN - timedelta(minutes=90)) == 5400
    assert behind(head, SEVEN + timedelta(minutes=1)) == 0


def test_whoever_only_waited_for_their_turn_is_not_behind(head, monkeypatch):
    """Others wrote while the request stood at the gate: its time is old, the clock is right."""
    write(head, at=SEVEN + timedelta(seconds=18))
    clock = iter([100.0, 118.5])  # at the gate, inside
    monkeypatch.setattr(pens, "time", SimpleNamespace(monotonic=lambda: next(clock)))
    assert behind(head, SEVEN) == 0
    clock = iter([100.0, 101.0])
    assert behind(head, SEVEN) == 17
