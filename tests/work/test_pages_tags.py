"""Plates: scanned or typed, withdrawn, unknown, mistyped, of another site."""

import pytest
from django.utils.timezone import now

from permits.people.rules.roles import Role
from permits.plant.actions import reissue_tag
from permits.plant.models import Tag
from permits.plant.rules.codes import check_character, shown
from tests.work.reading_pages import page_of, send, text_of

POINT = "=L3.C1+H3-QB1"


@pytest.fixture
def tag(works) -> Tag:
    return Tag.objects.get(site=works, node__code="C1-QB1")


@pytest.fixture
def odo(works, phone):
    return phone("odo")


@pytest.fixture
def old(tag, person) -> Tag:
    """The plate that hung there before a new one was issued."""
    reissue_tag(tag=tag, why="painted over", by=person("maud").author, at=now())
    tag.refresh_from_db()
    return tag


def readings(job) -> int:
    return sum(entry.kind == "WITHDRAWN_TAG_READ" for entry in job.entries())


@pytest.mark.parametrize("address", ["/T/{0}", "/t/{0}", "/T/{0}/", "/t/{1}/"])
def test_a_scanned_plate_opens_its_point(odo, tag, address):
    answer = odo.get(address.format(tag.token, tag.token.lower()))
    assert answer.status_code == 200
    assert f"{POINT} Cell main disconnector" in text_of(answer)


def test_a_scanned_plate_shows_nothing_to_nobody(works, tag, client):
    answer = client.get(f"/T/{tag.token}")
    assert answer.status_code == 302
    assert answer.url == f"/sign-in/?next=/T/{tag.token}"


@pytest.mark.parametrize("typed", ["{0}", "{1}", " {1} ", "{2}", "{3}"])
def test_the_short_code_is_read_in_any_case_and_with_any_separator(odo, tag, typed):
    code = shown(tag.short_code)
    forms = (code, code.lower(), code.replace("-", "."), " ".join(tag.short_code))
    answer = send(odo, "/find/", code=typed.format(*forms))
    assert answer.status_code == 302
    assert POINT in text_of(odo.get(answer.url))


def test_a_wrong_check_character_says_so(odo, tag):
    wrong = tag.short_code[:-1] + ("0" if tag.short_code[-1] != "0" else "1")
    answer = send(odo, "/find/", code=wrong)
    assert answer.status_code == 422
    page = page_of(answer)
    assert "is not a code on any tag: its last character does not fit the others." in page.text
    assert page.posts["code"] == [wrong]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "The plate's code is missing"),
        ("ABC", "A code has 7 characters, like ABC-DEF-7; 3 were typed."),
        ("ABCDEU7", "Codes never have the letter U."),
        ("ABC?EF7", "“?” is not in any code"),
        ("A" * 81, "81 characters are too many; 80 at most would be right."),
    ],
)
def test_what_can_be_no_code_says_why(odo, typed, said):
    answer = send(odo, "/find/", code=typed)
    assert answer.status_code == 422
    assert said in text_of(answer)


def test_a_code_that_no_plate_here_has(odo, works):
    unknown = next(
        code
        for code in (body + check_character(body) for body in ("ZZZZZ9", "ZZZZZ8", "ZZZZZ7"))
        if not Tag.objects.filter(short_code=code).exists()
    )
    answer = send(odo, "/find/", code=unknown)
    assert answer.status_code == 422
    assert "No point of Quillfen Panel Works has this code; look at the plate once more." in text_of(answer)
    assert odo.get(f"/find/{unknown}/").status_code == 404


def test_a_token_that_is_none_says_so_and_offers_the_short_code(odo):
    answer = odo.get("/T/" + "0" * 16)
    assert answer.status_code == 404
    page = page_of(answer)
    assert "This plate names no point of Quillfen Panel Works. Is the right site open?" in page.text
    assert "code" in page.posts


def test_a_plate_of_another_site_is_not_found_there(tag, elsewhere):
    stranger = elsewhere(Role.TECHNICIAN)
    assert stranger.get(f"/T/{tag.token}").status_code == 404
    assert stranger.get(f"/find/{shown(tag.short_code)}/").status_code == 404
    assert send(stranger, "/find/", code=tag.short_code).status_code == 422


def test_a_withdrawn_plate_says_so_and_each_reading_is_recorded_once(odo, old, job):
    before = readings(job)
    answer = odo.get(f"/T/{old.token}")
    assert answer.status_code == 410
    page = text_of(answer)
    assert "This plate was withdrawn" in page
    assert "(painted over). Do not trust where it hangs." in page
    assert readings(job) == before + 1
    assert odo.get(f"/find/{shown(old.short_code)}/").status_code == 410
    assert readings(job) == before + 2


def test_the_new_plate_opens_the_point_and_writes_nothing(odo, old, works, job):
    new = Tag.objects.get(site=works, node__code="C1-QB1", withdrawn_at=None)
    before = len(job.entries())
    assert odo.get(f"/T/{new.token}").status_code == 200
    assert len(job.entries()) == before


def test_no_lock_goes_on_by_a_withdrawn_plate(odo, old, job):
    job.to("told")
    before, seen = readings(job), job.seen
    answer = send(odo, f"{job.url}lock/", code=old.short_code, padlock="L-9", tag="T-9", position="off")
    assert answer.status_code == 422
    assert "This plate was withdrawn; the point's present plate would be right." in text_of(answer)
    assert readings(job) == before + 1
    assert job.seen == seen


def test_a_scanned_lock_and_a_typed_one_are_told_apart(odo, tag, job):
    job.to("told")
    page = page_of(odo.get(f"{job.url}lock/?code={tag.token}"))
    assert "Short code on the point's plate" not in page.text  # it was scanned
    send(odo, f"{job.url}lock/?code={tag.token}", padlock="L-9", tag="T-9", position="off")
    second = Tag.objects.get(node__code=job.planned("lock")[1], withdrawn_at=None)
    send(odo, f"{job.url}lock/", code=second.short_code, padlock="L-10", tag="T-10", position="off")
    first, last = job.look().permit.locks
    assert (first.where, first.typed) == ("C1-QB1", False)
    assert last.typed
