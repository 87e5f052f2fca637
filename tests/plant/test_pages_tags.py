"""Tags: the list, issuing those that are missing, re-issuing one, and the sheet to print."""

from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from permits.plant import queries
from permits.plant.models import Tag
from permits.plant.rules.codes import shown

ISSUE, SHEET = "/tags/issue/", "/tags/sheet.pdf"
ANEW = reverse("plant:reissue-tag", args=["C1-QB1"])


def text_of(answer) -> str:
    return answer.content.decode()


def tag_of(site, code) -> Tag:
    return Tag.objects.get(site=site, node__code=code, withdrawn_at=None)


def words_on(answer) -> str:
    assert answer["Content-Type"] == "application/pdf"
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)


# ---- the list and issuing


def test_points_without_a_tag_come_first_and_can_be_issued_together(as_maud, works, keyed, entries):
    page = text_of(as_maud.get("/tags/"))
    assert "30 points without a tag" in page
    assert "Issue 30 tags" in page
    assert "Print" not in page
    data = keyed(machine="")
    assert as_maud.post(ISSUE, data).url == as_maud.post(ISSUE, data).url == "/tags/"
    assert len(entries("TAG_ISSUED")) == 30
    page = text_of(as_maud.get("/tags/"))
    assert "without a tag" not in page
    assert shown(tag_of(works, "C1-QB1").short_code) in page


def test_the_tags_of_one_machine_are_issued(as_maud, works, keyed):
    assert as_maud.post(ISSUE, keyed(machine="C1")).url == "/tags/?machine=C1"
    assert Tag.objects.count() == 9
    assert "21 points without a tag" in text_of(as_maud.get("/tags/"))
    assert "Board 3 incomer" in text_of(as_maud.get("/tags/?machine=-"))


def test_tags_of_another_machine_under_a_used_key_are_not_taken_for_issued(as_maud, works, keyed):
    data = keyed(machine="C1")
    as_maud.post(ISSUE, data)
    answer = as_maud.post(ISSUE, data | {"machine": "D1"})
    assert answer.status_code == 409
    assert "This page was sent already at " in text_of(answer)
    assert Tag.objects.count() == 9
    key = answer.context["issue"]["key"].value()
    assert as_maud.post(ISSUE, {"machine": "D1", "key": key}).status_code == 302
    assert Tag.objects.count() > 9


def test_issuing_where_nothing_is_missing_says_so(as_maud, tagged, keyed):
    answer = as_maud.post(ISSUE, keyed())
    assert answer.status_code == 409
    assert "No point was named; one that has no tag yet would be right." in text_of(answer)


def test_issuing_without_its_number_says_so(as_maud, works):
    answer = as_maud.post(ISSUE, {})
    assert answer.status_code == 409
    assert "This page came without its number" in text_of(answer)
    assert not Tag.objects.exists()


def test_an_unknown_machine_is_not_found(as_maud):
    assert as_maud.get("/tags/?machine=Z9").status_code == 404


def test_the_list_costs_the_same_however_long(as_maud, tagged, django_assert_num_queries):
    as_maud.get("/tags/")
    with django_assert_num_queries(8):  # who is asking 3, every page 2, machines, points, tags
        as_maud.get("/tags/")


# ---- re-issuing


def test_a_tag_is_issued_anew_once(as_maud, tagged, keyed, entries):
    old = tag_of(tagged, "C1-QB1")
    assert "The old code stops working at once" in text_of(as_maud.get(ANEW))
    data = keyed(why="worn off")
    there = reverse("plant:node", args=["C1-QB1"])
    assert as_maud.post(ANEW, data).url == as_maud.post(ANEW, data).url == there
    new = tag_of(tagged, "C1-QB1")
    assert new.reissue == 1
    assert new.token != old.token
    assert [one["why"] for one in entries("TAG_WITHDRAWN")] == ["worn off"]
    page = text_of(as_maud.get(there))
    assert "Reissue 1" in page
    assert shown(old.short_code) in page


@pytest.mark.parametrize(
    ("why", "says"),
    [
        ("", "The reason is missing; such as “worn off” would be right."),
        ("x" * 201, "The reason has 201 characters; 200 at most would be right."),
    ],
)
def test_a_reason_is_needed(as_maud, tagged, keyed, why, says):
    answer = as_maud.post(ANEW, keyed(why=why))
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert tag_of(tagged, "C1-QB1").reissue == 0


def test_a_point_without_a_tag_has_none_to_issue_anew(as_maud):
    assert as_maud.get(ANEW).status_code == 404


# ---- printing


@pytest.mark.parametrize("size", ["small", "medium", "large"])
@pytest.mark.parametrize(("paper", "width"), [("A4", 595.3), ("Letter", 612.0)])
def test_the_sheet_is_printed_on_either_paper_in_every_size(as_maud, tagged, paper, width, size):
    answer = as_maud.get(SHEET, {"machine": "C1", "paper": paper, "size": size})
    words = words_on(answer)
    assert abs(float(PdfReader(BytesIO(answer.content)).pages[0].mediabox.width) - width) < 1
    for point in queries.points(tagged, queries.machine_of(tagged, "C1")):
        assert shown(point.tag.short_code) in words


def test_one_tag_alone_can_be_printed(as_maud, tagged):
    words = words_on(as_maud.get(SHEET, {"point": "C1-QB1"}))
    assert shown(tag_of(tagged, "C1-QB1").short_code) in words
    assert shown(tag_of(tagged, "C1-QB2").short_code) not in words
    assert "electrical, 400 V AC, 63 A" in words.replace("\n", " ")


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"paper": "A5"}, "There is no paper &#x27;A5&#x27;. Right would be one of: A4, Letter."),
        (
            {"size": "huge"},
            "There is no tag size &#x27;huge&#x27;. Right would be one of: small, medium, large.",
        ),
        ({"point": "C1-RAIL"}, "There is no tag to print: choose at least one point."),
    ],
)
def test_what_cannot_be_printed_says_why(as_maud, tagged, asked, says):
    answer = as_maud.get(SHEET, asked)
    assert answer.status_code == 409
    assert says in text_of(answer)


def test_an_address_that_no_code_can_hold_says_why(as_maud, tagged, settings):
    settings.PUBLIC_URL = "https://pläne.example"
    answer = as_maud.get(SHEET)
    assert answer.status_code == 409
    assert "cannot be printed in a tag" in text_of(answer)
