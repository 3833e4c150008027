"""Full-width mate search: an AND/OR search with a table, compiled.

Exact within the number of moves asked for: every move of the mating side and every reply.
`decide` is one function for both sides, because compiled functions that call each other
cannot be loaded from the disk cache.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import (
    attackers,
    bishop_attacks,
    checkers,
    king_square,
    men_of,
    occupied,
    rook_attacks,
)
from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import inner
from flightless.core.mate import find_mate, is_checkmate
from flightless.core.moves import count_moves, generate, generate_checks, make
from flightless.core.state import MOST_MOVES, Moves, State
from flightless.core.tables import BISHOP_RAYS, KING, KNIGHT, PAWN, ROOK_RAYS
from flightless.prove.kernels_table import BYTE, MOVE, known_move, mates_within, probe, store

__all__ = [
    "ATTACKS",
    "BY_CHECKS",
    "DEFENDS",
    "LIMIT",
    "NODES",
    "STALEMATE",
    "STOPPED",
    "decide",
    "mate_in_two",
    "new_scratch",
    "new_work",
]

ATTACKS, DEFENDS, BY_CHECKS = ZERO, ONE, np.uint64(2)
"""Who is to move in `decide`: the side that wants to mate, or the other.  With `BY_CHECKS`
added, the mating side may only give checks."""

NODES, LIMIT, STOPPED = (np.uint64(n) for n in range(3))
"""The first words of the work array: positions made so far, how many are allowed, and whether
the limit stopped the search.  From `_KILLERS` on stand the last refutation for each length."""

STALEMATE = np.uint64(1 << 15)
"""What `decide` gives for a defender who is stalemated: a 'reply' that is no move."""

_KILLERS = np.uint64(8)
_N2, _N3, _N6, _N8, _N12, _N16 = (np.uint64(n) for n in (2, 3, 6, 8, 12, 16))
_SQUARE = np.uint64(63)
_ENDS = np.uint64(0xFF000000000000FF)
_NO_CHECK, _LAST = np.uint64(512), np.uint64(0xFFFF)
_UNLIMITED = 1 << 63
_CHECKS_KEY = np.uint64(0x9E3779B97F4A7C15)
"""Keeps what is known about mates by checks apart in the table."""


def new_work(limit: int | None = None) -> Moves:
    """A fresh work array, with a limit of positions to make or none."""
    work = np.zeros(8 + 256, np.uint64)
    work[1] = _UNLIMITED if limit is None else limit
    return work


def new_scratch(longest: int) -> Moves:
    """Room for the moves of a search to `longest` moves."""
    return np.empty(8 * MOST_MOVES * (longest + 4), np.uint64)


@inner
def _moves_so(state: State, origin: np.uint64, target: np.uint64, occ: np.uint64) -> bool:
    """Whether the man on `origin`, no king, moves to `target` but for pins.

    Promotions and en passant are denied; `target` holds no man of his side.
    """
    one, to = ONE << origin, ONE << target
    if state.p2 & one:
        if state.p0 & one:
            return bool(KNIGHT[origin] & to)
        if to & _ENDS:
            return False
        us = state.flags & ONE
        if PAWN[us << _N6 | origin] & to:
            return bool(occ & to)
        ahead = origin + _N8 if us else origin - _N8
        if target == ahead:
            return not occ & to
        far = origin + _N16 if us else origin - _N16
        home = ONE if us else _N6
        return bool(target == far and origin >> _N3 == home and not occ & (to | ONE << ahead))
    if state.p1 & one and ROOK_RAYS[origin] & to:
        return bool(rook_attacks(origin, occ) & to)
    if state.p0 & one and BISHOP_RAYS[origin] & to:
        return bool(bishop_attacks(origin, occ) & to)
    return False


@inner
def _playable(state: State, move: np.uint64) -> bool:
    """Whether a move taken from another position is legal here, where there is no check.

    Castling, en passant and promotions are denied: they are found by generating moves.
    """
    if move >> _N12:
        return False
    origin, target = move & _SQUARE, (move >> _N6) & _SQUARE
    us = state.flags & ONE
    occ = occupied(state)
    own = men_of(state, us)
    one, to = ONE << origin, ONE << target
    if own & one == ZERO or own & to:
        return False
    king = king_square(state, us)
    if origin == king:
        return bool(KING[origin] & to) and not attackers(state, target, us ^ ONE, occ ^ one)
    if not _moves_so(state, origin, target, occ):
        return False
    if (ROOK_RAYS[king] | BISHOP_RAYS[king]) & one:
        return not attackers(state, king, us ^ ONE, (occ ^ one) | to) & ~to
    return True


@inner
def mate_in_two(state: State, moves: Moves, at: np.uint64, work: Moves) -> np.uint64:
    """A move that mates at once or forces mate in two, or 0.

    The reply that refuted the last quiet move is tried before any are generated.
    """
    checks = generate_checks(state, moves, at)
    i = at
    while i < checks:
        if is_checkmate(make(state, moves[i])):
            return np.uint64(moves[i])
        i += ONE
    nodes = ONE
    i = at
    while i < checks:
        child = make(state, moves[i])
        last = generate(child, moves, checks)
        nodes += ONE
        j = checks
        while j < last and find_mate(make(child, moves[j]), moves, last):
            nodes += ONE
            j += ONE
        if j == last:
            work[NODES] += nodes
            return np.uint64(moves[i])
        i += ONE
    end = generate(state, moves, checks)
    killer = work[_KILLERS + ONE]
    i = checks
    while i < end:
        move = moves[i]
        i += ONE
        j = at
        while j < checks and moves[j] != move:
            j += ONE
        if j < checks:
            continue
        child = make(state, move)
        nodes += _N2
        if _playable(child, killer) and find_mate(make(child, killer), moves, end) == ZERO:
            continue
        last = generate(child, moves, end)
        j = end
        while j < last and find_mate(make(child, moves[j]), moves, last):
            nodes += ONE
            j += ONE
        if j < last:
            killer = moves[j]
        elif last > end:  # not stalemate
            work[NODES] += nodes
            return np.uint64(move)
    work[_KILLERS + ONE] = killer
    work[NODES] += nodes
    return ZERO


@inner
def _copy(moves: Moves, at: np.uint64, end: np.uint64) -> np.uint64:
    """Write the moves from `at` to `end` once more behind them; returns the new end."""
    i = at
    while i < end:
        moves[end + i - at] = moves[i]
        i += ONE
    return end + end - at


@inner
def _in_order(
    state: State, first: np.uint64, moves: Moves, at: np.uint64, start: np.uint64, end: np.uint64
) -> None:
    """Sort the moves from `start` on, with a rank above the move in each word.

    `first` leads, then checks, then moves that leave few replies; moves that stalemate have
    the rank `_LAST`.  The checks are listed from `at` to `start`.
    """
    i = start
    while i < end:
        move = moves[i]
        replies = count_moves(make(state, move))
        rank = replies << ONE
        j = at
        while j < start and moves[j] != move:
            j += ONE
        if j == start:
            rank += _NO_CHECK
        if move == first:
            rank = ZERO
        if replies == ZERO:
            rank = _LAST
        word = rank << _N16 | move
        j = i
        while j > start and moves[j - ONE] > word:
            moves[j] = moves[j - ONE]
            j -= ONE
        moves[j] = word
        i += ONE


@inner
def _key(state: State, side: np.uint64) -> np.uint64:
    return np.uint64(state.key ^ _CHECKS_KEY if side & BY_CHECKS else state.key)


@inner
def decide(
    state: State,
    left: np.uint64,
    side: np.uint64,
    moves: Moves,
    at: np.uint64,
    table: Moves,
    work: Moves,
) -> np.uint64:
    """Is there mate within `left` moves of the mating side?  The side to move decides.

    `ATTACKS`: a move of his that forces it, or 0.  `DEFENDS` (his replies are still to come,
    `left` moves of the other side after them): a reply after which there is none, `STALEMATE`,
    or 0 if every reply loses; checkmate gives 0.  0 means nothing if `work[STOPPED]` is set.
    """
    if side & DEFENDS:
        if left == ZERO:
            return ZERO if is_checkmate(state) else STALEMATE
        attacks = side ^ DEFENDS
        check = checkers(state)
        end = at
        if left > _N2:
            # A reply already known to hold costs one look.
            end = generate(state, moves, at)
            i = at
            while i < end:
                if probe(table, _key(make(state, moves[i]), side)) & BYTE >= left:
                    return np.uint64(moves[i])
                i += ONE
        if check == ZERO and left > ONE:
            # Checks first: the answer to a check is soon searched.
            last = generate_checks(state, moves, end)
            i = end
            while i < last:
                work[NODES] += ONE
                after = make(state, moves[i])
                if decide(after, left, attacks, moves, last, table, work) == ZERO:
                    return np.uint64(moves[i])
                i += ONE
            killer = work[_KILLERS + left]
            if _playable(state, killer):
                work[NODES] += ONE
                if decide(make(state, killer), left, attacks, moves, end, table, work) == ZERO:
                    return np.uint64(killer)
        if end == at:
            end = generate(state, moves, at)
            if end == at:
                return ZERO if check else STALEMATE
        i = at
        while i < end:
            work[NODES] += ONE
            after = make(state, moves[i])
            if decide(after, left, attacks, moves, end, table, work) == ZERO:
                work[_KILLERS + left] = moves[i]
                return np.uint64(moves[i])
            i += ONE
        return ZERO

    if left == ONE:
        return find_mate(state, moves, at)
    key = _key(state, side)
    known = probe(table, key)
    if known & BYTE >= left:
        return ZERO
    if mates_within(known, left):
        return known_move(known)
    if work[NODES] >= work[LIMIT]:
        work[STOPPED] = ONE
        return ZERO
    if left == _N2 and side == ATTACKS:
        move = mate_in_two(state, moves, at, work)
        if move:
            store(table, key, ZERO, _N2, move)
        else:
            store(table, key, _N2, BYTE, ZERO)
        return move
    if known & BYTE < left - ONE:
        move = decide(state, left - ONE, side, moves, at, table, work)
        if move or work[STOPPED]:
            return move
    start = generate_checks(state, moves, at)
    end = _copy(moves, at, start) if side & BY_CHECKS else generate(state, moves, start)
    _in_order(state, known_move(known), moves, at, start, end)
    i = start
    while i < end and moves[i] >> _N16 != _LAST:
        move = moves[i] & MOVE
        work[NODES] += ONE
        reply = decide(make(state, move), left - ONE, side | DEFENDS, moves, end, table, work)
        if work[STOPPED]:
            return ZERO
        if reply == ZERO:
            store(table, key, left - ONE, left, move)
            return np.uint64(move)
        i += ONE
    store(table, key, left, BYTE, ZERO)
    return ZERO
