"""Times in records: the site's own clock, and always how far it is from UTC."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from permits.records.times import Clock, full

LONDON = ZoneInfo("Europe/London")
WINTER = datetime(2026, 11, 25, 7, 40, 12, tzinfo=UTC)
SUMMER = datetime(2026, 7, 1, 7, 40, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "at", "words"),
    [
        ("Europe/London", WINTER, "25 Nov 2026, 07:40:12 UTC"),
        ("Europe/London", SUMMER, "1 Jul 2026, 08:40:12 UTC+01:00"),
        ("Asia/Kathmandu", WINTER, "25 Nov 2026, 13:25:12 UTC+05:45"),
        ("America/St_Johns", WINTER, "25 Nov 2026, 04:10:12 UTC-03:30"),
    ],
)
def test_a_full_time_has_year_seconds_and_distance(zone, at, words):
    assert full(at.astimezone(ZoneInfo(zone))) == words


def test_a_table_states_a_common_offset_once():
    clock = Clock.of(LONDON, "Europe/London", [SUMMER])
    assert clock.said == "Times are those of the site (Europe/London), UTC+01:00."
    assert clock.short(SUMMER) == "1 Jul 08:40:12"
    assert clock.short(WINTER) == "25 Nov 07:40:12 UTC"


def test_two_offsets_stand_beside_each_time():
    """The clocks go back at 01:00 UTC on 25 October 2026 (IANA time zone database, Europe/London)."""
    before, after = datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    clock = Clock.of(LONDON, "Europe/London", [before, after])
    assert clock.short(before) == "25 Oct 01:30:00 UTC+01:00"
    assert clock.short(after) == "25 Oct 01:30:00 UTC"
    assert clock.said.endswith("each has its distance from UTC.")


def test_no_time_is_no_words():
    assert Clock(UTC, "UTC").short(None) == ""
