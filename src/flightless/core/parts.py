"""Parts that the generators of moves share: checks and pins, targets of kings and pawns.

Compiled functions on states and bit sets.  All moves are in `moves.py`, those that give check
in `checking.py`.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import attackers, knight_span, pawn_span, pins, slider_danger
from flightless.core.bits import ALL, ONE, ZERO, ctz
from flightless.core.compiled import inner
from flightless.core.state import Moves, State
from flightless.core.tables import KING, KNIGHT, PAWN

__all__ = ["en_passant_captures", "king_targets", "pawn_targets", "survey", "write_targets"]

_N2, _N3, _N6, _N7, _N8, _N9 = (np.uint64(n) for n in (2, 3, 6, 7, 8, 9))
_SQUARE = np.uint64(63)
_BLACK_BASE = np.uint64(56)
_SHORT_PATH, _SHORT_TO = np.uint64(0x60), np.uint64(0x40)
_LONG_PATH, _LONG_KING_PATH, _LONG_TO = np.uint64(0x0E), np.uint64(0x0C), np.uint64(0x04)
_RANK_3, _RANK_6 = np.uint64(0x0000000000FF0000), np.uint64(0x0000FF0000000000)
_NOT_A, _NOT_H = np.uint64(0xFEFEFEFEFEFEFEFE), np.uint64(0x7F7F7F7F7F7F7F7F)


@inner
def survey(
    state: State, us: np.uint64, own: np.uint64, occ: np.uint64, king: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """Checks and pins on the king of the side to move.

    Returns (men that give check, squares that a move of another man must go to, straight
    pin lines, diagonal pin lines); the squares are all when there is no check and none in
    double check.
    """
    them = occ ^ own
    givers, answers, straight_pins, diagonal_pins = pins(
        king, occ, state.p1 & ~state.p2 & them, state.p0 & ~state.p2 & them
    )
    leapers = (
        state.p2
        & them
        & (
            (KNIGHT[king] & state.p0)
            | (KING[king] & state.p1)
            | (PAWN[us << _N6 | king] & ~(state.p0 | state.p1))
        )
    )
    givers |= leapers
    answers |= leapers
    if givers == ZERO:
        answers = ALL
    elif givers & (givers - ONE):
        answers = ZERO
    return givers, answers, straight_pins, diagonal_pins


@inner
def king_targets(
    state: State,
    us: np.uint64,
    own: np.uint64,
    occ: np.uint64,
    king: np.uint64,
    givers: np.uint64,
) -> np.uint64:
    """Where the king of the side to move may go, castling (two squares aside) included."""
    steps = KING[king] & ~own
    base = ZERO if us else _BLACK_BASE
    rights = (state.flags >> (ONE if us else _N3)) & _N3
    paths = ZERO
    if rights and givers == ZERO:
        home = occ >> base
        if rights & ONE and home & _SHORT_PATH == ZERO:
            paths |= _SHORT_PATH << base
        if rights & _N2 and home & _LONG_PATH == ZERO:
            paths |= _LONG_KING_PATH << base
    wanted = steps | paths
    if wanted == ZERO:
        return ZERO
    them = occ ^ own
    leapers = state.p2 & them
    wanted &= ~(
        pawn_span(leapers & ~(state.p0 | state.p1), us ^ ONE)
        | knight_span(leapers & state.p0)
        | KING[ctz(leapers & state.p1) & _SQUARE]
    )
    if wanted == ZERO:
        return ZERO
    wanted &= ~slider_danger(
        occ ^ (ONE << king), state.p1 & ~state.p2 & them, state.p0 & ~state.p2 & them
    )
    targets = wanted & steps
    if paths:
        home = wanted >> base
        if home & _SHORT_PATH == _SHORT_PATH:
            targets |= _SHORT_TO << base
        if home & _LONG_KING_PATH == _LONG_KING_PATH:
            targets |= _LONG_TO << base
    return np.uint64(targets)


@inner
def en_passant_captures(
    state: State, us: np.uint64, occ: np.uint64, king: np.uint64, pawns: np.uint64
) -> np.uint64:
    """The pawns of the side to move that may capture en passant: tried man by man, because
    two pawns leave the rank at once."""
    square = (state.flags >> _N8) & _SQUARE
    if square == ZERO:
        return ZERO
    found = ZERO
    passed = ONE << (square ^ _N8)
    takers = PAWN[(us ^ ONE) << _N6 | square] & pawns
    while takers:
        taker = takers & (ZERO - takers)
        takers ^= taker
        after = occ ^ taker ^ passed ^ (ONE << square)
        if attackers(state, king, us ^ ONE, after) & ~passed == ZERO:
            found |= taker
    return found


@inner
def _forward(squares: np.uint64, us: np.uint64) -> np.uint64:
    return squares << _N8 if us else squares >> _N8


@inner
def _east(squares: np.uint64, us: np.uint64) -> np.uint64:
    squares &= _NOT_H
    return squares << _N9 if us else squares >> _N7


@inner
def _west(squares: np.uint64, us: np.uint64) -> np.uint64:
    squares &= _NOT_A
    return squares << _N7 if us else squares >> _N9


@inner
def pawn_targets(
    us: np.uint64,
    pawns: np.uint64,
    occ: np.uint64,
    them: np.uint64,
    answers: np.uint64,
    straight_pins: np.uint64,
    diagonal_pins: np.uint64,
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """Targets of steps, double steps, and captures to the east and west, pins heeded."""
    free = pawns & ~(straight_pins | diagonal_pins)
    steps = (_forward(free, us) | (_forward(pawns & straight_pins, us) & straight_pins)) & ~occ
    doubles = _forward(steps & (_RANK_3 if us else _RANK_6), us) & ~occ
    slanted = pawns & diagonal_pins
    takes = them & answers
    east = (_east(free, us) | (_east(slanted, us) & diagonal_pins)) & takes
    west = (_west(free, us) | (_west(slanted, us) & diagonal_pins)) & takes
    return steps & answers, doubles & answers, east, west


@inner
def write_targets(
    moves: Moves,
    at: np.uint64,
    origin: np.uint64,
    targets: np.uint64,
) -> np.uint64:
    """Write the moves of one man from `moves[at]` on; returns the index after the last."""
    while targets:
        moves[at] = origin | ctz(targets) << _N6
        at += ONE
        targets &= targets - ONE
    return at
