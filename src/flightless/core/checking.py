"""Only the legal moves that give check: direct, discovered and double checks.

Compiled functions on states.  Most positions have few, so a search for mates by checks need
not write out the rest.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import (
    attackers,
    bishop_attacks,
    blockers,
    king_square,
    men_of,
    occupied,
    rook_attacks,
)
from flightless.core.bits import ALL, ONE, ZERO, ctz
from flightless.core.compiled import inner
from flightless.core.parts import (
    en_passant_captures,
    king_targets,
    pawn_targets,
    survey,
    write_targets,
)
from flightless.core.state import Moves, State
from flightless.core.tables import KING, KNIGHT, PAWN, THROUGH

__all__ = ["generate_checks"]

_N2, _N6, _N7, _N8, _N9, _N12 = (np.uint64(n) for n in (2, 6, 7, 8, 9, 12))
_SQUARE = np.uint64(63)
_ENDS = np.uint64(0xFF000000000000FF)
_FLAG_RIGHTS = np.uint64(0x1E)
_QUEEN, _ROOK, _BISHOP, _KNIGHT = (np.uint64(n) for n in (5, 4, 3, 2))


@inner
def _promotion_checks(
    moves: Moves,
    at: np.uint64,
    targets: np.uint64,
    back: np.uint64,
    occ: np.uint64,
    their_king: np.uint64,
    discoverers: np.uint64,
) -> np.uint64:
    """Write the promotions that give check; the pawn's leaving may open the way for the new
    man itself."""
    king = ONE << their_king
    while targets:
        target = ctz(targets)
        targets &= targets - ONE
        origin = target + back
        without = occ & ~(ONE << origin)
        straight = rook_attacks(target, without) & king
        diagonal = bishop_attacks(target, without) & king
        discovered = ZERO
        if (ONE << origin) & discoverers:
            discovered = (ONE << target) & ~THROUGH[their_king << _N6 | origin]
        move = origin | target << _N6
        if straight | diagonal | discovered:
            moves[at] = move | _QUEEN << _N12
            at += ONE
        if straight | discovered:
            moves[at] = move | _ROOK << _N12
            at += ONE
        if diagonal | discovered:
            moves[at] = move | _BISHOP << _N12
            at += ONE
        if (KNIGHT[target] & king) | discovered:
            moves[at] = move | _KNIGHT << _N12
            at += ONE
    return at


@inner
def _pawn_checks(
    moves: Moves,
    at: np.uint64,
    targets: np.uint64,
    back: np.uint64,
    occ: np.uint64,
    their_king: np.uint64,
    direct: np.uint64,
    discoverers: np.uint64,
) -> np.uint64:
    """Write the pawn moves that give check, out of moves to `targets`."""
    if targets & _ENDS:
        at = _promotion_checks(moves, at, targets & _ENDS, back, occ, their_king, discoverers)
        targets &= ~_ENDS
    if discoverers == ZERO:
        targets &= direct
    while targets:
        target = ctz(targets)
        one = ONE << target
        targets ^= one
        origin = target + back
        checks = direct
        if (ONE << origin) & discoverers:
            checks |= ~THROUGH[their_king << _N6 | origin]
        if one & checks:
            moves[at] = origin | target << _N6
            at += ONE
    return at


@inner
def generate_checks(state: State, moves: Moves, at: np.uint64) -> np.uint64:
    """Write the legal moves that give check from `moves[at]` on; returns the end.

    Direct, discovered and double checks, by castling, en passant and promotion too.  The
    side not to move must not be in check already.
    """
    us = state.flags & ONE
    occ = occupied(state)
    own = men_of(state, us)
    them = occ ^ own
    king = king_square(state, us)
    their_king = king_square(state, us ^ ONE)
    from_king = their_king << _N6
    straight_men = state.p1 & ~state.p2 & own
    diagonal_men = state.p0 & ~state.p2 & own
    discoverers = blockers(their_king, occ, straight_men, diagonal_men) & own
    givers, answers, straight_pins, diagonal_pins = survey(state, us, own, occ, king)

    if (ONE << king) & discoverers or state.flags & _FLAG_RIGHTS:
        at = _king_checks(state, moves, at, us, own, occ, king, givers, their_king, discoverers)
    if answers == ZERO:
        return at
    free = answers & ~own
    men = state.p2 & state.p0 & own & ~(straight_pins | diagonal_pins)
    while men:
        square = ctz(men)
        checks = KNIGHT[their_king]
        if (ONE << square) & discoverers:
            checks = ALL
        at = write_targets(moves, at, square, KNIGHT[square] & free & checks)
        men &= men - ONE
    slanting = bishop_attacks(their_king, occ)
    upright = rook_attacks(their_king, occ)
    men = diagonal_men & ~straight_pins
    while men:
        square = ctz(men)
        one = ONE << square
        men ^= one
        checks = slanting
        if one & state.p1:
            checks |= upright
        if one & discoverers:
            checks |= ~THROUGH[from_king | square]
        targets = free & checks
        if one & diagonal_pins:
            targets &= diagonal_pins
        if targets:
            at = write_targets(moves, at, square, bishop_attacks(square, occ) & targets)
    men = straight_men & ~diagonal_pins
    while men:
        square = ctz(men)
        one = ONE << square
        men ^= one
        checks = upright
        if one & state.p0:
            checks |= slanting
        if one & discoverers:
            checks |= ~THROUGH[from_king | square]
        targets = free & checks
        if one & straight_pins:
            targets &= straight_pins
        if targets:
            at = write_targets(moves, at, square, rook_attacks(square, occ) & targets)
    pawns = state.p2 & ~(state.p0 | state.p1) & own
    steps, doubles, east, west = pawn_targets(
        us, pawns, occ, them, answers, straight_pins, diagonal_pins
    )
    direct = PAWN[(us ^ ONE) << _N6 | their_king]
    back = ZERO - _N8 if us else _N8
    at = _pawn_checks(moves, at, steps, back, occ, their_king, direct, discoverers)
    at = _pawn_checks(moves, at, doubles, back + back, occ, their_king, direct, discoverers)
    back = ZERO - _N9 if us else _N7
    at = _pawn_checks(moves, at, east, back, occ, their_king, direct, discoverers)
    back = ZERO - _N7 if us else _N9
    at = _pawn_checks(moves, at, west, back, occ, their_king, direct, discoverers)
    if state.flags >> _N8:
        at = _en_passant_checks(state, moves, at, us, occ, king, pawns, their_king)
    return at


@inner
def _king_checks(
    state: State,
    moves: Moves,
    at: np.uint64,
    us: np.uint64,
    own: np.uint64,
    occ: np.uint64,
    king: np.uint64,
    givers: np.uint64,
    their_king: np.uint64,
    discoverers: np.uint64,
) -> np.uint64:
    """Write the king's discovered checks, and castling when the rook gives check."""
    targets = king_targets(state, us, own, occ, king, givers)
    steps = targets & KING[king]
    castling = targets ^ steps
    if (ONE << king) & discoverers:
        at = write_targets(moves, at, king, steps & ~THROUGH[their_king << _N6 | king])
    while castling:
        target = ctz(castling)
        castling &= castling - ONE
        rook = (king + target) >> ONE
        corner = target + ONE if target > king else target - _N2
        after = occ ^ (ONE << king) ^ (ONE << target) ^ (ONE << corner) ^ (ONE << rook)
        if rook_attacks(rook, after) & (ONE << their_king):
            moves[at] = king | target << _N6
            at += ONE
    return at


@inner
def _en_passant_checks(
    state: State,
    moves: Moves,
    at: np.uint64,
    us: np.uint64,
    occ: np.uint64,
    king: np.uint64,
    pawns: np.uint64,
    their_king: np.uint64,
) -> np.uint64:
    target = (state.flags >> _N8) & _SQUARE
    takers = en_passant_captures(state, us, occ, king, pawns)
    while takers:
        taker = takers & (ZERO - takers)
        takers ^= taker
        after = occ ^ taker ^ (ONE << target) ^ (ONE << (target ^ _N8))
        lines = attackers(state, their_king, us, after) & ~state.p2
        if lines | (PAWN[us << _N6 | target] & (ONE << their_king)):
            moves[at] = ctz(taker) | target << _N6
            at += ONE
    return at
