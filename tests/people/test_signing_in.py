"""Signing in and out, and waiting after failures."""

import logging
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from permits.people import actions
from permits.people.models import Person
from permits.people.rules.waiting import MOST_FAILURES
from tests.cast import PASSWORD
from tests.factories_people import MembershipFactory, PersonFactory

AT = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def try_to_sign_in(name, password, at=AT) -> bool:
    try:
        actions.sign_in(name=name, password=password, at=at)
    except actions.SignInRefused:
        return False
    return True


def fail(times, at=AT):
    for _ in range(times):
        assert not try_to_sign_in("odo", "not the password", at)


def test_the_page_has_what_password_managers_look_for(db):
    page = Client().get("/sign-in/").content.decode()
    assert 'autocomplete="username"' in page
    assert 'autocomplete="current-password"' in page
    assert "onpaste" not in page


def test_signing_in_leads_to_the_page_that_was_wanted(odo):
    client = Client()
    wanted = client.get("/me/pin/").url
    answer = client.post(wanted, {"sign_in": " Odo ", "password": PASSWORD["odo"]})
    assert answer.url == "/me/pin/"
    assert client.get("/me/pin/").status_code == 200


def test_signing_in_never_leads_elsewhere(odo):
    answer = Client().post(
        "/sign-in/?next=https://elsewhere.example/", {"sign_in": "odo", "password": PASSWORD["odo"]}
    )
    assert answer.url == "/"


def test_a_session_gets_a_new_key_at_sign_in(odo):
    client = Client()
    client.get("/sign-in/")
    client.session["x"] = 1
    before = client.session.session_key
    client.post("/sign-in/", {"sign_in": "odo", "password": PASSWORD["odo"]})
    assert client.session.session_key != before


def test_a_wrong_password_keeps_the_name_and_not_the_password(odo):
    answer = Client().post("/sign-in/", {"sign_in": "odo", "password": "not the password"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="odo"' in page
    assert "not the password" not in page
    assert "The name or the password is wrong" in page


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({"password": "x"}, "Your sign-in name is missing; such as m.tarn would be right."),
        ({"sign_in": "odo"}, "Your password is missing."),
        ({}, "Your sign-in name is missing"),
    ],
)
def test_what_is_missing_is_said(odo, data, says):
    answer = Client().post("/sign-in/", data)
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_the_answer_does_not_tell_which_names_exist(odo):
    def words(name):
        answer = Client().post("/sign-in/", {"sign_in": name, "password": "not the password"})
        return answer.status_code, answer.context["form"].non_field_errors()

    Person.objects.filter(pk=odo.pk).update(
        sign_in_failures=50, sign_in_waits_until=AT + timedelta(days=36500)
    )
    PersonFactory(sign_in="gone", disabled=True)
    assert words("nobody") == words("odo") == words("gone") == words("x" * 100)


def test_an_unknown_name_costs_a_hash_too(odo, monkeypatch):
    hashed = []
    from permits.people.actions import passwords

    make = passwords.make_password
    monkeypatch.setattr(passwords, "make_password", lambda text: hashed.append(text) or make(text))
    try_to_sign_in("nobody", "tried")
    assert hashed == ["tried"]


def test_a_disabled_person_cannot_sign_in(db):
    PersonFactory(sign_in="gone", disabled=True)
    assert not try_to_sign_in("gone", "invented-words-for-tests")


def test_the_whole_password_is_checked(odo):
    # SP 800-63B-4 section 3.1.1.2: no truncation.
    assert not try_to_sign_in("odo", PASSWORD["odo"] + "x")
    assert not try_to_sign_in("odo", PASSWORD["odo"][:-1])
    assert not try_to_sign_in("odo", PASSWORD["odo"] + " ")


def test_a_password_with_an_accent_is_the_same_from_every_device(db):
    PersonFactory(sign_in="zoe")
    person = Person.objects.get(sign_in="zoe")
    client = Client()
    client.force_login(person)
    composed, decomposed = "caf\u00e9-invented-words", "cafe\u0301-invented-words"
    client.post(
        "/me/password/", {"current": "invented-words-for-tests", "password": composed, "again": decomposed}
    )
    assert Client().post("/sign-in/", {"sign_in": "zoe", "password": decomposed}).status_code == 302


def test_after_four_failures_the_right_password_still_works(odo):
    fail(4)
    assert try_to_sign_in("odo", PASSWORD["odo"])


def test_after_five_failures_the_right_password_waits_30_seconds(odo):
    fail(5)
    assert not try_to_sign_in("odo", PASSWORD["odo"], AT + 29 * SECOND)
    assert try_to_sign_in("odo", PASSWORD["odo"], AT + 30 * SECOND)


def test_trying_during_the_wait_does_not_prolong_it(odo):
    fail(5)
    fail(20, AT + 10 * SECOND)
    assert try_to_sign_in("odo", PASSWORD["odo"], AT + 30 * SECOND)


def test_the_wait_doubles_with_each_further_failure(odo):
    fail(5)
    fail(1, AT + 30 * SECOND)
    assert not try_to_sign_in("odo", PASSWORD["odo"], AT + 89 * SECOND)
    assert try_to_sign_in("odo", PASSWORD["odo"], AT + 90 * SECOND)


def test_success_forgets_the_failures(odo):
    fail(4)
    try_to_sign_in("odo", PASSWORD["odo"])
    fail(4)
    assert try_to_sign_in("odo", PASSWORD["odo"])


def test_one_persons_failures_do_not_hold_up_another(odo, eleni):
    fail(9)
    assert try_to_sign_in("eleni", PASSWORD["eleni"])


def test_a_hundred_failures_in_a_row_need_an_administrator(quillfen, ilse, odo):
    Person.objects.filter(pk=odo.pk).update(sign_in_failures=MOST_FAILURES - 1)
    fail(1)
    later = AT + timedelta(days=400)
    assert not try_to_sign_in("odo", PASSWORD["odo"], later)
    actions.reset_password(
        site=quillfen, person=odo, first_password="a-first-password", by=ilse.author, at=AT
    )
    assert try_to_sign_in("odo", "a-first-password", AT)


def test_tries_at_the_same_moment_are_all_counted_before_they_are_checked(odo, monkeypatch):
    seen = []
    check = Person.check_password
    monkeypatch.setattr(
        Person,
        "check_password",
        lambda self, raw: seen.append(Person.objects.get(pk=self.pk).sign_in_failures) or check(self, raw),
    )
    fail(2)
    assert seen == [1, 2]


def test_failures_are_logged_without_letting_a_name_forge_a_line(odo, caplog):
    with caplog.at_level(logging.INFO, "permits.access"):
        try_to_sign_in("odo\nperson:0000 signed in", "x")
        try_to_sign_in("odo", PASSWORD["odo"])
    failed, signed_in = (record.getMessage() for record in caplog.records)
    assert failed == r"sign-in failed for the name 'odo\nperson:0000 signed in'"
    assert signed_in == f"{odo.about} signed in"
    assert PASSWORD["odo"] not in caplog.text


def test_signing_out_ends_the_session(odo, signed_in):
    client = signed_in(odo)
    assert client.post("/sign-out/").url == "/sign-in/"
    assert client.get("/me/").status_code == 302


def test_signing_out_is_no_link_that_another_page_could_follow(odo, signed_in):
    client = signed_in(odo)
    assert client.get("/sign-out/").status_code == 405
    assert client.get("/me/").status_code == 200


def test_with_several_sites_one_is_chosen_after_signing_in(odo, fernbrook):
    MembershipFactory(person=odo, site=fernbrook)
    client = Client()
    answer = client.post("/sign-in/?next=/me/", {"sign_in": "odo", "password": PASSWORD["odo"]}, follow=True)
    page = answer.content.decode()
    assert answer.redirect_chain[-1][0].startswith("/site/")
    assert "Fernbrook Joinery" in page
    assert "Quillfen Panel Works" in page
