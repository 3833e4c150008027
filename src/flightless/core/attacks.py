"""Who attacks what: sliding attacks, attackers of a square, checkers, pins, danger squares.

Compiled functions on bit sets and states, all `inner`.  Sliding attacks are found by
obstruction difference on each line through the square.  Moves are in `moves.py`.
"""

from __future__ import annotations

import numpy as np

from flightless.core.bits import ONE, ZERO, clz, ctz
from flightless.core.compiled import inner
from flightless.core.state import State
from flightless.core.tables import (
    BETWEEN,
    BISHOP_RAYS,
    KING,
    KNIGHT,
    LINES,
    PAWN,
    ROOK_RAYS,
)

__all__ = [
    "attackers",
    "bishop_attacks",
    "blockers",
    "checkers",
    "in_check",
    "king_square",
    "knight_span",
    "men_of",
    "occupied",
    "pawn_span",
    "pins",
    "rook_attacks",
    "side_to_move",
    "slider_danger",
]

_TOP = np.uint64(1 << 63)
_SIX = np.uint64(6)
_EIGHT = np.uint64(8)
_SQUARE = np.uint64(63)
_NOT_A = np.uint64(0xFEFEFEFEFEFEFEFE)
_NOT_H = np.uint64(0x7F7F7F7F7F7F7F7F)
_NOT_AB = np.uint64(0xFCFCFCFCFCFCFCFC)
_NOT_GH = np.uint64(0x3F3F3F3F3F3F3F3F)
_N1, _N2, _N3, _N4, _N5, _N6, _N7 = (np.uint64(n) for n in range(1, 8))
_N10, _N15, _N17 = np.uint64(10), np.uint64(15), np.uint64(17)
_N9 = np.uint64(9)


@inner
def _line(lower_squares: np.uint64, upper_squares: np.uint64, occupied: np.uint64) -> np.uint64:
    """The squares seen along one line; the subtraction fills from the nearest man below to
    the nearest above (obstruction difference)."""
    upper = upper_squares & occupied
    nearest = _TOP >> clz((lower_squares & occupied) | ONE)
    return (upper ^ (upper - nearest)) & (lower_squares | upper_squares)


@inner
def rook_attacks(square: np.uint64, occupied: np.uint64) -> np.uint64:
    """Squares that a rook attacks, the first man on each line included."""
    at = square * _EIGHT
    return _line(LINES[at], LINES[at + _N1], occupied) | _line(
        LINES[at + _N2], LINES[at + _N3], occupied
    )


@inner
def bishop_attacks(square: np.uint64, occupied: np.uint64) -> np.uint64:
    """Squares that a bishop attacks, the first man on each diagonal included."""
    at = square * _EIGHT
    return _line(LINES[at + _N4], LINES[at + _N5], occupied) | _line(
        LINES[at + _N6], LINES[at + _N7], occupied
    )


@inner
def pawn_span(pawns: np.uint64, white: np.uint64) -> np.uint64:
    """All squares attacked by the pawns of a colour (1 White, 0 Black)."""
    if white != ZERO:
        return ((pawns & _NOT_H) << _N9) | ((pawns & _NOT_A) << _N7)
    return ((pawns & _NOT_H) >> _N7) | ((pawns & _NOT_A) >> _N9)


@inner
def knight_span(knights: np.uint64) -> np.uint64:
    """All squares attacked by knights."""
    return (
        ((knights & _NOT_H) << _N17)
        | ((knights & _NOT_A) << _N15)
        | ((knights & _NOT_GH) << _N10)
        | ((knights & _NOT_AB) << _N6)
        | ((knights & _NOT_H) >> _N15)
        | ((knights & _NOT_A) >> _N17)
        | ((knights & _NOT_GH) >> _N6)
        | ((knights & _NOT_AB) >> _N10)
    )


@inner
def occupied(state: State) -> np.uint64:
    """All men."""
    return state.p0 | state.p1 | state.p2


@inner
def side_to_move(state: State) -> np.uint64:
    """1 when White is to move, else 0."""
    return state.flags & ONE


@inner
def men_of(state: State, white: np.uint64) -> np.uint64:
    """All men of a colour (1 White, 0 Black)."""
    return state.white if white != ZERO else (occupied(state) ^ state.white)


@inner
def king_square(state: State, white: np.uint64) -> np.uint64:
    """Where the king of a colour stands."""
    return ctz(state.p1 & state.p2 & men_of(state, white)) & _SQUARE


@inner
def attackers(state: State, square: np.uint64, by_white: np.uint64, occ: np.uint64) -> np.uint64:
    """The men of a colour that attack a square, lines being blocked by `occ` alone.

    Men of that colour count wherever the state has them, in `occ` or not: mask them out if
    some are meant to be gone.
    """
    straight = state.p1 & ~state.p2
    diagonal = state.p0 & ~state.p2
    leapers = state.p2 & (
        (KNIGHT[square] & state.p0)
        | (KING[square] & state.p1)
        | (PAWN[(by_white ^ ONE) << _SIX | square] & ~(state.p0 | state.p1))
    )
    found = np.uint64(leapers)
    if ROOK_RAYS[square] & straight:
        found |= rook_attacks(square, occ) & straight
    if BISHOP_RAYS[square] & diagonal:
        found |= bishop_attacks(square, occ) & diagonal
    return found & men_of(state, by_white)


@inner
def checkers(state: State) -> np.uint64:
    """The men that give check to the side to move."""
    us = state.flags & ONE
    return attackers(state, king_square(state, us), us ^ ONE, occupied(state))


@inner
def in_check(state: State) -> bool:
    """Whether the side to move is in check."""
    return bool(checkers(state))


@inner
def pins(
    king: np.uint64, occ: np.uint64, straight: np.uint64, diagonal: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """What line pieces of the other side do to a king: checkers, and lines, as bit sets.

    `straight` and `diagonal` are the other side's men that move like rooks and like bishops.
    Returns (checkers, squares that answer each check, straight pin lines, diagonal pin
    lines).  A pin line runs from beside the king to the pinning man, him included, when one
    man of either colour stands between; pin lines of the same sort are united, which is
    enough: no man can move from one to another except a queen, whose straight and
    diagonal moves are looked at apart.
    """
    givers = ZERO
    answers = ZERO
    straight_pins = ZERO
    diagonal_pins = ZERO
    row = king << _SIX
    snipers = ROOK_RAYS[king] & straight
    while snipers:
        square = ctz(snipers)
        one = ONE << square
        snipers ^= one
        between = BETWEEN[row | square]
        men = between & occ
        if men == ZERO:
            givers |= one
            answers |= between | one
        elif men & (men - ONE) == ZERO:
            straight_pins |= between | one
    snipers = BISHOP_RAYS[king] & diagonal
    while snipers:
        square = ctz(snipers)
        one = ONE << square
        snipers ^= one
        between = BETWEEN[row | square]
        men = between & occ
        if men == ZERO:
            givers |= one
            answers |= between | one
        elif men & (men - ONE) == ZERO:
            diagonal_pins |= between | one
    return givers, answers, straight_pins, diagonal_pins


@inner
def blockers(
    king: np.uint64, occ: np.uint64, straight: np.uint64, diagonal: np.uint64
) -> np.uint64:
    """The men of either colour that stand alone between a king and a line piece."""
    found = ZERO
    row = king << _SIX
    snipers = (ROOK_RAYS[king] & straight) | (BISHOP_RAYS[king] & diagonal)
    while snipers:
        men = BETWEEN[row | ctz(snipers)] & occ
        snipers &= snipers - ONE
        if men & (men - ONE) == ZERO:
            found |= men
    return found


@inner
def slider_danger(occ: np.uint64, straight: np.uint64, diagonal: np.uint64) -> np.uint64:
    """All squares attacked by line pieces, lines being blocked by `occ`."""
    danger = ZERO
    while straight:
        danger |= rook_attacks(ctz(straight), occ)
        straight &= straight - ONE
    while diagonal:
        danger |= bishop_attacks(ctz(diagonal), occ)
        diagonal &= diagonal - ONE
    return danger
