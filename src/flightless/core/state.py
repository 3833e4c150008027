"""The position as six 64-bit numbers, the move as one, and both to and from python-chess.

A `State` is passed by value and never changed.  This module needs numpy and python-chess
only; the compiled functions on states and moves are in the other modules of this room.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import chess
import numpy as np

from flightless.core.tables import (
    CASTLING_KEYS,
    EN_PASSANT_KEYS,
    PIECE_KEYS,
    TURN_KEY,
)

__all__ = [
    "MOST_MOVES",
    "NO_MOVE",
    "Moves",
    "State",
    "decode",
    "encode",
    "fresh_key",
    "move_from_chess",
    "move_to_chess",
    "new_moves",
]

Moves = np.ndarray[tuple[int], np.dtype[np.uint64]]
"""An array of moves, for annotations."""

NO_MOVE: Final = np.uint64(0)
"""No move at all (it would be a1 to a1)."""

MOST_MOVES: Final = 256
"""Room for the legal moves of one position of up to 16 men a side (a known position has 218;
source: R. Petrovic's construction of 1964, from memory)."""


class State(NamedTuple):
    """A position, men and all, without its history and clocks.

    Squares are bits, a1 = bit 0 to h8 = bit 63, as in python-chess.  The kind of the man on a
    square is a number of three bits, one from each plane: 1 bishop, 2 rook, 3 queen, 4 pawn,
    5 knight, 6 king, 0 empty.  So `p0 & ~p2` are the men that move like bishops (queens too)
    and `p1 & ~p2` those that move like rooks.

    `flags`: bit 0 is set when White is to move; bits 1 to 4 are the castling rights K Q k q;
    bits 8 to 13 the en-passant square, 0 for none.  The en-passant square is set *only when a
    pawn of the side to move attacks it* (a pin may still forbid the capture); the Zobrist
    `key` follows suit, so positions that differ only in an unusable square are equal.
    """

    p0: np.uint64
    p1: np.uint64
    p2: np.uint64
    white: np.uint64
    flags: np.uint64
    key: np.uint64


_KIND_OF_CODE: Final = {
    1: chess.BISHOP,
    2: chess.ROOK,
    3: chess.QUEEN,
    4: chess.PAWN,
    5: chess.KNIGHT,
    6: chess.KING,
}
_CODE_OF_KIND: Final = {kind: code for code, kind in _KIND_OF_CODE.items()}


def encode(board: chess.Board) -> State:
    """The state of a board of standard chess with one king a side.

    Castling rights without king and rook at home are dropped, and so is an en-passant square
    that no pawn of the side to move attacks.  Move counters are not kept.
    """
    p0 = board.bishops | board.queens | board.knights
    p1 = board.rooks | board.queens | board.kings
    p2 = board.pawns | board.knights | board.kings
    rights = board.clean_castling_rights()
    flags = int(board.turn)
    for bit, corner in ((1, chess.H1), (2, chess.A1), (3, chess.H8), (4, chess.A8)):
        flags |= ((rights >> corner) & 1) << bit
    flags |= _usable_en_passant(board) << 8
    white = board.occupied_co[chess.WHITE]
    state = State(*map(np.uint64, (p0, p1, p2, white, flags, 0)))
    return state._replace(key=fresh_key(state))


def _usable_en_passant(board: chess.Board) -> int:
    square = board.ep_square
    if square is None or not board.has_pseudo_legal_en_passant():
        return 0
    passed = chess.BB_SQUARES[square + (-8 if board.turn else 8)]
    return square if passed & board.pawns & board.occupied_co[not board.turn] else 0


def decode(state: State) -> chess.Board:
    """A fresh board of the position, with clocks 0 and 1."""
    p0, p1, p2, white, flags, _ = map(int, state)
    board = chess.Board(None)
    for square in chess.scan_forward(p0 | p1 | p2):
        code = p0 >> square & 1 | (p1 >> square & 1) << 1 | (p2 >> square & 1) << 2
        piece = chess.Piece(_KIND_OF_CODE[code], bool(white >> square & 1))
        board.set_piece_at(square, piece)
    board.turn = bool(flags & 1)
    for bit, corner in ((1, chess.H1), (2, chess.A1), (3, chess.H8), (4, chess.A8)):
        if flags >> bit & 1:
            board.castling_rights |= chess.BB_SQUARES[corner]
    board.ep_square = (flags >> 8 & 63) or None
    return board


def fresh_key(state: State) -> np.uint64:
    """The Zobrist key of a state from scratch; `make` must arrive at the same number."""
    p0, p1, p2, white, flags, _ = map(int, state)
    key = int(CASTLING_KEYS[flags >> 1 & 15])
    if flags & 1:
        key ^= int(TURN_KEY)
    if flags >> 8 & 63:
        key ^= int(EN_PASSANT_KEYS[flags >> 8 & 7])
    for square in chess.scan_forward(p0 | p1 | p2):
        code = p0 >> square & 1 | (p1 >> square & 1) << 1 | (p2 >> square & 1) << 2
        key ^= int(PIECE_KEYS[(white >> square & 1) << 9 | code << 6 | square])
    return np.uint64(key)


def move_from_chess(move: chess.Move) -> np.uint64:
    """The move as a number: from, to << 6, promotion << 12 (python-chess's kinds, 0 none).

    Castling is the king's move of two squares, en passant the pawn's own move.
    """
    return np.uint64(move.from_square | move.to_square << 6 | (move.promotion or 0) << 12)


def move_to_chess(move: np.uint64 | int) -> chess.Move:
    """The python-chess move of a number made by this room."""
    number = int(move)
    return chess.Move(number & 63, number >> 6 & 63, (number >> 12) or None)


def new_moves(positions: int = 1) -> Moves:
    """An array with room for the moves of so many positions, one after the other."""
    return np.empty(MOST_MOVES * positions, np.uint64)
