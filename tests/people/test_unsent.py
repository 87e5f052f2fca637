"""What was sent and reached nobody: the next page says so and leads back to the form; it never looks done."""

import pytest
from django.test import Client
from django.urls import reverse

from permits.people.rules.roles import Role
from permits.people.unsent import _methods
from permits.people.views import own
from tests.cast import PASSWORD
from tests.factories_people import MembershipFactory

ENDED = "Not recorded: your session had ended. If it was a STOP, shout first; then sign in and send it again."
STOP = "/permits/P-1/stop/"


def text_of(answer) -> str:
    return answer.content.decode()


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_what_is_sent_after_the_session_ended_is_said_not_to_be_recorded(quillfen, method):
    client = Client()
    answer = getattr(client, method)(STOP)
    assert (answer.status_code, answer.url) == (302, f"/sign-in/?next={STOP}")
    page = text_of(client.get(answer.url))
    assert ENDED in page
    assert 'data-kind="error"' in page
    assert ENDED not in text_of(client.get(answer.url)), "it is said once"


def test_signing_in_then_leads_to_the_page_with_the_form(quillfen, odo):
    client = Client()
    answer = client.post("/me/pin/", {"pin": "123456"})
    signed = client.post(answer.url, {"sign_in": "odo", "password": PASSWORD["odo"]})
    assert signed.url == "/me/pin/"
    assert client.get(signed.url).status_code == 200


def test_only_looking_says_nothing(quillfen):
    client = Client()
    answer = client.get("/me/?a=b")
    assert answer.url == "/sign-in/?next=/me/%3Fa%3Db"
    assert "Not recorded" not in text_of(client.get(answer.url))


@pytest.mark.parametrize(
    ("sent_to", "from_page", "leads_to"),
    [
        ("/permits/P-1/job/piece/", "http://testserver/permits/P-1/job/?a=b", "/permits/P-1/job/%3Fa%3Db"),
        ("/permits/P-1/job/piece/", "", "/permits/P-1/job/"),
        ("/permits/P-1/job/axis/open/", "", "/permits/P-1/job/"),
        ("/permits/P-1/job/piece/", "http://testserver/permits/P-1/job/piece/", "/permits/P-1/job/"),
        ("/permits/P-1/lock/?code=AB", "", "/permits/P-1/lock/%3Fcode%3DAB"),
        (STOP, "https://elsewhere.example/permits/P-9/", STOP),
        (STOP, "//elsewhere.example/", STOP),
        (STOP, "http://testserver/no/such/page/", STOP),
        ("/messages/read/", "", "/messages/"),
    ],
)
def test_the_form_is_where_it_was_sent_from_or_its_address_or_above_it(
    quillfen, sent_to, from_page, leads_to
):
    answer = Client().post(sent_to, headers={"referer": from_page} if from_page else {})
    assert answer.url == f"/sign-in/?next={leads_to}"


def test_what_django_lets_through_to_a_view_is_known():
    assert _methods(own.sign_out) == ["POST"]
    assert "GET" in _methods(own.sign_in)
    assert "GET" in _methods(lambda request: None)


def test_without_an_open_site_it_is_said_too(quillfen, fernbrook, odo, signed_in):
    MembershipFactory(person=odo, site=fernbrook, role=Role.TECHNICIAN)
    client = signed_in(odo)
    answer = client.post(STOP)
    assert answer.url == "/site/?next=%2Fpermits%2FP-1%2Fstop%2F"
    assert "Not recorded: no site is open. If it was a STOP, shout first; then choose the site" in text_of(
        client.get(answer.url)
    )


def test_before_a_first_password_is_changed_it_is_said_too(quillfen, odo, signed_in):
    odo.password_is_first = True
    odo.save(update_fields=["password_is_first"])
    client = signed_in(odo)
    assert client.post(STOP).url == reverse("people:password")
    assert "Not recorded: your first password has to be changed" in text_of(client.get("/me/password/"))


# ── a page that is older than the session ───────────────────────────────────────────────────────────────


def old_page(person=None) -> Client:
    client = Client(enforce_csrf_checks=True)
    if person:
        client.force_login(person)
    client.cookies["csrftoken"] = "a" * 32
    return client


def test_a_page_of_before_the_session_says_that_nothing_is_recorded_and_leads_to_the_form(odo, quillfen):
    client = old_page(odo)
    answer = client.post("/me/pin/", {"csrfmiddlewaretoken": "b" * 32})
    page = text_of(answer)
    assert answer.status_code == 403
    assert "Not recorded. Count it as not done." in page
    assert "If it was a STOP, shout first." in page
    assert 'href="/me/pin/"' in page
    assert "Sign in" not in page
    assert "A record and a check, never an interlock." in page


def test_nobody_signed_in_is_led_to_sign_in_and_on_to_the_form(quillfen):
    page = text_of(old_page().post(STOP))
    assert "If it was a STOP, shout first." in page
    assert 'href="/sign-in/?next=%2Fpermits%2FP-1%2Fstop%2F"' in page


def test_signing_in_from_an_old_page_leads_to_signing_in(quillfen):
    answer = old_page().post("/sign-in/?next=/me/", {"sign_in": "odo", "password": PASSWORD["odo"]})
    assert answer.status_code == 403
    assert 'href="/sign-in/?next=/me/"' in text_of(answer)


def test_it_is_logged(quillfen, odo, caplog):
    old_page(odo).post(STOP)
    assert "POST '/permits/P-1/stop/' came with a token of no session" in caplog.text
