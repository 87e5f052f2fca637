"""Two wordings of a text side by side: nothing is lost, and only what differs is marked."""

from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.wording import Piece, side_by_side

texts = st.text(st.sampled_from("ab \n"), max_size=30)


def joined(pieces) -> str:
    return "".join(piece.text for piece in pieces)


def test_changed_words_are_marked_on_both_sides():
    old, new = side_by_side("Press stop. Wait a minute.", "Press stop. Wait two minutes.")
    assert old == (Piece("Press stop. Wait "), Piece("a minute.", changed=True))
    assert new == (Piece("Press stop. Wait "), Piece("two minutes.", changed=True))


def test_the_same_text_is_one_piece():
    assert side_by_side("Stop.", "Stop.") == ((Piece("Stop."),), (Piece("Stop."),))


def test_nothing_beside_something():
    assert side_by_side("", "Stop.") == ((), (Piece("Stop.", changed=True),))


@given(texts, texts)
def test_the_pieces_are_the_texts_and_what_is_not_marked_is_in_both(old, new):
    left, right = side_by_side(old, new)
    assert (joined(left), joined(right)) == (old, new)
    kept_left = joined(piece for piece in left if not piece.changed)
    assert kept_left == joined(piece for piece in right if not piece.changed)
    if old == new:
        assert not any(piece.changed for piece in (*left, *right))
