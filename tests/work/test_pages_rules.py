"""The page of rules: every code has its place on it, and a refusal leads there."""

import re

import pytest

from permits.people.rules.roles import Role
from permits.work.rules.clauses import NOT_OFFERED, RULES
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
    assert set(RULES) <= set(ids)
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
    assert why(Unmet("instrument-at-work", "", "")) == ""
    assert why(("what", "who", "where")) == ""
    assert in_words("not-authorised") == "not authorised"
