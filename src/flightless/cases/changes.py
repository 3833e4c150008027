"""One change to a position: a man added, taken off, moved or exchanged for another kind.

The other modules of this room try changes and keep those that make, keep or break a mate.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import chess

__all__ = ["KINDS", "Change", "added", "is_mate", "lookalike_moves", "moved", "removed", "replaced"]

KINDS = (chess.PAWN, chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN)


@dataclass(frozen=True, slots=True)
class Change:
    """`piece` is added on `square`; or taken off it; or moved from it `to` another square; or
    replaced there by `instead`."""

    action: Literal["added", "removed", "moved", "replaced"]
    square: chess.Square
    piece: chess.Piece
    to: chess.Square | None = None
    instead: chess.Piece | None = None

    def applied(self, board: chess.Board) -> chess.Board:
        """A copy of `board`, without its history, with the change made.

        An en-passant right whose pawn is taken off, moved or replaced is gone.
        """
        after = board.copy(stack=False)
        if self.action == "added":
            after.set_piece_at(self.square, self.piece)
            return after
        after.remove_piece_at(self.square)
        if self.to is not None:
            after.set_piece_at(self.to, self.piece)
        if self.instead is not None:
            after.set_piece_at(self.square, self.instead)
        if board.ep_square is not None and self.square == board.ep_square + (
            -8 if board.turn else 8
        ):
            after.ep_square = None
        return after


def added(square: chess.Square, kind: chess.PieceType, colour: chess.Color) -> Change:
    """A man added."""
    return Change("added", square, chess.Piece(kind, colour))


def removed(board: chess.Board, square: chess.Square) -> Change:
    """The man on `square` taken off."""
    return Change("removed", square, _man(board, square))


def moved(board: chess.Board, square: chess.Square, to: chess.Square) -> Change:
    """The man on `square` put on another."""
    return Change("moved", square, _man(board, square), to)


def replaced(board: chess.Board, square: chess.Square, kind: chess.PieceType) -> Change:
    """The man on `square` replaced by another kind of his colour."""
    man = _man(board, square)
    return Change("replaced", square, man, instead=chess.Piece(kind, man.color))


def is_mate(board: chess.Board) -> bool:
    """Checkmate, with the mating side's own king not in check (FIDE Laws 5.1.1, 3.9.2)."""
    return board.is_checkmate() and not board.was_into_check()


def lookalike_moves(board: chess.Board, square: chess.Square) -> Iterator[chess.Square]:
    """Where the man on `square` could go if it were his turn and no king mattered: to empty
    squares only, as his kind moves; pawns forward, not to the last rank."""
    piece = _man(board, square)
    free = ~board.occupied & chess.BB_ALL
    if piece.piece_type != chess.PAWN:
        yield from chess.scan_forward(board.attacks_mask(square) & free)
        return
    step = 8 if piece.color else -8
    first = square + step
    if chess.square_rank(first) in (0, 7) or not free & chess.BB_SQUARES[first]:
        return
    yield first
    home = 1 if piece.color else 6
    if chess.square_rank(square) == home and free & chess.BB_SQUARES[first + step]:
        yield first + step


def _man(board: chess.Board, square: chess.Square) -> chess.Piece:
    piece = board.piece_at(square)
    if piece is None:
        raise ValueError(f"no man stands on {chess.square_name(square)}: {board.fen()}")
    return piece
