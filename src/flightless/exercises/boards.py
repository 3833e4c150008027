"""Boards as a diagram shows them."""

from __future__ import annotations

import chess

__all__ = ["fresh"]


def fresh(board: chess.Board) -> chess.Board:
    """A copy without history whose first move is number one, as in a diagram."""
    board = board.copy(stack=False)
    board.fullmove_number, board.halfmove_clock = 1, 0
    return board
