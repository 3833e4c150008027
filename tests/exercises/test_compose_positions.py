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


@pytest.mark.parametrize("pattern", [p.name for p in catalogue().patterns])
def test_every_pattern_gives_a_mate_in_two(pattern: str) -> None:
    made = compose(chess.Board(catalogue()[pattern].model.fen), 2)
    board = chess.Board(made.fen)
    assert board.status() == chess.STATUS_VALID
    assert not any(_mates(board, move) for move in board.legal_moves)
    board.push(made.key)
    assert board.is_check()
    for reply in list(board.legal_moves):
        board.push(reply)
        assert any(_mates(board, move) for move in board.legal_moves)
        board.pop()


def _mates(board: chess.Board, move: chess.Move) -> bool:
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return mate


@pytest.mark.parametrize("pattern", ["Lolli", "queen and knight at the castled king"])
def test_a_quiet_key_threatens_mate_and_there_is_no_defence(pattern: str) -> None:
    made = compose(chess.Board(catalogue()[pattern].model.fen), 2, 0, quiet=True)
    board = chess.Board(made.fen)
    assert keys(board, 2) == {made.key.uci()}
    assert not keys(board, 1)
    assert not board.gives_check(made.key)
    assert not board.is_capture(made.key)
    assert abs(_balance(board)) <= 2
    assert compose(chess.Board(catalogue()[pattern].model.fen), 2, 0, quiet=True) == made


def test_a_free_king_is_sheltered_and_few_men_hang() -> None:
    # Castled kings: common practice.  What hangs is counted by python-chess's attackers.
    sheltered = 0
    for seed in range(12):
        board = chess.Board(compose(chess.Board(catalogue()["Anastasia"].model.fen), 1, seed).fen)
        king = board.king(chess.WHITE)
        near = chess.BB_KING_ATTACKS[king] & board.pawns & board.occupied_co[chess.WHITE]
        sheltered += chess.square_rank(king) <= 1 and chess.popcount(near) >= 2
        undefended = [
            s
            for s, man in board.piece_map().items()
            if man.piece_type != chess.KING
            and board.is_attacked_by(not man.color, s)
            and not board.is_attacked_by(man.color, s)
        ]
        assert len(undefended) <= 3
    assert sheltered >= 9


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
    with pytest.raises(UsageError, match="no quiet key"):
        compose(mated, 1, quiet=True)
    with pytest.raises(UsageError, match="length"):
        compose(mated, 4)
