"""Composed positions against python-chess: mate by one key, legal, with a possible last move."""

from __future__ import annotations

import chess
import pytest
from making_referee import can_have_arisen, keys

from flightless.cases.build import case_of
from flightless.errors import PositionError, UsageError
from flightless.exercises.compose import compose
from flightless.exercises.compose_squares import PHASES, phase_of, weights
from flightless.patterns.recognise import catalogue, names

PATTERNS = ("Anastasia", "Lolli", "Greco", "epaulette", "Damiano")
_VALUES = {chess.PAWN: 1, chess.KNIGHT: 3, chess.BISHOP: 3, chess.ROOK: 5, chess.QUEEN: 9}


def _balance(board: chess.Board) -> int:
    return sum(
        v * (len(board.pieces(k, True)) - len(board.pieces(k, False))) for k, v in _VALUES.items()
    )


def _no_promoted_men(board: chess.Board) -> bool:
    most = {chess.QUEEN: 1, chess.ROOK: 2, chess.KNIGHT: 2, chess.BISHOP: 2, chess.PAWN: 8}
    for colour in chess.COLORS:
        if any(len(board.pieces(kind, colour)) > n for kind, n in most.items()):
            return False
        shades = [
            (chess.square_rank(s) + chess.square_file(s)) % 2
            for s in board.pieces(chess.BISHOP, colour)
        ]
        if len(set(shades)) < len(shades):
            return False
    return True


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("seed", [1, 2])
def test_mate_in_one_as_from_a_game(pattern: str, seed: int) -> None:
    model = chess.Board(catalogue()[pattern].model.fen)
    made = compose(model, 1, seed)
    board = chess.Board(made.fen)
    assert board.status() == chess.STATUS_VALID
    assert keys(board, 1) == {made.key.uci()}
    assert can_have_arisen(board)
    assert can_have_arisen(chess.Board(made.mated))
    assert _no_promoted_men(board)
    assert abs(_balance(board)) <= 2
    assert chess.popcount(board.occupied) > chess.popcount(model.occupied) + 6
    board.push(made.key)
    assert board.is_checkmate()
    assert pattern in {name.name for name in names(case_of(board))}
    assert compose(model, 1, seed) == made


@pytest.mark.parametrize("seed", [1, 2])
def test_mate_in_two_by_one_key(seed: int) -> None:
    made = compose(chess.Board(catalogue()["Anastasia"].model.fen), 2, seed)
    board = chess.Board(made.fen)
    assert not keys(board, 1)
    assert keys(board, 2) == {made.key.uci()}
    assert can_have_arisen(board)


def test_squares_are_those_of_real_games() -> None:
    for phase in PHASES:
        for colour in chess.COLORS:
            pawns = weights(phase, chess.PAWN, colour)
            assert not any(pawns[:8] + pawns[56:])
    kings = weights("middlegame", chess.KING, chess.WHITE)
    assert max(chess.SQUARES, key=kings.__getitem__) == chess.G1  # castled: common practice
    assert max(chess.SQUARES, key=weights("middlegame", chess.KING, chess.BLACK).__getitem__) == (
        chess.G8
    )
    assert phase_of(chess.Board()) == "opening"


def test_what_cannot_be_composed_is_refused() -> None:
    with pytest.raises(PositionError):
        compose(chess.Board())
    mated = chess.Board("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1")
    with pytest.raises(UsageError, match="phase"):
        compose(mated, phase="tea")
    with pytest.raises(UsageError, match="length"):
        compose(mated, 4)
