"""Canonical JSON against RFC 8785's own samples, and properties it has to keep."""

import json
import struct
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.ledger.canonical import canonical, number

# RFC 8785, Appendix B: the double's bits and how it is written.
APPENDIX_B = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555555": "333333333.3333333",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


@pytest.mark.parametrize(("bits", "text"), APPENDIX_B.items())
def test_doubles_are_written_as_in_appendix_b(bits, text):
    (value,) = struct.unpack(">d", bytes.fromhex(bits))
    assert number(value) == text


def test_the_sample_of_sections_3_2_2_to_3_2_4():
    given = (
        r'{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
        r'"string":"\u20ac$\u000F\u000aA' + r"'" + r'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}'
    )
    expected = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    ).encode()
    result = canonical(json.loads(given))
    assert result == expected
    assert len(result) == 118
    # SHA-256 of the 118 bytes that the RFC prints, computed from that print.
    assert sha256(result).hexdigest() == "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"


def test_names_are_sorted_by_utf_16_code_units():
    # RFC 8785 §3.2.3. Sorting by code points would put the emoji last.
    members = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical(members)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


def test_only_the_named_characters_are_escaped():
    # RFC 8785 §3.2.2.2: two-character escapes, other controls as \u00xx in lower case, all else literally.
    assert canonical('\b\t\n\f\r"\\\x00\x1f/\x7f\u2028é') == (
        b'"\\b\\t\\n\\f\\r\\"\\\\\\u0000\\u001f/\x7f' + "\u2028é".encode() + b'"'
    )


def test_text_is_not_normalised():
    # RFC 8785 §3.1: strings stay as they are; a composed and a decomposed é are two strings.
    assert canonical("\u00e9") != canonical("e\u0301")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="no JSON number"):
        canonical([value])


@pytest.mark.parametrize("text", ["\ud800", "a\udead", "\udfff\ud800"])
def test_lone_surrogates_are_refused_in_values_and_names(text):
    # RFC 8785 §3.2.2.2 with RFC 7493 §2.1.
    with pytest.raises(ValueError, match="lone surrogate"):
        canonical(text)
    with pytest.raises(ValueError, match="lone surrogate"):
        canonical({text: 1})


def test_integers_beyond_2_to_the_53_are_refused():
    # RFC 8785 Appendix D: they travel as strings.
    assert canonical([2**53, -(2**53)]) == b"[9007199254740992,-9007199254740992]"
    for value in (2**53 + 1, -(2**53) - 1, 10**5000):
        with pytest.raises(ValueError, match="beyond 2\\^53"):
            canonical(value)


@pytest.mark.parametrize("value", [{1: "a"}, {None: "a"}, {1, 2}, b"bytes", object()])
def test_what_is_no_json_is_refused(value):
    with pytest.raises(TypeError):
        canonical(value)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)


@given(JSON)
def test_what_is_read_back_is_equal_and_has_the_same_bytes(value):
    text = canonical(value)
    again = json.loads(text, parse_int=float)  # RFC 8785 §3.2.2.3: every number is a double
    assert again == value
    assert canonical(again) == text


@given(st.dictionaries(st.text(), st.integers(0, 9)))
def test_order_of_insertion_does_not_matter(members):
    assert canonical(members) == canonical(dict(reversed(members.items())))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_double_survives(value):
    assert float(number(value)) == value
