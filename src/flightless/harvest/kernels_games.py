"""Whole games in one compiled call: where each held a mate, and what was made of it.

Compiled.  Games come as the core's scanner leaves them: rows of a table and the moves of all.
"""

from __future__ import annotations

import numpy as np
from numba import types

from flightless.core.attacks import occupied
from flightless.core.bits import ONE, ZERO, popcount
from flightless.core.compiled import MOVES, STATE, U64, entry, inner, jit
from flightless.core.mate import is_checkmate
from flightless.core.moves import make
from flightless.core.state import Moves, State
from flightless.harvest.kernels import (
    BY_CHECKS,
    LENGTH,
    SALT,
    SPENT,
    Words,
    begin,
    judge,
    longest_defence,
)

__all__ = ["CUT", "FOLLOWS", "MATED", "MISSED", "Small", "replay", "search_games"]

Small = np.ndarray[tuple[int], np.dtype[np.uint16]]
SMALL = types.Array(types.uint16, 1, "C")

MISSED, MATED, CUT, FOLLOWS = 1 << 9, 1 << 10, 1 << 11, 16
"""Parts of a verdict, besides those of `kernels`: the move played was no key, the position is
mate, a search in this game reached its limit (in the final verdict), and (shifted) the length of
the mate after the move played."""

_N2, _N16 = np.uint64(2), np.uint64(16)
_BYTE, _CHECKS = np.uint64(LENGTH), np.uint64(BY_CHECKS)
_MISS, _MATE, _CUT = np.uint64(MISSED), np.uint64(MATED), np.uint64(CUT)
_GOLDEN = np.uint64(0x9E3779B97F4A7C15)


@inner
def _search(
    state: State,
    played: Small,
    first: np.uint64,
    plies: np.uint64,
    winner: np.uint64,
    full: np.uint64,
    checks: np.uint64,
    limit: np.uint64,
    verdicts: Words,
    out: np.uint64,
    moves: Moves,
    store: Words,
    table: Moves,
    white_work: Moves,
    black_work: Moves,
) -> None:
    """Judge the positions of one game; its verdicts go to `verdicts` from `out` on."""
    store[SALT] += _GOLDEN
    store[SPENT] = ZERO
    if full > _N2:
        # The prover's table is forgotten too; its first four words are its own.
        for word in range(4, len(table)):
            table[word] = ZERO
    ply = ZERO
    while ply < plies:
        move = np.uint64(played[first + ply])
        # What refuted the last try of a side is likely to refute its next one.
        work = white_work if state.flags & ONE else black_work
        begin(limit, store, work)
        verdict = judge(state, full, checks, moves, ZERO, store, table, work)
        state = make(state, move)
        if verdict:
            begin(limit, store, work)
            follows = ONE
            if not is_checkmate(state):
                answer = longest_defence(state, full, checks, moves, ZERO, store, table, work)
                follows = answer & _BYTE
                if follows:
                    follows += ONE
            if follows == ZERO or follows > verdict & _BYTE:
                verdict |= _MISS | follows << _N16
        verdicts[out + ply] = verdict
        ply += ONE
    verdict = ZERO
    if is_checkmate(state):
        verdict = _MATE
    elif winner:
        begin(limit, store, white_work)
        if (state.flags & ONE) == (winner & ONE):
            verdict = judge(state, full, checks, moves, ZERO, store, table, white_work)
        else:
            answer = longest_defence(state, full, checks, moves, ZERO, store, table, white_work)
            verdict = (answer & _BYTE) << _N16 | (answer & _CHECKS)
    if store[SPENT]:
        verdict |= _CUT
    verdicts[out + plies] = verdict


@entry(STATE, SMALL, MOVES, MOVES, MOVES, U64, U64, U64, MOVES, MOVES, MOVES, MOVES, MOVES, MOVES)
@jit
def search_games(
    start: State,
    played: Small,
    firsts: Words,
    plies: Words,
    winners: Words,
    full: np.uint64,
    checks: np.uint64,
    limit: np.uint64,
    verdicts: Words,
    moves: Moves,
    store: Words,
    table: Moves,
    white_work: Moves,
    black_work: Moves,
) -> None:
    """Judge every position of games that begin alike.

    Game i has `plies[i]` moves from `played[firsts[i]]` on.  From `verdicts[firsts[i] + i]` on
    it gets one word for each move and one for the final position, made of the parts above: the
    mate that the side to move has there; whether the move played is no key, and then the length
    of the mate that still follows it, its own move counted.  The final position is only searched
    if the winner (0 nobody, 1 White, 2 Black) may have been spared the mate: his own mate as
    elsewhere, or the mate against the loser to move as what follows.  `limit` is the most
    positions made for one position of a game.
    """
    for game in range(len(firsts)):
        i = np.uint64(game)
        _search(
            start,
            played,
            firsts[i],
            plies[i],
            winners[i],
            full,
            checks,
            limit,
            verdicts,
            firsts[i] + i,
            moves,
            store,
            table,
            white_work,
            black_work,
        )


@entry(STATE, SMALL, U64, MOVES)
@jit
def replay(state: State, played: Small, plies: np.uint64, out: Words) -> None:
    """Write the position after so many moves to `out`: the six words of its state, and the
    number of moves since the last capture or pawn move (if there was one; else since the start,
    plus `out[6]`)."""
    clock = out[6]
    ply = ZERO
    while ply < plies:
        after = make(state, np.uint64(played[ply]))
        men = popcount(occupied(after)) == popcount(occupied(state))
        pawns = state.p2 & ~(state.p0 | state.p1) == after.p2 & ~(after.p0 | after.p1)
        clock = clock + ONE if men and pawns else ZERO
        state = after
        ply += ONE
    out[0], out[1], out[2] = state.p0, state.p1, state.p2
    out[3], out[4], out[5] = state.white, state.flags, state.key
    out[6] = clock
