"""The page of rules: every code has its place on it, and a refusal leads there."""

import re
from html import unescape

import pytest

from permits.people.rules.roles import Role
from permits.work.queries.rules import rules_page
from permits.work.rules.clauses import BELOW, NOT_LISTED, NOT_OFFERED, RULES
from permits.work.rules.refusal import Unmet
from permits.work.templatetags.why import in_words, why
from tests.cast import PIN
from tests.work.reading_pages import send, text_of


@pytest.fixture
def html(works, phone):
    return phone("odo").get("/rules/").content.decode()


def test_every_rule_has_its_anchor_and_every_link_leads_somewhere(html):
    ids = re.findall(r' id="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    assert set(RULES) | {line.code for line in rules_page().lines} <= set(ids)
    leads = set(re.findall(r'href="#([^"]+)"', html))
    assert len(leads) > 150
    assert leads - set(ids) == set()


def test_every_rule_is_told_in_full(works, phone):
    page = text_of(phone("odo").get("/rules/"))
    for rule in RULES.values():
        assert rule.asks in page
        assert rule.who in page
        assert all(clause.cite in page for clause in rule.clauses)
    for one in NOT_OFFERED:
        assert f"Not offered: {one.what.lower()}" in page
        assert one.why in page
    for what, reason in NOT_LISTED:
        assert f"{what}. {reason}" in page


def test_what_the_rooms_below_refuse_is_told_too(works, phone):
    page = text_of(phone("odo").get("/rules/"))
    for _, _, topics in BELOW:
        for topic in topics:
            assert f"Asked {topic.asked}." in page
            assert all(rule.asks in page and rule.who in page for rule in topic.rules.values())


# ── folded, and found by words ──────────────────────────────────────────────────────────────────────────


def folds(html):
    """(is it open, its title) of every fold."""
    found = re.findall(r'<details class="fold"( open)?>\s*<summary>\s*<h\d>(.*?)</h\d>', html)
    return [(bool(is_open), unescape(title)) for is_open, title in found]


def test_everything_is_folded_until_it_is_asked_for(html, works, phone):
    assert len(folds(html)) > 30
    assert not any(is_open for is_open, _ in folds(html))
    whole = phone("odo").get("/rules/?unfolded").content.decode()
    assert [title for _, title in folds(whole)] == [title for _, title in folds(html)]
    assert all(is_open for is_open, _ in folds(whole))


def test_every_rule_stands_inside_a_fold(html):
    """What is not inside one cannot be found folded; what is, its address unfolds."""
    outside = re.sub(r'<details class="fold".*?</details>', "", html, flags=re.DOTALL)
    assert not [code for code in RULES if f' id="{code}"' in outside]


@pytest.mark.parametrize(
    ("text", "there", "not_there"),
    [
        ("padlock hangs", {"padlock-in-use"}, {"not-told", "not-justified"}),
        ("1910.147(e)(3)", {"not-your-lock", "not-told-back"}, {"padlock-in-use"}),
        ("AS-LEFT check", {"correction-unproven"}, {"not-told"}),
        ("not-your-lock", {"not-your-lock"}, {"not-told"}),
        ("not your lock", {"not-your-lock"}, {"not-told"}),
        ("calibration", {"not-justified", "instrument-overdue"}, {"not-told"}),
        ("wrong ones in a row", {"wrong-pin"}, {"not-told"}),
    ],
)
def test_words_are_found_in_the_rule_its_clause_and_its_code(works, phone, text, there, not_there):
    html = phone("odo").get("/rules/", {"text": text}).content.decode()
    ids = set(re.findall(r' id="([^"]+)"', html))
    assert there <= ids
    assert not not_there & ids
    assert all(is_open for is_open, _ in folds(html))


def test_it_says_how_many_of_how_many(works, phone):
    page = text_of(phone("odo").get("/rules/", {"text": "keeps one administrator"}))
    every, steps = len(rules_page().lines), len(rules_page().steps)
    assert f"“keeps one administrator”: 1 of {every} rules and 0 of {steps} steps." in page
    nothing = text_of(phone("odo").get("/rules/", {"text": "<b>no such words"}))
    assert f"“<b>no such words”: 0 of {every} rules" in nothing
    assert "No rule has these words." in nothing
    assert f"{every} rules and {steps} steps" in text_of(phone("odo").get("/rules/", {"text": "  "}))


def test_where_some_are_shown_links_lead_to_the_whole_page(works, phone):
    html = phone("odo").get("/rules/", {"text": "padlock"}).content.decode()
    assert 'href="/rules/#step-lock-a-point"' in html
    assert set(re.findall(r'href="#([^"]+)"', html)) <= {"main"}


def test_a_clause_that_was_not_read_is_marked(works, phone):
    page = " ".join(text_of(phone("odo").get("/rules/")).split())
    assert "only authorised employees lock out (from memory)" in page
    assert "an orderly transfer between shifts; protection never stops (read second-hand)" in page
    assert "before work, verify that isolation has been accomplished (" not in page


@pytest.mark.parametrize("sign_in", ["maud", "szczesny", "ruben"])
def test_every_member_reads_them(works, phone, sign_in):
    assert phone(sign_in).get("/rules/").status_code == 200


def test_at_another_site_too(elsewhere):
    assert elsewhere(Role.AUDITOR).get("/rules/").status_code == 200


def test_a_refusal_leads_from_each_condition_to_its_rule(job, phone):
    job.to("issued")
    answer = send(phone("odo"), f"{job.url}accept/", pin=PIN["odo"], knows_hazards="on")
    assert answer.status_code == 409
    assert answer.content.decode().count('href="/rules/#not-understood"') == 2
    assert "Why is this asked?" in text_of(answer)


def test_a_condition_that_the_page_does_not_have_leads_nowhere():
    assert why(Unmet("not-holder", "", "")) == "/rules/#not-holder"
    assert why(Unmet("instrument-at-work", "", "")) == "/rules/#instrument-at-work"  # calibration's
    assert why(Unmet("no-such-condition", "", "")) == ""
    assert why(("what", "who", "where")) == ""
    assert in_words("not-authorised") == "not authorised"
