"""Squares as a person names them: ranges, long diagonals, single squares."""

from __future__ import annotations

import chess
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flightless.words.english.grammar import article, line_name, listed, number, place_phrase
from flightless.words.places import line_through, places


def squares(text: str) -> list[chess.Square]:
    return [chess.parse_square(s) for s in text.split()]


@pytest.mark.parametrize(
    ("at", "kind", "said"),
    [
        ("c3 d4 e5 f6", chess.BISHOP, "anywhere from c3 to f6"),
        ("c3 d4 e5 f6 h6", chess.BISHOP, "anywhere from c3 to f6 or on h6"),
        ("a1 b2 c3 d4 e5 f6 g7 h8", chess.BISHOP, "anywhere on the long diagonal"),
        ("a8 b8 c8 d8", chess.ROOK, "anywhere from a8 to d8"),
        ("a8 b8", chess.ROOK, "on a8 or b8"),
        ("c3 d4 e5", chess.KNIGHT, "on c3, d4 or e5"),
        ("h6", chess.PAWN, "on h6"),
        ("e2 e3 e4 a5 b5 c5", chess.ROOK, "anywhere from e2 to e4 or from a5 to c5"),
    ],
)
def test_place_phrase(at: str, kind: chess.PieceType, said: str) -> None:
    assert place_phrase(places(squares(at), kind)) == said


def test_standing_man_may_lie_inside_a_range() -> None:
    """A bishop on d4 who could also stand on c3 and e5, f6: a range over his own square."""
    found = places(squares("c3 e5 f6"), chess.BISHOP, chess.D4)
    assert place_phrase(found) == "anywhere from c3 to f6"


def test_standing_man_does_not_lengthen_a_range() -> None:
    """A rook on e8 who could also stand on a8 to d8."""
    found = places(squares("a8 b8 c8 d8"), chess.ROOK, chess.E8)
    assert place_phrase(found) == "anywhere from a8 to d8"


@given(st.sets(st.sampled_from(chess.SQUARES)), st.sampled_from([2, 3, 4, 5]))
def test_places_are_exactly_the_squares(at: set[chess.Square], kind: chess.PieceType) -> None:
    """Nothing is added and nothing lost when squares are grouped."""
    found = places(at, kind)
    named = set(found.singles)
    for span in found.spans:
        if span.whole_long_diagonal:
            named |= set(_diagonal(span.first))
        else:
            named |= {span.first, span.last}
            named |= set(chess.SquareSet(chess.between(span.first, span.last)))
    assert named == at


def _diagonal(square: chess.Square) -> list[chess.Square]:
    if chess.square_file(square) == chess.square_rank(square):
        return [chess.square(i, i) for i in range(8)]
    return [chess.square(i, 7 - i) for i in range(8)]


@pytest.mark.parametrize(
    ("a", "b", "home", "said"),
    [
        ("e8", "g8", 7, "the back rank"),
        ("e8", "g8", 0, "the eighth rank"),
        ("h1", "h8", 7, "the h-file"),
        ("a1", "h8", 7, "the long diagonal"),
        ("b3", "g8", 7, "the diagonal"),
    ],
)
def test_line_names(a: str, b: str, home: int, said: str) -> None:
    line = line_through(chess.parse_square(a), chess.parse_square(b), home)
    assert line_name(line) == said


def test_small_change() -> None:
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"], "or") == "a, b or c"
    assert [number(n) for n in (1, 12, 13, 1000)] == ["one", "twelve", "13", "1,000"]
    said = [article(w) for w in ("rook", "e-pawn", "h-pawn", "h8", "g8", "eighth", "a8")]
    assert said == ["a rook", "an e-pawn", "an h-pawn", "an h8", "a g8", "an eighth", "an a8"]
