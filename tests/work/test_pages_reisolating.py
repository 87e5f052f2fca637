"""After a test the freed points are locked again on one page: plates scanned one by one, sent at once."""

import pytest
from django.utils.timezone import now

from permits.plant.actions import reissue_tag
from permits.plant.models import Tag
from permits.work.rules.words import Phase
from tests.work.every_form import token
from tests.work.reading_pages import text_of
from tests.work.the_job import FREED, TheJob

BUS = "C1-CDC"


@pytest.fixture
def live(job) -> TheJob:
    return job.to("live")


@pytest.fixture
def odos(phone):
    return phone("odo")


def page(odos, live, code: str = ""):
    return odos.get(f"{live.url}re-isolate/", {"code": code} if code else {})


def answers(live, form, **other) -> dict:
    """What the browser posts from this page: what stands in its fields, with other values for some."""
    shown = {
        name: "" if (value := form.get_initial_for_field(field, name)) is None or value is False else value
        for name, field in form.fields.items()
    }
    seen = {name: "off" for name in form.fields if name.startswith("position")}
    return {name: value for name, value in {**live.typed(**shown), **seen, **other}.items() if value != ""}


def test_three_plates_scanned_and_one_form_sent_lock_everything_again(odos, live):
    for point in FREED:
        scanned = odos.get(f"/T/{token(live, point)}")
        [way] = [one for one in scanned.context["more"] if "re-isolate" in one.url]
        assert way.title == "Lock it again: make the machine dead"
        odos.get(way.url)
    before = len(live.entries())
    form = page(odos, live).context["form"]
    assert [row.typed for row in form.rows] == [False, False, False]
    released = {name: "on" for name in form.fields if name.startswith("released")}
    answer = odos.post(f"{live.url}re-isolate/", answers(live, form, **released), follow=True)
    assert "Locked and released again. Test every point." in text_of(answer)
    kinds = [entry.kind for entry in live.entries()[before:]]
    assert kinds[:4] == ["REISOLATING", "LOCK_APPLIED", "LOCK_APPLIED", "LOCK_APPLIED"]
    assert set(kinds[4:]) == {"STORE_RELEASED"}
    permit = live.look().permit
    assert permit.phase is Phase.ISOLATING
    assert set(FREED) <= permit.locked
    assert not any(lock.typed for lock in permit.hanging if lock.where in FREED)


def test_sent_twice_it_counts_once_and_another_number_on_the_old_page_is_said_not_to_be_recorded(odos, live):
    for point in FREED:
        page(odos, live, token(live, point))
    form, url = page(odos, live).context["form"], f"{live.url}re-isolate/"
    released = {name: "on" for name in form.fields if name.startswith("released")}
    typed = answers(live, form, **released)
    assert odos.post(url, typed).status_code == 302
    before = len(live.entries())
    assert odos.post(url, typed).status_code == 302
    padlock = next(name for name in typed if name.startswith("padlock"))
    other = odos.post(url, typed | {padlock: "Z-99"})
    assert other.status_code == 409
    assert "what you changed since is not." in text_of(other)
    assert len(live.entries()) == before


def test_the_numbers_that_hung_there_before_are_carried_over_and_the_position_is_said(odos, live):
    form = page(odos, live).context["form"]
    hung = {k.where: k for k in live.look().permit.locks if k.where in FREED}
    for row in form.rows:
        assert form.fields[row.named("padlock")].initial == hung[row.point].padlock
        assert form.fields[row.named("tag")].initial == hung[row.point].tag
        assert form.fields[row.named("position")].initial is None, "it is seen anew"


def test_codes_are_typed_where_plates_cannot_be_scanned_and_it_is_written_so(odos, live):
    form = page(odos, live).context["form"]
    codes = {
        row.code: Tag.objects.get(site=live.site, node__code=row.point, withdrawn_at=None).short_code
        for row in form.rows
    }
    odos.post(f"{live.url}re-isolate/", answers(live, form, **codes))
    permit = live.look().permit
    assert set(FREED) <= permit.locked
    assert all(lock.typed for lock in permit.hanging if lock.where in FREED)


def test_the_plate_of_another_point_is_named_and_nothing_is_locked(odos, live):
    form = page(odos, live).context["form"]
    first, second = form.rows[:2]
    wrong = {first.code: token(live, second.point)}
    answer = odos.post(f"{live.url}re-isolate/", answers(live, form, **wrong))
    assert answer.status_code == 422
    assert "This is the plate of Cell standby feed disconnector" in text_of(answer)
    assert live.look().permit.phase is Phase.TESTING


def test_a_withdrawn_plate_will_not_do(odos, live, person):
    old = token(live, FREED[0])
    tag = Tag.objects.get(token=old)
    reissue_tag(tag=tag, why="scratched", by=person("maud").author, at=now())
    form = page(odos, live).context["form"]
    answer = odos.post(f"{live.url}re-isolate/", answers(live, form, **{form.rows[0].code: old}))
    assert answer.status_code == 422
    assert "This plate was withdrawn" in text_of(answer)


def test_a_code_that_is_none_is_said_at_its_field(odos, live):
    form = page(odos, live).context["form"]
    answer = odos.post(f"{live.url}re-isolate/", answers(live, form, **{form.rows[1].code: "nonsense!"}))
    assert answer.status_code == 422
    assert answer.context["form"].errors.keys() == {form.rows[1].code}


def test_without_a_position_the_point_is_not_locked(odos, live):
    form = page(odos, live, token(live, FREED[0])).context["form"]
    answer = odos.post(f"{live.url}re-isolate/", answers(live, form, **{form.rows[0].named("position"): ""}))
    assert answer.status_code == 422
    assert "The position is missing; say how the point stands, such as off." in text_of(answer)


def test_a_flaw_of_one_lock_refuses_the_page_and_keeps_what_was_typed(odos, live):
    for point in FREED:
        page(odos, live, token(live, point))
    form = page(odos, live).context["form"]
    second = form.rows[1].named("padlock")
    answer = odos.post(f"{live.url}re-isolate/", answers(live, form, **{second: "O-1"}))
    assert answer.status_code == 409
    assert "Padlock O-1 already hangs on" in text_of(answer)
    assert answer.context["form"][second].value() == "O-1"
    assert live.look().permit.phase is Phase.TESTING


def test_what_was_scanned_is_forgotten_once_it_is_locked(odos, live):
    page(odos, live, token(live, FREED[0]))
    odos.post(f"{live.url}re-isolate/", answers(live, page(odos, live).context["form"]))
    assert "scanned" not in odos.session
    permit = live.look().permit
    assert FREED[0] in permit.locked
    assert FREED[1] not in permit.locked


def test_a_plate_of_a_point_that_was_not_freed_changes_nothing_here(odos, live):
    page(odos, live, token(live, "OUT-QB1"))
    assert odos.session.get("scanned", {}) == {}
