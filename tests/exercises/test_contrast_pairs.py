"""Contrast pairs against python-chess: mate on the left, none on the right, one man apart."""

from __future__ import annotations

import chess
import pytest
from making_referee import can_have_arisen, keys

from flightless.errors import PositionError
from flightless.exercises.contrast import contrasts
from flightless.exercises.vary_natural import has_last_move, unnatural

BACK_RANK = "6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"
MATED = "4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1"
# Philidor's legacy: 1.Qg8+ Rxg8 2.Nf7 mate; the position is made up around the old idea.
SMOTHERED = "5r1k/6pp/7N/8/8/1Q6/6PP/6K1 w - - 0 1"


@pytest.mark.parametrize(("fen", "moves"), [(BACK_RANK, 1), (MATED, 0), (SMOTHERED, 2)])
def test_one_side_mates_and_the_other_does_not(fen: str, moves: int) -> None:
    material, pairs = contrasts(chess.Board(fen))
    assert pairs
    for pair in pairs:
        left, right = chess.Board(pair.mate), chess.Board(pair.no_mate)
        assert pair.moves == moves
        assert right.status() == chess.STATUS_VALID
        assert can_have_arisen(left)
        assert can_have_arisen(right)
        apart = sum(left.piece_at(s) != right.piece_at(s) for s in chess.SQUARES)
        assert apart in (1, 2)
        if not moves:
            assert left.is_checkmate()
            assert right.is_check()
            assert pair.reply in right.legal_moves
        else:
            assert keys(left, moves) == {pair.key.uci()}
            assert not keys(right, moves)
            right.push(pair.key)
            assert pair.reply in right.legal_moves
    assert contrasts(chess.Board(fen))[1] == pairs
    assert material.fen == pairs[0].mate


def test_luft_comes_first_at_the_back_rank() -> None:
    _, pairs = contrasts(chess.Board(BACK_RANK))
    assert (pairs[0].of_pattern, pairs[0].size) == (True, 1)
    assert chess.Board(pairs[0].no_mate).pieces(chess.PAWN, chess.BLACK) != (
        chess.Board(BACK_RANK).pieces(chess.PAWN, chess.BLACK)
    )


@pytest.mark.parametrize(
    "fen", ["6k1/5ppp/8/8/8/5Q2/5PPP/4R1K1 w - - 0 1", "8/8/8/8/8/4k3/8/4K2R w - - 0 1"]
)
def test_two_keys_or_no_mate_are_refused(fen: str) -> None:
    with pytest.raises(PositionError):
        contrasts(chess.Board(fen), within=1)


@pytest.mark.parametrize(
    ("fen", "why"),
    [
        ("k7/8/K7/8/8/8/8/QQ6 w - - 0 1", "promoted"),
        ("k7/8/K7/8/8/2B5/8/B7 w - - 0 1", "promoted"),
        ("4k3/8/8/8/8/P7/P7/4K3 w - - 0 1", None),  # b2xa3, one man of sixteen
        ("4k3/8/8/8/P7/P7/P7/4K3 w - - 0 1", None),
        ("rnbqkbnr/pppppppp/8/8/8/1P6/1PPPPPPP/RNBQKBNR b KQkq - 0 1", "files"),
        # Ka1 comes from beside the white king only, and a pawn on b3 would have given check.
        ("8/8/8/8/8/P7/p1K5/k7 w - - 0 1", "last move"),
        ("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1", None),  # …Ng8
    ],
)
def test_what_no_game_leads_to(fen: str, why: str | None) -> None:
    reason = unnatural(chess.Board(fen))
    assert reason is None if why is None else why in (reason or "")


@pytest.mark.parametrize(
    "fen",
    [
        "7k/8/8/8/8/8/8/R6K b - - 0 1",
        "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
        "8/8/8/8/8/5k2/6p1/6K1 w - - 0 1",
        "1k6/1P6/1K6/8/8/8/8/8 b - - 0 1",
        "8/8/8/8/8/P7/p1K5/k7 w - - 0 1",
        "K1k5/8/8/8/8/8/8/r7 w - - 0 1",
    ],
)
def test_last_move_as_an_independent_loop_finds_it(fen: str) -> None:
    board = chess.Board(fen)
    assert has_last_move(board) == can_have_arisen(board)
