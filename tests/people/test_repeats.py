"""What makes two requests the same one: who asked, of which page, with what; not how it was signed."""

from types import SimpleNamespace
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory

from permits.people.repeats import content_of, sent_with

KEY = "0c9d8f5e-2f0e-4b53-9a38-0a8d6e1d9f11"
FIRST = {"key": KEY, "why": "smoke", "zones": ["A", "B"]}


def content(path="/permits/P-1/stop/", by="K7Q2M9XB", **changes) -> str:
    request = RequestFactory().post(path, FIRST | changes)
    request.person = SimpleNamespace(ref=by)
    return content_of(request)


def test_the_same_request_has_the_same_content():
    assert content() == content()
    assert len(content()) == 64


@pytest.mark.parametrize("name", ["csrfmiddlewaretoken", "key", "seen", "pin", "second_pin"])
def test_neither_its_key_nor_a_pin_is_of_its_content(name):
    assert content(**{name: "another"}) == content()


@pytest.mark.parametrize(
    "changes",
    [
        {"by": "PPPPPPPP"},
        {"path": "/permits/P-2/stop/"},
        {"path": "/permits/P-1/stop/?code=A"},
        {"why": "smoke "},
        {"why": ""},
        {"zones": ["A"]},
        {"zones": ["B", "A"]},
        {"more": "on"},
        {"sign_in": "wim"},
        {"copy": SimpleUploadedFile("a.bak", b"settings")},
    ],
)
def test_anything_else_makes_it_another(changes):
    assert content(**changes) != content()


def test_a_file_counts_by_what_is_in_it_and_can_be_read_afterwards():
    def of(name, data):
        return content(copy=SimpleUploadedFile(name, data))

    assert of("a.bak", b"one") == of("a.bak", b"one")
    assert len({of("a.bak", b"one"), of("a.bak", b"two"), of("b.bak", b"one")}) == 3
    request = RequestFactory().post("/", {"copy": SimpleUploadedFile("a.bak", b"one")})
    request.person = SimpleNamespace(ref="K7Q2M9XB")
    content_of(request)
    assert request.FILES["copy"].read() == b"one"


@pytest.mark.parametrize("typed", [{}, {"key": ""}, {"key": "damaged"}, {"key": "0" * 31}])
def test_a_key_that_is_none_is_no_key(typed):
    assert sent_with(RequestFactory().post("/", typed)) is None


def test_a_key_goes_with_its_content():
    request = RequestFactory().post("/", FIRST)
    request.person = SimpleNamespace(ref="K7Q2M9XB")
    sent = sent_with(request)
    assert (sent.key, sent.content) == (UUID(KEY), content_of(request))
