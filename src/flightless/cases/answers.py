"""How a move answers a check: the king goes, a man takes, a man steps between.

Shared by everything in this room that lists the moves of a side in check.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

import chess

__all__ = ["Answer", "first_answer", "how_it_answers", "legal_answers"]

Answer = Literal["flight", "capture", "interposition", "free move"]

_ORDER: dict[Answer, int] = {"flight": 0, "capture": 1, "interposition": 2, "free move": 3}


def how_it_answers(board: chess.Board, move: chess.Move) -> Answer:
    """How a legal move of the side to move meets a check.

    A king's move is a "flight" even if it takes a man; another man takes a checker
    ("capture") or shuts his line ("interposition", also by taking en passant beside the
    line); "free move" if there is no check.
    """
    if not board.is_check():
        return "free move"
    if board.piece_type_at(move.from_square) == chess.KING:
        return "flight"
    taken = move.to_square
    if board.is_en_passant(move):
        taken += -8 if board.turn else 8
    return "capture" if chess.BB_SQUARES[taken] & board.checkers_mask() else "interposition"


def legal_answers(board: chess.Board) -> tuple[chess.Move, ...]:
    """All legal moves if there is a check, else none; by origin, target and promotion."""
    if not board.is_check():
        return ()
    key = _by_squares
    return tuple(sorted(board.legal_moves, key=key))


def first_answer(board: chess.Board, moves: Iterable[chess.Move]) -> chess.Move | None:
    """The answer that a coach would show first: a flight, else a capture, else an
    interposition; of several the first by origin, target and promotion."""
    return min(
        moves, key=lambda m: (_ORDER[how_it_answers(board, m)], *_by_squares(m)), default=None
    )


def _by_squares(move: chess.Move) -> tuple[int, int, int]:
    return move.from_square, move.to_square, move.promotion or 0
