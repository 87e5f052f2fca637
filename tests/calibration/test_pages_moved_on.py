"""Forms of a job that lay open while work went on: refused for what concerns them, and for nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from permits.calibration import actions
from permits.calibration.actions import Who
from permits.ledger.models import Entry
from permits.work.queries import last_entry
from permits.work.rules import commands as c
from permits.work.rules.moved_on import PageStale
from tests.calibration.ground import RIGHT, TOO_LONG, Bench, axis, feature, instrument
from tests.work.reading_pages import text_of

pytestmark = pytest.mark.django_db

NOTHING: frozenset[str] = frozenset()


def job_opened(bench: Bench) -> None:
    bench.open_job()


def at_work(bench: Bench) -> None:
    bench.opened().readings(*TOO_LONG)


def corrected(bench: Bench) -> None:
    at_work(bench)
    bench.change().readings(*RIGHT)


def ended(bench: Bench) -> None:
    bench.opened().readings(*RIGHT).end_axis()


def stopped_and_lifted(bench: Bench) -> None:
    bench.do(c.StopWork, "pia", why="smoke at the drive")
    bench.do(c.LiftHalt, "maud", how="a hot bearing, cooled")


def correction(bench: Bench) -> None:
    bench.change()


def sanction_over(bench: Bench) -> None:
    bench.do(c.EndSanction, bench.issuer, why="other work")


def extended(bench: Bench) -> None:
    bench.do(c.ExtendPermit, bench.issuer, until=bench.row.ends_at + timedelta(hours=1))


def squareness(bench: Bench) -> dict[str, Any]:
    pk = feature("Squareness across 89 mm").pk
    return {"job": 1, f"deviation-{pk}": "-0.3", f"uncertainty-{pk}": "0.05"}


def about(**fields: Any) -> Callable[[Bench], dict[str, Any]]:
    return lambda bench: {"work": bench.axis.pk, **fields}


@dataclass(frozen=True, kw_only=True)
class Left:
    """A form at `path` that `typed` fills in lies open while something `happens`.

    `then`: what it is refused for when it is sent again, where it is.
    """

    path: str
    typed: Callable[[Bench], dict[str, Any]]
    prepared: Callable[[Bench], None] = at_work
    happens: Callable[[Bench], None] = stopped_and_lifted
    says: str = "was stopped or suspended (smoke at the drive) by Pía Lindqvall"
    then: frozenset[str] = NOTHING


OPENING = {"machine": "C1", "settings_before": "c.bak", "reference_board": "RB-02", "test_piece": "1 m"}
LEFT = {
    "open": Left(
        path="open/", typed=lambda bench: OPENING, prepared=lambda bench: None, happens=job_opened,
        says="calibration job was opened by Odo Kestrelman", then=frozenset({"job-open"}),
    ),
    "pre-check": Left(
        path="pre-check/", typed=squareness, prepared=job_opened, happens=sanction_over,
        says="sanction ended (other work) by", then=frozenset({"not-under-test"}),
    ),
    "axis": Left(
        path="axis/open/", prepared=job_opened,
        typed=lambda bench: {"job": 1, "axis": axis("length-1").pk, "instrument": instrument("ST-03").pk},
    ),
    "piece": Left(
        path="piece/", typed=about(nominal="1200", measured="1202"), happens=correction,
        says="correction of an axis was entered by Odo Kestrelman",
    ),
    "strike": Left(path="piece/strike/", typed=about(piece="4", why="120 typed for 1200")),
    "correct": Left(
        path="correction/", typed=about(parameter="offset", old="12.5", new="10.5"),
        then=frozenset({"wrong-phase"}),
    ),
    "judge": Left(path="judge/", typed=about(), prepared=corrected),
    "end": Left(path="axis/end/", typed=about(how="abandon")),
    "close": Left(
        path="close/", typed=lambda bench: {"job": 1, "settings_after": "after.bak"}, prepared=ended
    ),
}  # fmt: skip


@pytest.fixture(params=sorted(LEFT))
def left(request, bench) -> Left:
    found = LEFT[request.param]
    found.prepared(bench)
    return found


def page_url(bench: Bench, left: Left) -> str:
    """Where the form stands: on a page of its own, or on the job's."""
    own = left.path if left.path in ("open/", "pre-check/") else ""
    return f"/permits/{bench.permit}/job/{own}"


def shown(client, bench: Bench, left: Left) -> dict[str, Any]:
    """What the form posts: it carries the site's last entry, as every form of its page does."""
    html = client.get(page_url(bench, left)).content.decode()
    seen = last_entry(bench.site)
    forms = html.count('name="key"')
    assert forms >= 1
    assert html.count(f'name="seen" value="{seen}"') == forms
    return {"key": str(uuid4()), "seen": seen, **left.typed(bench)}


def entries() -> int:
    return Entry.objects.count()


def test_what_concerns_the_form_refuses_it_until_it_was_seen(as_odo, bench, left):
    typed = shown(as_odo, bench, left)
    url = f"/permits/{bench.permit}/job/{left.path}"
    left.happens(bench)
    before = entries()
    answer = as_odo.post(url, typed)
    assert answer.status_code == 409, text_of(answer)
    assert answer.context["refusal"].codes == {"page-stale", *left.then}
    assert answer.context["since"]
    page = text_of(answer)
    assert "has moved on since this page was shown." in page
    assert "Since this page was shown" in page
    assert left.says in page
    assert entries() == before
    now = last_entry(bench.site)
    assert f'name="seen" value="{now}"' in answer.content.decode()
    again = as_odo.post(url, typed | {"seen": now})
    assert again.status_code == (409 if left.then else 302), text_of(again)
    assert not left.then or left.then <= again.context["refusal"].codes


def test_what_does_not_concern_it_does_not_stop_it(as_odo, bench, left):
    typed = shown(as_odo, bench, left)
    extended(bench)
    answer = as_odo.post(f"/permits/{bench.permit}/job/{left.path}", typed)
    assert answer.status_code == 302, text_of(answer)


def test_a_form_that_does_not_say_what_its_page_showed_is_refused(as_odo, bench, left):
    typed = shown(as_odo, bench, left) | {"seen": ""}
    answer = as_odo.post(f"/permits/{bench.permit}/job/{left.path}", typed)
    assert answer.status_code == 409, text_of(answer)
    assert answer.context["refusal"].codes == {"page-stale"}


def test_a_form_whose_mark_is_damaged_says_so(as_odo, bench, left):
    typed = shown(as_odo, bench, left) | {"seen": "?"}
    answer = as_odo.post(f"/permits/{bench.permit}/job/{left.path}", typed)
    assert answer.status_code == 422, text_of(answer)


def test_two_people_read_pieces_at_once(as_odo, bench, wim, signed_in):
    """A reading is no news of the permit: neither phone has to be shown anew for the other's piece."""
    at_work(bench)
    pages = [(client, shown(client, bench, LEFT["piece"])) for client in (as_odo, signed_in(wim))]
    for client, typed in pages:
        answer = client.post(f"/permits/{bench.permit}/job/piece/", typed)
        assert answer.status_code == 302, text_of(answer)


def test_what_fell_due_is_kept_so_that_the_next_page_has_seen_it(bench):
    """The permit's time runs out between the page and the form, and nothing else has written it yet."""
    corrected(bench)
    seen, by = bench.row.last_entry, bench.people["odo"].author
    late = bench.row.ends_at + timedelta(minutes=1)
    with pytest.raises(PageStale):
        actions.judge(site=bench.site, row=bench.axis, who=Who(by=by, at=late, seen=seen))
    assert "PERMIT_EXPIRED" in bench.kinds()
    now = bench.row.last_entry
    assert now > seen
    actions.judge(site=bench.site, row=bench.axis, who=Who(by=by, at=late, seen=now))
