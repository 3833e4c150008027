"""Look-up tables of the compiled core, built by numpy when the module is loaded.

All are arrays of `uint64`, small enough to be baked into the machine code.  The building
takes a few milliseconds; nothing here is compiled.
"""

from __future__ import annotations

from typing import Final

import numpy as np

__all__ = [
    "BETWEEN",
    "BISHOP_RAYS",
    "CASTLING_KEEP",
    "CASTLING_KEYS",
    "EN_PASSANT_KEYS",
    "KING",
    "KNIGHT",
    "LINES",
    "PAWN",
    "PIECE_KEYS",
    "PROMOTION_CODE",
    "ROOK_RAYS",
    "THROUGH",
    "TURN_KEY",
]

Table = np.ndarray[tuple[int], np.dtype[np.uint64]]

_ONE = np.uint64(1)
_SQUARES = np.arange(64)
_FILE, _RANK = _SQUARES & 7, _SQUARES >> 3


def _set(squares: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> Table:
    """Rows of 64 truth values as one number each."""
    weights = _ONE << np.arange(64, dtype=np.uint64)
    table: Table = np.where(squares, weights, np.uint64(0)).sum(axis=-1, dtype=np.uint64)
    return table


_DF = _FILE[None, :] - _FILE[:, None]  # from the row's square to the column's
_DR = _RANK[None, :] - _RANK[:, None]
_LINE_OF = (_DR == 0, _DF == 0, _DF == _DR, _DF == -_DR)  # rank, file, two diagonals
_HIGHER = _SQUARES[None, :] > _SQUARES[:, None]
_LOWER = _SQUARES[None, :] < _SQUARES[:, None]

LINES: Final[Table] = np.stack(
    [_set(line & half) for line in _LINE_OF for half in (_LOWER, _HIGHER)], axis=1
).reshape(-1)
"""`LINES[square * 8 + 2 * line + half]`: the squares of a line (0 rank, 1 file, 2 rising
diagonal, 3 falling diagonal) with a lower (half 0) or higher (1) index than the square."""

ROOK_RAYS: Final[Table] = _set((_DR == 0) ^ (_DF == 0))
"""What a rook attacks on an empty board."""

BISHOP_RAYS: Final[Table] = _set((abs(_DF) == abs(_DR)) & (_DF != 0))
"""What a bishop attacks on an empty board."""

KNIGHT: Final[Table] = _set(abs(_DF * _DR) == 2)
"""What a knight attacks."""

KING: Final[Table] = _set((abs(_DF) <= 1) & (abs(_DR) <= 1) & (_HIGHER | _LOWER))
"""What a king attacks."""

PAWN: Final[Table] = np.concatenate(
    [_set((abs(_DF) == 1) & (_DR == -1)), _set((abs(_DF) == 1) & (_DR == 1))]
)
"""`PAWN[white * 64 + square]`: what a pawn of that colour attacks."""


def _between() -> Table:
    """Squares strictly between two of a line, by halves of that line that face each other."""
    table = np.zeros((64, 64), np.uint64)
    lines = LINES.reshape(64, 4, 2)
    for number, line in enumerate(_LINE_OF):
        up = np.where(line & _HIGHER, lines[:, None, number, 1] & lines[None, :, number, 0], 0)
        table |= up | up.T
    return table.reshape(-1)


BETWEEN: Final[Table] = _between()
"""`BETWEEN[a * 64 + b]`: the squares strictly between two on one line, else none."""

THROUGH: Final[Table] = sum(
    np.where(line & (_HIGHER | _LOWER), _set(line)[:, None], np.uint64(0)) for line in _LINE_OF
).reshape(-1)  # type: ignore[union-attr]
"""`THROUGH[a * 64 + b]`: the whole line through two squares, both included, else none."""


# --- Zobrist keys ---------------------------------------------------------------------------


def _random(count: int, seed: int) -> Table:
    """Numbers of the SplitMix64 generator (G. Steele, D. Lea, C. Flood, 'Fast splittable
    pseudorandom number generators', 2014): the same on every machine."""
    with np.errstate(over="ignore"):
        z = np.uint64(seed) + np.arange(1, count + 1, dtype=np.uint64) * np.uint64(
            0x9E3779B97F4A7C15
        )
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        return z ^ (z >> np.uint64(31))


def _piece_keys() -> Table:
    keys = _random(1024, 1).reshape(2, 8, 64)
    keys[:, 0, :] = 0  # an empty square counts nothing
    return keys.reshape(-1)


PIECE_KEYS: Final[Table] = _piece_keys()
"""`PIECE_KEYS[white << 9 | code << 6 | square]`; zero for code 0, the empty square."""

CASTLING_KEYS: Final[Table] = np.concatenate([np.zeros(1, np.uint64), _random(15, 2)])
"""By the four castling rights as a number."""

EN_PASSANT_KEYS: Final[Table] = _random(8, 3)
"""By the file of a usable en-passant square."""

TURN_KEY: Final = np.uint64(_random(1, 4)[0])
"""Counted when White is to move."""


# --- odds and ends of making moves ----------------------------------------------------------


def _castling_keep() -> Table:
    """Flags that survive a move from or to a square: all but the rights that it ends."""
    keep = np.full(64, 0xFFFFFFFFFFFFFFFF, np.uint64)
    for square, lost in (
        (4, 0b110),
        (7, 0b10),
        (0, 0b100),
        (60, 0b11000),
        (63, 0b1000),
        (56, 0b10000),
    ):
        keep[square] ^= np.uint64(lost)
    return keep


CASTLING_KEEP: Final[Table] = _castling_keep()

PROMOTION_CODE: Final[Table] = np.array([0, 0, 5, 1, 2, 3, 0, 0], np.uint64)
"""From python-chess's kinds (2 knight … 5 queen) to the codes of `State`."""
