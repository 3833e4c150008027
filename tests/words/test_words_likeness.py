"""Why two mates are alike, in words: true of the two positions by what stands there."""

from __future__ import annotations

import chess

from flightless.cases.build import case_of
from flightless.patterns.geometry import geometry_key
from flightless.patterns.likeness import likeness
from flightless.words.likeness import likeness_sentences

ROOK_AND_BISHOP = "5Rk1/5ppp/8/8/8/B7/6PP/6K1 b - - 0 1"
QUEEN_AND_BISHOP = "5Qk1/5ppp/8/8/8/B7/6PP/6K1 b - - 0 1"
ARABIAN = "7k/7R/5N2/8/8/8/6PP/6K1 b - - 0 1"
ARABIAN_BY_BLACK = "6k1/8/8/8/8/2n5/6PP/Kr6 w - - 0 1"
SMOTHERED = "6rk/5Npp/8/8/8/8/6PP/6K1 b - - 0 1"


def told(first: str, second: str) -> tuple[str, ...]:
    keys = [geometry_key(case_of(chess.Board(fen))) for fen in (first, second)]
    return likeness_sentences(likeness(*keys))


def test_same_mate_turned_and_exchanged() -> None:
    assert told(ARABIAN, ARABIAN_BY_BLACK) == (
        "The two are the same mate, turned, slid or with men exchanged.",
    )


def test_what_is_shared_comes_first() -> None:
    """A queen for the rook on f8: she checks from the same square and guards more, so that one
    of the pawns is no longer needed."""
    sentences = told(ROOK_AND_BISHOP, QUEEN_AND_BISHOP)
    assert sentences[0] == "Both kings stand on the edge, checked along it."
    assert (
        "The first check comes from a rook next to the king, the second from a queen straight "
        "next to the king." in sentences
    )
    assert sentences[-1] == (
        "In the first two pawns stand in the king's way, in the second a pawn."
    )


def test_nobody_in_the_way() -> None:
    sentences = told(SMOTHERED, ARABIAN)
    assert sentences[-1] == (
        "In the first two pawns and a heavy piece stand in the king's way, in the second nobody."
    )


def test_sentences_can_be_said() -> None:
    fens = (ROOK_AND_BISHOP, QUEEN_AND_BISHOP, ARABIAN, SMOTHERED)
    for first in fens:
        for second in fens:
            for sentence in told(first, second):
                assert sentence[0].isupper()
                assert sentence.endswith(".")
                assert len(sentence.split()) <= 35
