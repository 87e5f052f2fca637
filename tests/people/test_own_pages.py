"""One's own page, password and sessions."""

import pytest

from permits.ledger.models import Entry
from tests.cast import PASSWORD
from tests.factories_people import PersonFactory


def test_my_page_shows_roles_and_authorisations_with_their_end(ruben, signed_in):
    page = signed_in(ruben).get("/me/").content.decode()
    assert "authorised technician" in page
    assert ruben.ref in page
    assert page.index("D1") < page.index("C1")  # expired first
    assert "expired after" in page
    assert "more days)" in page


def test_my_page_says_what_is_missing(pia, quillfen, signed_in):
    page = signed_in(PersonFactory(no_pin=True, site=quillfen)).get("/me/").content.decode()
    assert "not set: cannot sign yet" in page
    assert "No authorisation for any machine. The safety officer gives one." in page


def test_a_new_password_ends_other_sessions_and_not_this_one(quillfen, odo, signed_in):
    here, elsewhere = signed_in(odo), signed_in(odo)
    new = "four-unrelated-words-here"
    answer = here.post("/me/password/", {"current": PASSWORD["odo"], "password": new, "again": new})
    assert answer.status_code == 302
    assert here.get("/me/").status_code == 200
    assert elsewhere.get("/me/").status_code == 302
    assert Entry.objects.filter(head=quillfen.head, kind="PASSWORD_SET", about=odo.about).count() == 1


def test_a_first_password_is_replaced_by_ones_own(quillfen, signed_in):
    person = PersonFactory(first_password=True, site=quillfen)
    client = signed_in(person)
    new = "four-unrelated-words-here"
    client.post("/me/password/", {"current": "invented-words-for-tests", "password": new, "again": new})
    assert client.get("/me/").status_code == 200


def test_someone_without_a_site_can_set_a_password(db, signed_in):
    person = PersonFactory(first_password=True)
    new = "four-unrelated-words-here"
    answer = signed_in(person).post(
        "/me/password/", {"current": "invented-words-for-tests", "password": new, "again": new}
    )
    assert answer.status_code == 302
    person.refresh_from_db()
    assert not person.password_is_first


@pytest.mark.parametrize(
    ("current", "new", "again", "says"),
    [
        ("wrong", "four-unrelated-words", "four-unrelated-words", "This is not your password"),
        (None, "fourteen-chars", "fourteen-chars", "It must contain at least 15 characters."),
        (None, "four-unrelated-words", "four-unrelated-word", "The two new passwords differ"),
        (None, "", "", "The new password is missing."),
        (None, PASSWORD["odo"], PASSWORD["odo"], "This is the current password; a different one"),
    ],
)
def test_a_password_that_cannot_be_set_says_why(odo, signed_in, current, new, again, says):
    answer = signed_in(odo).post(
        "/me/password/", {"current": current or PASSWORD["odo"], "password": new, "again": again}
    )
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_fifteen_characters_of_anything_make_a_password(odo, signed_in):
    # SP 800-63B-4 section 3.1.1.2: at least 15 characters, no composition rules, 64 and more allowed.
    client = signed_in(odo)
    for old, new in [(PASSWORD["odo"], "mmmmmm ooooo ww"), ("mmmmmm ooooo ww", "ж" * 70)]:
        answer = client.post("/me/password/", {"current": old, "password": new, "again": new})
        assert answer.status_code == 302


def test_guessing_the_current_password_makes_the_name_wait(odo, signed_in):
    client = signed_in(odo)
    new = "four-unrelated-words-here"
    for _ in range(5):
        client.post("/me/password/", {"current": "wrong", "password": new, "again": new})
    answer = client.post("/me/password/", {"current": PASSWORD["odo"], "password": new, "again": new})
    assert answer.status_code == 422


@pytest.mark.parametrize("page", ["/me/password/", "/me/pin/"])
def test_a_password_manager_is_told_whose_password_it_is(odo, signed_in, page):
    shown = signed_in(odo).get(page).content.decode()
    assert 'name="username" value="odo" autocomplete="username"' in shown


def test_all_sessions_can_be_ended(odo, signed_in):
    here, elsewhere = signed_in(odo), signed_in(odo)
    assert here.get("/me/sessions/end/").status_code == 405
    assert here.post("/me/sessions/end/").url == "/sign-in/"
    assert here.get("/me/").status_code == 302
    assert elsewhere.get("/me/").status_code == 302
