"""The same position for the other side, or on the other flank.

Exchanging colours changes nothing that matters.  Mirroring the files drops castling rights,
which have no mirror image, so the result is proved afresh by whoever uses it.
"""

from __future__ import annotations

import chess

from flightless.exercises.boards import fresh
from flightless.exercises.turns import Turned

__all__ = ["turned"]


def turned(board: chess.Board, *, colours: bool, files: bool) -> tuple[chess.Board, Turned]:
    """The board with colours exchanged and files mirrored as asked, and the word for it."""
    word: Turned = ""
    if colours:
        board = board.mirror()
        word = "colours"
    if files:
        turn, square = board.turn, board.ep_square
        board = board.transform(chess.flip_horizontal)
        board.turn, board.castling_rights = turn, chess.BB_EMPTY
        board.ep_square = None if square is None else square ^ 7
        word = "colours and files" if colours else "files"
    return fresh(board), word
