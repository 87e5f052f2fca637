"""Events as ledger data and back: what is read is what was written."""

import dataclasses
import json
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from permits.work.rules import events as e
from permits.work.rules.evolve import fold
from permits.work.rules.written import KINDS, from_data, hints_of, kind_of, to_data
from tests.work.small_plant import SITE, at, done, happened, locked_site, readings, request, verify, zero

moments = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)).map(lambda d: d.replace(tzinfo=UTC))
st.register_type_strategy(datetime, moments)
st.register_type_strategy(Decimal, st.decimals(allow_nan=False, allow_infinity=False, places=3))


def written_and_read(event: e.Event) -> e.Event:
    data = json.loads(json.dumps(to_data(event)))
    return from_data(kind_of(event), data, permit=event.permit, by=event.by, at=event.at)


@pytest.mark.parametrize("made", get_args(e.Event), ids=kind_of)
def test_every_kind_of_event_is_read_as_it_was_written(made):
    fields = {name: st.from_type(hint) for name, hint in hints_of(made).items()}

    @settings(max_examples=10, deadline=None)
    @given(st.builds(made, **fields))
    def same(event):
        assert written_and_read(event) == event

    same()


def test_every_event_has_a_name_of_its_own():
    assert len(KINDS) == len(get_args(e.Event))


def test_a_kind_reads_like_words():
    assert kind_of(e.LockApplied) == "LOCK_APPLIED"


def test_an_unknown_kind_is_an_error():
    with pytest.raises(KeyError):
        from_data("LOCK_MELTED", {}, permit="P-1", by="odo", at=at(0))


def test_a_missing_field_is_an_error():
    with pytest.raises(KeyError):
        from_data(kind_of(e.CrewNamed), {}, permit="P-1", by="odo", at=at(0))


def test_an_entry_of_before_a_field_is_read_without_it():
    """What a second person signed, and the digest of their name, came later than such entries did."""
    told = {
        "owner": "odo", "padlock": "201", "second": "maud", "not_on_site": "gate", "tried": "telephone",
        "searched": "all zones", "signed": "takes it off",
    }  # fmt: skip
    event = from_data(kind_of(e.AbsentSignedOff), told, permit="P-1", by="sig", at=at(0))
    assert (event.second, event.second_signed, event.second_digest) == ("maud", "", "")


def test_decimals_are_strings_and_never_in_exponents():
    [event] = happened(locked_site(), verify("CUT", zero("C1", "1E-7"), when=12))
    assert to_data(event)["readings"] == [{"value": "0.0000001", "unit": "V", "combination": ""}]


def test_times_are_utc_strings_of_one_form():
    [event] = happened(SITE, request())
    assert to_data(event)["ends_at"] == "2026-11-25T14:00:00.000000Z"


def test_a_time_given_in_another_zone_is_the_same_moment():
    zone = timezone(timedelta(hours=5, minutes=30))
    [event] = happened(SITE, dataclasses.replace(request(), ends_at=at(60).astimezone(zone)))
    assert to_data(event)["ends_at"] == "2026-11-25T07:00:00.000000Z"


def test_there_is_no_float_in_what_is_written():
    for event in happened(locked_site(), readings()[0]):
        assert not any(isinstance(x, float) for x in walk(to_data(event)))


def walk(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from walk(item)
    else:
        yield value


def test_the_entries_own_columns_are_not_written_twice():
    [event] = happened(SITE, request())
    assert not {"permit", "by", "at"} & set(to_data(event))


def test_replaying_what_was_written_gives_the_same_site():
    events = happened(SITE, request())
    assert fold(SITE, map(written_and_read, events)) == done(SITE, request())
