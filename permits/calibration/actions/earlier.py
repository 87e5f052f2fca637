"""Results from before this record was kept, taken over from paper: charts need not start from nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date

from permits.calibration import models as rows
from permits.calibration.actions.who import Who, writing_for
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.lengths import Measure, recorded
from permits.ledger.pen import AlreadyDone
from permits.work.rules.refusal import Unmet, refuse_if


def enter_earlier(
    *, axis: rows.Axis, on: date, as_found: Measure, as_left: Measure | None, source: str, who: Who
) -> None:
    """What an axis was found at and left at on an earlier day (mean deviations). Raises Refused.

    `as_left`: None where nothing was adjusted. `source`: the book and page, or the file.
    """
    site = axis.machine.site
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        refuse_if(against_earlier(axis, on, today=site.day_of(pen.at)))
        made = rows.EarlierResult.objects.create(
            axis=axis,
            on=on,
            as_found=recorded(as_found),
            as_left=recorded(as_left) if as_left else "",
            source=source,
            by=who.ref,
            at=pen.at,
        )
        data = {
            "axis": axis.code, "name": axis.name, "on": on.isoformat(), "as_found": made.as_found,
            "as_left": made.as_left, "source": source,
        }  # fmt: skip
        pen.write(Fact.EARLIER_RESULT_ENTERED, axis.machine.about, data)


def against_earlier(axis: rows.Axis, on: date, *, today: date) -> Iterator[Unmet]:
    if on > today:
        yield Unmet(
            "not-earlier",
            f"{on:%d %B %Y} is yet to come.",
            "You enter the day of the calibration, on this page.",
        )
    if axis.earlier.filter(on=on).exists():
        yield Unmet(
            "day-taken",
            f"{axis.name} has an earlier result of {on:%d %B %Y} already.",
            "You look at the list on the axis' page; one a day is kept.",
        )
