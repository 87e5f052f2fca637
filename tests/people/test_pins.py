"""Signing again with a PIN: right, wrong, locked, reset, and on someone else's device."""

import json
from datetime import UTC, datetime

import pytest

from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.people import actions
from permits.people.actions import PinRefused, check_pin, sign_again, signer
from permits.people.models import Person
from permits.people.rules.roles import Role
from tests.cast import PIN
from tests.factories_people import PersonFactory

AT = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)


def refusal(person, pin, site) -> str:
    with pytest.raises(PinRefused) as caught:
        check_pin(person, pin, site=site, at=AT)
    return caught.value.message


def kinds(site, person) -> list[str]:
    rows = Entry.objects.filter(head=site.head, about=person.about, kind__startswith="PIN")
    return list(rows.order_by("number").values_list("kind", flat=True))


def test_the_right_pin_is_accepted_and_writes_nothing(quillfen, odo):
    check_pin(odo, PIN["odo"], site=quillfen, at=AT)
    assert kinds(quillfen, odo) == []


def test_a_wrong_pin_says_how_many_tries_are_left_and_who_can_reset_it(quillfen, odo):
    assert refusal(odo, "000000", quillfen) == (
        "This is not the PIN of Odo Kestrelman; 9 more tries before it locks. If it is forgotten, "
        "a safety officer or an administrator of the site can reset it."
    )
    assert kinds(quillfen, odo) == ["PIN_FAILED"]


def test_one_more_try_is_singular(quillfen, odo):
    Person.objects.filter(pk=odo.pk).update(pin_failures=8)
    assert "1 more try before it locks" in refusal(odo, "000000", quillfen)


def test_the_tenth_wrong_pin_locks_it_and_then_the_right_one_is_refused(quillfen, odo):
    for _ in range(9):
        refusal(odo, "000000", quillfen)
    assert "it is now locked after 10 wrong ones" in refusal(odo, "000000", quillfen)
    assert kinds(quillfen, odo) == ["PIN_FAILED"] * 10 + ["PIN_LOCKED"]
    assert "is locked after 10 wrong ones" in refusal(odo, PIN["odo"], quillfen)
    assert len(kinds(quillfen, odo)) == 11


def test_a_right_pin_forgets_the_wrong_ones(quillfen, odo):
    for _ in range(9):
        refusal(odo, "000000", quillfen)
    check_pin(odo, PIN["odo"], site=quillfen, at=AT)
    assert "9 more tries" in refusal(odo, "000000", quillfen)


def test_a_try_is_counted_before_it_is_checked(quillfen, odo, monkeypatch):
    from permits.people.actions import pins

    seen, check = [], pins.check_password
    monkeypatch.setattr(
        pins,
        "check_password",
        lambda raw, held: seen.append(Person.objects.get(pk=odo.pk).pin_failures) or check(raw, held),
    )
    check_pin(odo, PIN["odo"], site=quillfen, at=AT)
    assert seen == [1]
    assert Person.objects.get(pk=odo.pk).pin_failures == 0


def test_a_failure_is_an_entry_without_the_pin_or_the_name(quillfen, odo):
    refusal(odo, "135790", quillfen)
    body = Entry.objects.get(head=quillfen.head, kind="PIN_FAILED").body
    assert json.loads(body)["data"] == {"tries_left": 9}
    assert "135790" not in body
    assert "Kestrelman" not in body
    assert verify(quillfen.head).ok


def test_without_a_pin_one_is_sent_to_set_it(quillfen):
    person = PersonFactory(no_pin=True, name="Tove Sandmark", site=quillfen)
    assert refusal(person, "804216", quillfen) == "Tove Sandmark has no PIN yet; it is set under “my page”."


def test_a_disabled_person_cannot_sign(quillfen):
    person = PersonFactory(disabled=True, site=quillfen)
    assert "is disabled and cannot sign" in refusal(person, "804216", quillfen)


def test_someone_without_a_phone_signs_on_anothers(quillfen, odo, eleni):
    assert signer(quillfen, " Eleni ", PIN["eleni"], AT, by=odo.author) == eleni
    author = sign_again(site=quillfen, here=odo, sign_in="eleni", pin=PIN["eleni"], at=AT)
    assert (author.ref, author.device) == (eleni.about, odo.about)


def test_signing_on_ones_own_device_names_no_device(quillfen, odo):
    for name in ("", "odo", " ODO "):
        author = sign_again(site=quillfen, here=odo, sign_in=name, pin=PIN["odo"], at=AT)
        assert (author.ref, author.device) == (odo.about, "")


def test_a_wrong_pin_on_anothers_device_counts_against_its_owner_and_names_who_typed_it(quillfen, odo, eleni):
    with pytest.raises(PinRefused, match="not the PIN of Ελένη Δρυμώνα; 9 more tries"):
        sign_again(site=quillfen, here=odo, sign_in="eleni", pin=PIN["odo"], at=AT)
    entry = Entry.objects.get(head=quillfen.head, kind="PIN_FAILED")
    assert (entry.about, entry.by) == (eleni.about, odo.about)


def test_a_name_that_has_no_role_at_this_site_cannot_sign_here(quillfen, fernbrook, odo):
    PersonFactory(sign_in="nils", site=fernbrook)
    for name in ("nils", "nobody"):
        with pytest.raises(PinRefused, match=f"Nobody at Quillfen Panel Works signs in as '{name}'"):
            signer(quillfen, name, "804216", AT)


def test_an_officer_resets_a_locked_pin_and_its_owner_sets_a_new_one(quillfen, maud):
    person = PersonFactory(pin_locked=True, site=quillfen)
    with pytest.raises(actions.Declined, match="Your PIN is locked after 10 wrong ones; a safety officer or"):
        actions.set_pin(site=quillfen, person=person, pin="918273", by=person.author, at=AT)
    actions.reset_pin(site=quillfen, person=person, why="forgotten", by=maud.author, at=AT)
    assert "has no PIN yet" in refusal(person, "804216", quillfen)
    actions.set_pin(site=quillfen, person=person, pin="918273", by=person.author, at=AT)
    check_pin(person, "918273", site=quillfen, at=AT)
    assert kinds(quillfen, person) == ["PIN_RESET", "PIN_SET"]


def test_tries_that_are_used_up_are_locked_before_the_entry_says_so(quillfen):
    """The server went away between the last wrong PIN and its entry."""
    person = PersonFactory(site=quillfen, pin_failures=10)
    assert "is locked after 10 wrong ones" in refusal(person, "804216", quillfen)
    with pytest.raises(actions.Declined, match="Your PIN is locked after 10 wrong ones"):
        actions.set_pin(site=quillfen, person=person, pin="918273", by=person.author, at=AT)


def test_nobody_resets_their_own_pin(quillfen, maud):
    with pytest.raises(actions.Declined, match="Nobody resets their own PIN"):
        actions.reset_pin(site=quillfen, person=maud, why="forgotten", by=maud.author, at=AT)


def test_the_pin_page_asks_for_the_password_first(odo, signed_in):
    answer = signed_in(odo).post("/me/pin/", {"password": "wrong", "pin": "918273", "pin_again": "918273"})
    assert answer.status_code == 422
    assert "This is not your password" in answer.content.decode()


def test_a_pin_is_set_on_ones_own_page(quillfen, odo, signed_in):
    from tests.cast import PASSWORD

    answer = signed_in(odo).post(
        "/me/pin/", {"password": PASSWORD["odo"], "pin": "918273", "pin_again": "918273"}, follow=True
    )
    assert "Your PIN is set." in answer.content.decode()
    odo.refresh_from_db()
    check_pin(odo, "918273", site=quillfen, at=AT)


@pytest.mark.parametrize(
    ("pin", "again", "says"),
    [
        ("12345", "12345", "This PIN has 5 digits; 6 or more would be right."),
        ("abcdef", "abcdef", "A PIN is digits only; 6 digits or more would be right."),
        ("111111", "111111", "one digit repeated or a plain run"),
        ("918273", "918274", "The two PINs differ; the same PIN twice would be right."),
        ("", "", "The new PIN is missing; six digits or more would be right."),
    ],
)
def test_a_pin_that_cannot_be_set_says_why_and_is_not_shown(odo, signed_in, pin, again, says):
    answer = signed_in(odo).post("/me/pin/", {"password": "x", "pin": pin, "pin_again": again})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert not pin or f'value="{pin}"' not in page


def test_a_pin_is_hashed(odo):
    assert PIN["odo"] not in odo.pin


def test_every_role_may_have_a_pin(quillfen, signed_in):
    for role in Role:
        assert signed_in(PersonFactory(site=quillfen, site__role=role)).get("/me/pin/").status_code == 200
