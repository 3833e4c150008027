"""Legal moves: all of them, and their number.

Compiled functions on states; legality comes from the squares that answer a check, pin lines
and danger squares, not from making the move.  This is also the place to import the rest of
the generator from: checking moves (`checking.py`) and making a move (`making.py`).  Whether a
move mates is in `mate.py`.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import (
    bishop_attacks,
    king_square,
    men_of,
    occupied,
    rook_attacks,
)
from flightless.core.bits import ONE, ZERO, ctz, popcount
from flightless.core.checking import generate_checks
from flightless.core.compiled import inner
from flightless.core.making import make, make_without_key, with_key
from flightless.core.parts import (
    en_passant_captures,
    king_targets,
    pawn_targets,
    survey,
    write_targets,
)
from flightless.core.state import Moves, State
from flightless.core.tables import KNIGHT

__all__ = [
    "count_moves",
    "en_passant_captures",
    "generate",
    "generate_checks",
    "king_targets",
    "make",
    "make_without_key",
    "survey",
    "with_key",
]

_N2, _N3, _N4, _N6, _N7 = (np.uint64(n) for n in (2, 3, 4, 6, 7))
_N8, _N9, _N12, _N16 = (np.uint64(n) for n in (8, 9, 12, 16))
_SQUARE = np.uint64(63)
_ENDS = np.uint64(0xFF000000000000FF)
_QUEEN, _ROOK, _BISHOP, _KNIGHT = (np.uint64(n) for n in (5, 4, 3, 2))


@inner
def count_moves(state: State) -> np.uint64:
    """The number of legal moves."""
    us = state.flags & ONE
    occ = occupied(state)
    own = men_of(state, us)
    king = king_square(state, us)
    givers, answers, straight_pins, diagonal_pins = survey(state, us, own, occ, king)
    total = popcount(king_targets(state, us, own, occ, king, givers))
    if answers == ZERO:
        return total
    free = answers & ~own
    men = state.p2 & state.p0 & own & ~(straight_pins | diagonal_pins)
    while men:
        total += popcount(KNIGHT[ctz(men)] & free)
        men &= men - ONE
    men = state.p0 & ~state.p2 & own & ~straight_pins
    while men:
        one = men & (ZERO - men)
        targets = bishop_attacks(ctz(men), occ) & free
        if one & diagonal_pins:
            targets &= diagonal_pins
        total += popcount(targets)
        men ^= one
    men = state.p1 & ~state.p2 & own & ~diagonal_pins
    while men:
        one = men & (ZERO - men)
        targets = rook_attacks(ctz(men), occ) & free
        if one & straight_pins:
            targets &= straight_pins
        total += popcount(targets)
        men ^= one
    pawns = state.p2 & ~(state.p0 | state.p1) & own
    steps, doubles, east, west = pawn_targets(
        us, pawns, occ, occ ^ own, answers, straight_pins, diagonal_pins
    )
    total += popcount(steps) + popcount(doubles) + popcount(east) + popcount(west)
    if (steps | east | west) & _ENDS:
        total += _N3 * (popcount(steps & _ENDS) + popcount(east & _ENDS) + popcount(west & _ENDS))
    if state.flags >> _N8:
        total += popcount(en_passant_captures(state, us, occ, king, pawns))
    return total


@inner
def _write_pawns(
    moves: Moves,
    at: np.uint64,
    targets: np.uint64,
    back: np.uint64,
) -> np.uint64:
    """Write pawn moves whose origin is `back` squares from the target (modulo 2^64)."""
    while targets:
        target = ctz(targets)
        move = (target + back) | target << _N6
        if (ONE << target) & _ENDS:
            moves[at] = move | _QUEEN << _N12
            moves[at + ONE] = move | _ROOK << _N12
            moves[at + _N2] = move | _BISHOP << _N12
            moves[at + _N3] = move | _KNIGHT << _N12
            at += _N4
        else:
            moves[at] = move
            at += ONE
        targets &= targets - ONE
    return at


@inner
def generate(state: State, moves: Moves, at: np.uint64) -> np.uint64:
    """Write all legal moves from `moves[at]` on; returns the index after the last.

    The array must have room (`state.MOST_MOVES`).  The order is fixed: king, knights, men
    that move like bishops, like rooks (a queen is in both), pawns, en passant; within each
    by square.
    """
    us = state.flags & ONE
    occ = occupied(state)
    own = men_of(state, us)
    king = king_square(state, us)
    givers, answers, straight_pins, diagonal_pins = survey(state, us, own, occ, king)
    at = write_targets(moves, at, king, king_targets(state, us, own, occ, king, givers))
    if answers == ZERO:
        return at
    free = answers & ~own
    men = state.p2 & state.p0 & own & ~(straight_pins | diagonal_pins)
    while men:
        square = ctz(men)
        at = write_targets(moves, at, square, KNIGHT[square] & free)
        men &= men - ONE
    men = state.p0 & ~state.p2 & own & ~straight_pins
    while men:
        square = ctz(men)
        targets = bishop_attacks(square, occ) & free
        if (ONE << square) & diagonal_pins:
            targets &= diagonal_pins
        at = write_targets(moves, at, square, targets)
        men &= men - ONE
    men = state.p1 & ~state.p2 & own & ~diagonal_pins
    while men:
        square = ctz(men)
        targets = rook_attacks(square, occ) & free
        if (ONE << square) & straight_pins:
            targets &= straight_pins
        at = write_targets(moves, at, square, targets)
        men &= men - ONE
    pawns = state.p2 & ~(state.p0 | state.p1) & own
    steps, doubles, east, west = pawn_targets(
        us, pawns, occ, occ ^ own, answers, straight_pins, diagonal_pins
    )
    at = _write_pawns(moves, at, steps, ZERO - _N8 if us else _N8)
    at = _write_pawns(moves, at, doubles, ZERO - _N16 if us else _N16)
    at = _write_pawns(moves, at, east, ZERO - _N9 if us else _N7)
    at = _write_pawns(moves, at, west, ZERO - _N7 if us else _N9)
    if state.flags >> _N8:
        takers = en_passant_captures(state, us, occ, king, pawns)
        target = (state.flags >> _N8) & _SQUARE
        while takers:
            moves[at] = ctz(takers) | target << _N6
            at += ONE
            takers &= takers - ONE
    return at
