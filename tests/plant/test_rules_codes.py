"""Tokens and short codes: published check characters, and every slip of a finger that they must find."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.codes import (
    ALPHABET,
    CodeError,
    check_character,
    new_token,
    parse_short_code,
    short_code,
    shown,
    tag_url,
)

codes = st.binary(min_size=4, max_size=16).map(short_code)


@pytest.mark.parametrize(
    ("body", "check"),
    [
        # Well-known users of ISO/IEC 7064 MOD 37,36; values from memory [M]:
        ("A12425GABC1234002", "M"),  # the example of the GRid standard, A1-2425G-ABC1234002-M
        ("00000000D07A0090", "Q"),  # an ISAN, 0000-0000-D07A-0090-Q
        ("00000000D07A009000000000", "X"),  # the same ISAN with its version, ...-0000-0000-X
    ],
)
def test_check_characters_of_known_identifiers(body: str, check: str) -> None:
    assert check_character(body) == check


@given(codes, st.data())
def test_every_wrong_character_is_found(code: str, data: st.DataObject) -> None:
    place = data.draw(st.integers(0, 6))
    wrong = data.draw(st.sampled_from(ALPHABET).filter(lambda c: c != code[place]))
    with pytest.raises(CodeError, match="nobody can tell"):
        parse_short_code(code[:place] + wrong + code[place + 1 :])


@given(codes)
def test_every_swap_of_two_neighbours_is_found(code: str) -> None:
    for i in range(6):
        if code[i] != code[i + 1]:
            with pytest.raises(CodeError, match="changed places"):
                parse_short_code(code[:i] + code[i + 1] + code[i] + code[i + 2 :])


@pytest.mark.parametrize("body", ["00000G", "0000GH", "FFFFFG"])
def test_the_few_swaps_that_the_standard_misses_are_never_issued(body: str) -> None:
    number = 0
    for character in body:
        number = number << 5 | ALPHABET.index(character)
    code = short_code(number.to_bytes(4, "big"))
    for i in range(6):
        other = code[:i] + code[i + 1] + code[i] + code[i + 2 :]
        assert other == code or check_character(other[:6]) != other[6]


@given(codes)
def test_a_code_can_be_typed_as_people_type(code: str) -> None:
    assert len(code) == 7
    assert set(code) <= set(ALPHABET)
    assert parse_short_code(shown(code)) == code
    assert parse_short_code(f"  {code[:3].lower()} {code[3:].lower()} ") == code
    assert parse_short_code(code.replace("0", "o").replace("1", "l")) == code
    assert parse_short_code(code.replace("1", "I")) == code


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "like ABC-DEF-7"),
        (" - ", "like ABC-DEF-7"),
        ("ABCDE", "5 were typed"),
        ("ABCDEFGH", "8 were typed"),
        ("ABUDEF7", "never have the letter U"),
        ("ABÇDEF7", "“Ç” is not in any code"),
        ("ABC*EF7", r"“\*” is not in any code"),
    ],
)
def test_what_cannot_be_a_code_is_told_so(typed: str, says: str) -> None:
    with pytest.raises(CodeError, match=says):
        parse_short_code(typed)


def test_a_code_is_shown_in_groups() -> None:
    assert shown("ABCDEF7") == "ABC-DEF-7"


@given(st.binary(min_size=10, max_size=10))
def test_a_token_holds_all_of_its_80_bits(random: bytes) -> None:
    token = new_token(random)
    assert len(token) == 16
    # Read back with Python's own base 32, whose digits stand in the same order as Crockford's.
    digits = str.maketrans(ALPHABET, "0123456789abcdefghijklmnopqrstuv")
    assert int(token.translate(digits), 32) == int.from_bytes(random, "big")


@pytest.mark.parametrize("length", [0, 9, 11])
def test_a_token_needs_ten_bytes(length: int) -> None:
    with pytest.raises(CodeError, match=f"{length} were given"):
        new_token(bytes(length))


def test_a_short_code_needs_four_bytes() -> None:
    with pytest.raises(CodeError, match="at least 4 random bytes; 3 were given"):
        short_code(bytes(3))


def test_the_address_in_a_tag_is_in_capitals() -> None:
    assert (
        tag_url("https://permits.example:8443/", "0" * 16)
        == "HTTPS://PERMITS.EXAMPLE:8443/T/0000000000000000"
    )


@pytest.mark.parametrize(
    "address", ["permits.example", "https://permits.example/a_b", "https://größe.example"]
)
def test_an_address_that_a_tag_cannot_hold_is_refused(address: str) -> None:
    with pytest.raises(CodeError, match="Right would be http:// or https://"):
        tag_url(address, "0" * 16)
