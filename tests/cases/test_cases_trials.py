"""Man by man: needed, shields, substitutes and saviours against a plain python-chess loop."""

from __future__ import annotations

import random

import cases_referee as referee
import chess
import pytest

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.errors import PositionError


def same_answers(board: chess.Board) -> Case:
    case = case_of(board)
    assert list(case.needed) == referee.needed(board), board.fen()
    assert list(case.shields_own_king) == referee.shields(board), board.fen()
    assert set(case.needed) | set(case.not_needed) == set(referee.men(board))
    substitutes = {
        (s.instead_of, chess.piece_symbol(s.kind).upper(), s.square) for s in case.substitutes
    }
    assert substitutes == referee.substitutes(board), board.fen()
    assert len(substitutes) == len(case.substitutes)
    saviours = {(chess.piece_symbol(s.kind).upper(), s.square) for s in case.saviours}
    assert saviours == referee.saviours(board), board.fen()
    assert len(saviours) == len(case.saviours)
    return case


def same_moves(board: chess.Board, case: Case) -> None:
    """The moves that a removal or a saviour makes possible are python-chess's legal moves."""
    for removal in case.removals:
        left = referee.take(board, removal.square)
        assert removal.still_mate == left.is_checkmate()
        assert removal.exposes == left.was_into_check()
        assert removal.check_gone == (not left.is_check())
        wanted = set(left.legal_moves) if left.is_check() else set()
        assert set(removal.answers) == wanted, (board.fen(), removal)
        assert len(set(removal.answers)) == len(removal.answers)
    for saviour in case.saviours:
        more = board.copy(stack=False)
        more.set_piece_at(saviour.square, chess.Piece(saviour.kind, board.turn))
        wanted = set(more.legal_moves) if more.is_check() else set()
        assert set(saviour.answers) == wanted, (board.fen(), saviour)


def test_mates_of_random_games_man_by_man() -> None:
    for board in referee.random_mates()[::4]:
        same_moves(board, same_answers(board))


def test_strewn_mates_man_by_man() -> None:
    rng = random.Random(20)
    for _ in range(60):
        board = referee.strewn_mate(rng, rng.randint(4, 16))
        same_moves(board, same_answers(board))


def test_en_passant_positions_man_by_man() -> None:
    for fen in referee.EN_PASSANT_MATES:
        board = chess.Board(fen)
        assert board.has_pseudo_legal_en_passant()
        same_moves(board, same_answers(board))


def test_en_passant_right_goes_with_its_pawn() -> None:
    # The pawn on b4 has just passed over b3; the rook on g5 pins nothing, the king is mated by
    # the pawn, and a4xb3 would expose him to the queen on a2.
    case = case_of(chess.Board("8/8/2K3N1/k1B1Q1R1/pP6/3B4/Q7/8 b - b3 0 1"))
    gone = next(r for r in case.removals if r.square == chess.A2)
    assert chess.Move.from_uci("a4b3") in gone.answers
    gone = next(r for r in case.removals if r.square == chess.B4)
    assert chess.Move.from_uci("a4b3") not in gone.answers


@pytest.mark.parametrize(
    ("fen", "words"),
    [
        (chess.STARTING_FEN, "White is not mated"),
        ("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1", "Black is not mated"),  # stalemate
        ("R5k1/5ppp/8/8/8/8/8/K6r b - - 0 1", "both kings are in check"),
        ("R5k1/5ppp/8/8/8/8/8/8 b - - 0 1", "one king on each side"),
    ],
)
def test_refuses_what_is_no_mate(fen: str, words: str) -> None:
    with pytest.raises(PositionError, match=words):
        case_of(chess.Board(fen))
