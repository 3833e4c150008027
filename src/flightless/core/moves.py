"""Legal moves: all of them, their number, only those that give check; and making one.

Compiled functions on states; legality comes from the squares that answer a check, pin lines
and danger squares, not from making the move.  Whether a move mates is in `mate.py`.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import (
    attackers,
    bishop_attacks,
    blockers,
    king_square,
    knight_span,
    men_of,
    occupied,
    pawn_span,
    pins,
    rook_attacks,
    slider_danger,
)
from flightless.core.bits import ALL, ONE, ZERO, ctz, popcount
from flightless.core.compiled import inner
from flightless.core.state import Moves, State
from flightless.core.tables import (
    CASTLING_KEEP,
    CASTLING_KEYS,
    EN_PASSANT_KEYS,
    KING,
    KNIGHT,
    PAWN,
    PIECE_KEYS,
    PROMOTION_CODE,
    THROUGH,
    TURN_KEY,
)

__all__ = [
    "count_moves",
    "en_passant_captures",
    "generate",
    "generate_checks",
    "king_targets",
    "make",
    "survey",
]

_N2, _N3, _N4, _N6, _N7 = (np.uint64(n) for n in (2, 3, 4, 6, 7))
_N8, _N9, _N12, _N15, _N16 = (np.uint64(n) for n in (8, 9, 12, 15, 16))
_SQUARE = np.uint64(63)
_BLACK_BASE = np.uint64(56)
_SHORT_PATH, _SHORT_TO = np.uint64(0x60), np.uint64(0x40)
_LONG_PATH, _LONG_KING_PATH, _LONG_TO = np.uint64(0x0E), np.uint64(0x0C), np.uint64(0x04)
_ENDS = np.uint64(0xFF000000000000FF)
_RANK_3, _RANK_6 = np.uint64(0x0000000000FF0000), np.uint64(0x0000FF0000000000)
_NOT_A, _NOT_H = np.uint64(0xFEFEFEFEFEFEFEFE), np.uint64(0x7F7F7F7F7F7F7F7F)
_PAWN_CODE, _KING_CODE = np.uint64(4), np.uint64(6)
_FLAG_RIGHTS = np.uint64(0x1E)
_QUEEN, _ROOK, _BISHOP, _KNIGHT = (np.uint64(n) for n in (5, 4, 3, 2))


# --- what holds the side to move ------------------------------------------------------------


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
def _pawn_targets(
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


# --- all legal moves ------------------------------------------------------------------------


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
    steps, doubles, east, west = _pawn_targets(
        us, pawns, occ, occ ^ own, answers, straight_pins, diagonal_pins
    )
    total += popcount(steps) + popcount(doubles) + popcount(east) + popcount(west)
    if (steps | east | west) & _ENDS:
        total += _N3 * (popcount(steps & _ENDS) + popcount(east & _ENDS) + popcount(west & _ENDS))
    if state.flags >> _N8:
        total += popcount(en_passant_captures(state, us, occ, king, pawns))
    return total


@inner
def _write(
    moves: Moves,
    at: np.uint64,
    origin: np.uint64,
    targets: np.uint64,
) -> np.uint64:
    while targets:
        moves[at] = origin | ctz(targets) << _N6
        at += ONE
        targets &= targets - ONE
    return at


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
    at = _write(moves, at, king, king_targets(state, us, own, occ, king, givers))
    if answers == ZERO:
        return at
    free = answers & ~own
    men = state.p2 & state.p0 & own & ~(straight_pins | diagonal_pins)
    while men:
        square = ctz(men)
        at = _write(moves, at, square, KNIGHT[square] & free)
        men &= men - ONE
    men = state.p0 & ~state.p2 & own & ~straight_pins
    while men:
        square = ctz(men)
        targets = bishop_attacks(square, occ) & free
        if (ONE << square) & diagonal_pins:
            targets &= diagonal_pins
        at = _write(moves, at, square, targets)
        men &= men - ONE
    men = state.p1 & ~state.p2 & own & ~diagonal_pins
    while men:
        square = ctz(men)
        targets = rook_attacks(square, occ) & free
        if (ONE << square) & straight_pins:
            targets &= straight_pins
        at = _write(moves, at, square, targets)
        men &= men - ONE
    pawns = state.p2 & ~(state.p0 | state.p1) & own
    steps, doubles, east, west = _pawn_targets(
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


# --- only the moves that give check ---------------------------------------------------------


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
        at = _write(moves, at, square, KNIGHT[square] & free & checks)
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
            at = _write(moves, at, square, bishop_attacks(square, occ) & targets)
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
            at = _write(moves, at, square, rook_attacks(square, occ) & targets)
    pawns = state.p2 & ~(state.p0 | state.p1) & own
    steps, doubles, east, west = _pawn_targets(
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
        at = _write(moves, at, king, steps & ~THROUGH[their_king << _N6 | king])
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


# --- making a move --------------------------------------------------------------------------


@inner
def make(state: State, move: np.uint64) -> State:
    """The state after a legal move."""
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
    return State(new0, new1, new2, white, flags, key)
