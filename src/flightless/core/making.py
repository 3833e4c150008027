"""Making a move: the state after it, Zobrist key and all.

Compiled functions.  A state is never changed; there is nothing to take back.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import occupied
from flightless.core.bits import ONE, ZERO, ctz
from flightless.core.compiled import inner
from flightless.core.state import State
from flightless.core.tables import (
    CASTLING_KEEP,
    CASTLING_KEYS,
    EN_PASSANT_KEYS,
    PIECE_KEYS,
    PROMOTION_CODE,
    TURN_KEY,
)

__all__ = ["make", "make_without_key", "with_key"]

_N2, _N6, _N7, _N8, _N9, _N12 = (np.uint64(n) for n in (2, 6, 7, 8, 9, 12))
_N15, _N16 = np.uint64(15), np.uint64(16)
_SQUARE = np.uint64(63)
_NOT_A, _NOT_H = np.uint64(0xFEFEFEFEFEFEFEFE), np.uint64(0x7F7F7F7F7F7F7F7F)
_PAWN_CODE, _KING_CODE = np.uint64(4), np.uint64(6)
_FLAG_RIGHTS = np.uint64(0x1E)


@inner
def make(state: State, move: np.uint64) -> State:
    """The state after a legal move."""
    return _made(state, move, True)


@inner
def make_without_key(state: State, move: np.uint64) -> State:
    """As `make`, but the key means nothing afterwards: for replays that look at positions
    only, see `with_key`."""
    return _made(state, move, False)


@inner
def with_key(state: State) -> State:
    """The state with its Zobrist key computed from scratch."""
    key = CASTLING_KEYS[(state.flags >> ONE) & _N15] ^ (TURN_KEY if state.flags & ONE else ZERO)
    square = (state.flags >> _N8) & _SQUARE
    if square:
        key ^= EN_PASSANT_KEYS[square & _N7]
    men = occupied(state)
    while men:
        square = ctz(men)
        men &= men - ONE
        code = (
            ((state.p0 >> square) & ONE)
            | ((state.p1 >> square) & ONE) << ONE
            | ((state.p2 >> square) & ONE) << _N2
        )
        key ^= PIECE_KEYS[((state.white >> square) & ONE) << _N9 | code << _N6 | square]
    return State(state.p0, state.p1, state.p2, state.white, state.flags, key)


@inner
def _made(state: State, move: np.uint64, keyed: bool) -> State:
    origin = move & _SQUARE
    target = (move >> _N6) & _SQUARE
    us = state.flags & ONE
    our_keys = us << _N9
    their_keys = our_keys ^ (ONE << _N9)
    p0 = (state.p0 >> origin) & ONE
    p1 = (state.p1 >> origin) & ONE
    p2 = (state.p2 >> origin) & ONE
    code = p0 | p1 << ONE | p2 << _N2
    taken = (
        ((state.p0 >> target) & ONE)
        | ((state.p1 >> target) & ONE) << ONE
        | ((state.p2 >> target) & ONE) << _N2
    )
    key = (
        state.key
        ^ TURN_KEY
        ^ PIECE_KEYS[our_keys | code << _N6 | origin]
        ^ PIECE_KEYS[their_keys | taken << _N6 | target]
    )
    placed = code
    promotion = move >> _N12
    if promotion:
        placed = PROMOTION_CODE[promotion & _N7]
    key ^= PIECE_KEYS[our_keys | placed << _N6 | target]
    keep = ~(ONE << origin | ONE << target)
    new0 = (state.p0 & keep) | (placed & ONE) << target
    new1 = (state.p1 & keep) | ((placed >> ONE) & ONE) << target
    new2 = (state.p2 & keep) | (placed >> _N2) << target
    white = (state.white & keep) | us << target
    old_square = (state.flags >> _N8) & _SQUARE
    if old_square:
        key ^= EN_PASSANT_KEYS[old_square & _N7]
    flags = (state.flags & _FLAG_RIGHTS) | (us ^ ONE)
    if code == _PAWN_CODE:
        if old_square and target == old_square:
            passed = target ^ _N8
            new2 ^= ONE << passed
            white &= ~(ONE << passed)
            key ^= PIECE_KEYS[their_keys | _PAWN_CODE << _N6 | passed]
        elif origin ^ target == _N16:
            beside = ONE << target
            beside = ((beside & _NOT_H) << ONE) | ((beside & _NOT_A) >> ONE)
            theirs = new2 & ~(new0 | new1) & (~white if us else white)
            if beside & theirs:
                flags |= ((origin + target) >> ONE) << _N8
                key ^= EN_PASSANT_KEYS[target & _N7]
    elif code == _KING_CODE and (origin ^ target == _N2 or origin ^ target == _N6):
        rook = (origin + target) >> ONE
        corner = target + ONE if target > origin else target - _N2
        both = ONE << rook | ONE << corner
        new1 ^= both
        if us:
            white ^= both
        key ^= PIECE_KEYS[our_keys | _N2 << _N6 | corner] ^ PIECE_KEYS[our_keys | _N2 << _N6 | rook]
    if state.flags & _FLAG_RIGHTS:
        flags &= CASTLING_KEEP[origin] & CASTLING_KEEP[target]
        key ^= CASTLING_KEYS[(state.flags >> ONE) & _N15] ^ CASTLING_KEYS[(flags >> ONE) & _N15]
    return State(new0, new1, new2, white, flags, key if keyed else ZERO)
