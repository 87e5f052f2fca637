"""References, sign-in names, roles in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.people.rules.refs import ALPHABET, ref_of, tidy_ref
from permits.people.rules.roles import Role
from permits.people.rules.sign_in_names import sign_in_objection, tidy_sign_in


def test_the_alphabet_is_crockfords():
    # Douglas Crockford, "Base 32": ten digits and the letters without I, L, O, U (from memory).
    letters = sorted(set("ABCDEFGHIJKLMNOPQRSTUVWXYZ") - set("ILOU"))
    assert list(ALPHABET) == [*"0123456789", *letters]


@given(st.binary(min_size=8, max_size=8))
def test_a_reference_is_read_back_however_it_is_typed(numbers):
    ref = ref_of(numbers)
    assert tidy_ref(ref) == ref
    assert tidy_ref(f" {ref[:4].lower()}-{ref[4:]} ") == ref
    assert tidy_ref(ref.replace("0", "O").replace("1", "l")) == ref


def test_too_few_random_bytes_are_refused():
    with pytest.raises(ValueError, match="7 bytes are too few"):
        ref_of(b"1234567")


@pytest.mark.parametrize("text", ["", "K7Q2M9X", "K7Q2M9XBB", "K7Q2M9XU", "K7Q2M9X!"])
def test_what_is_no_reference(text):
    assert tidy_ref(text) is None


@pytest.mark.parametrize("name", ["odo", "m.tarn", "a-1", "x" * 40])
def test_sign_in_names_that_can_be_used(name):
    assert sign_in_objection(name) is None


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("m", "2 characters or more"),
        ("x" * 41, "has 41 characters; 40 at most"),
        ("m tarn", "letters a to z, digits, dots and hyphens"),
        ("ödo", "letters a to z, digits, dots and hyphens"),
        (".odo", "starts and ends with a letter or digit"),
        ("odo\n", "letters a to z, digits, dots and hyphens"),
    ],
)
def test_sign_in_names_that_cannot(name, says):
    assert says in sign_in_objection(name)


def test_sign_in_names_are_tidied():
    assert tidy_sign_in("  M.Tarn ") == "m.tarn"


def test_every_role_has_words():
    assert all(role.words and role.may for role in Role)
    assert Role.OFFICER.words == "safety officer"
