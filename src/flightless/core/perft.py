"""Counting the positions reached in so many moves: the usual test of a move generator.

Compiled functions on states, called from Python; the published counts that they must match
are in the tests.  They are compiled when first called, not by `warm`: only tests and
benchmarks use them.
"""

from __future__ import annotations

import numpy as np

from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import jit
from flightless.core.moves import count_moves, generate, make
from flightless.core.state import Moves, State

__all__ = ["perft", "perft_each"]


@jit
def perft(
    state: State,
    depth: np.uint64,
    moves: Moves,
    at: np.uint64,
) -> np.uint64:
    """Positions after `depth` (at least 1) plies; those of the last ply are counted in bulk.

    `moves` has room for the moves of `depth` positions from `at` on.
    """
    if depth <= ONE:
        return count_moves(state)
    end = generate(state, moves, at)
    total = ZERO
    while at < end:
        total += perft(make(state, moves[at]), depth - ONE, moves, end)
        at += ONE
    return total


@jit
def perft_each(
    state: State,
    depth: np.uint64,
    moves: Moves,
    at: np.uint64,
) -> np.uint64:
    """As `perft` (`depth` at least 1), but every move of the last ply is made too.

    All words of the positions made, Zobrist key included, are folded into one that is left
    in `moves[at]`, so that no part of the work can be optimised away.
    """
    end = generate(state, moves, at)
    total = end - at
    first = at
    if depth > ONE:
        total = ZERO
        while at < end:
            total += perft_each(make(state, moves[at]), depth - ONE, moves, end)
            at += ONE
        return total
    folded = ZERO
    while at < end:
        made = make(state, moves[at])
        folded ^= made.p0 ^ made.p1 ^ made.p2 ^ made.white ^ made.flags ^ made.key
        at += ONE
    moves[first] = folded
    return total
