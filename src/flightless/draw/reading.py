"""A position read out plainly: who stands where, side by side, for those who cannot see it.

This is the description that travels inside a picture.  Explanations are `words/`.
"""

from __future__ import annotations

import chess

from flightless.draw.labels import ENGLISH, Labels

__all__ = ["colour_name", "position_in_words"]

_ORDER = (chess.KING, chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)


def colour_name(colour: chess.Color, labels: Labels = ENGLISH) -> str:
    """The side's name in the language of `labels`."""
    return labels.white if colour else labels.black


def _men(board: chess.BaseBoard, colour: chess.Color, labels: Labels) -> str:
    named = [
        f"{labels.kinds[kind]} {chess.square_name(square)}"
        for kind in _ORDER
        for square in sorted(board.pieces(kind, colour))
    ]
    return ", ".join(named) or labels.nobody


def position_in_words(board: chess.Board, labels: Labels = ENGLISH) -> str:
    """All men by side and kind, squares in order, then the side to move.

    >>> position_in_words(chess.Board("6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1"))
    'White: king a1, rook e1. Black: king g8, pawn f7, pawn g7, pawn h7. White to move.'
    """
    sides = (
        labels.men_of.format(colour=colour_name(colour, labels), men=_men(board, colour, labels))
        for colour in chess.COLORS
    )
    to_move = labels.to_move.format(colour=colour_name(board.turn, labels))
    return " ".join((*sides, to_move))
