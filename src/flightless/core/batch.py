"""The same question put to many positions in one compiled call.

For benchmarks, and for rooms that have thousands of positions at hand (a room that uses
one registers it with `compiled.entry`).  Positions are the
rows of an array of `uint64` with six columns, in the order of `State`'s fields.
"""

from __future__ import annotations

from collections.abc import Iterable

import chess
import numpy as np
from numba import types

from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import jit
from flightless.core.mate import find_mate
from flightless.core.state import Moves, State, encode

__all__ = ["Rows", "mates_in_one", "rows"]

Rows = np.ndarray[tuple[int, int], np.dtype[np.uint64]]
"""Positions as rows, for annotations."""

ROWS = types.Array(types.uint64, 2, "C")


def rows(boards: Iterable[chess.Board]) -> Rows:
    """The positions of boards as rows."""
    return np.array([encode(board) for board in boards], np.uint64).reshape(-1, 6)


@jit
def mates_in_one(positions: Rows, found: Moves, scratch: Moves) -> np.uint64:
    """Write to `found`, for each position, a move that mates at once or 0; returns how many
    have one.  `scratch` has room for the moves of one position."""
    total = ZERO
    for row in range(len(positions)):
        state = State(
            positions[row, 0],
            positions[row, 1],
            positions[row, 2],
            positions[row, 3],
            positions[row, 4],
            positions[row, 5],
        )
        move = find_mate(state, scratch, ZERO)
        found[row] = move
        if move:
            total += ONE
    return total
