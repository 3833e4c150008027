"""A move in standard algebraic notation, read from bytes and found on the board.

Compiled functions.  What is usual is decided here; whatever is not (long notation, odd
letters, an illegal or ambiguous move) is given back as an error for python-chess to judge.
Notation: PGN Standard, section 8.2.3 (S. Edwards, 1994).
"""

from __future__ import annotations

from typing import Final

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
from flightless.core.bits import ALL, FILE_A, ONE, ZERO, ctz
from flightless.core.compiled import inner
from flightless.core.making import make_without_key
from flightless.core.parts import king_targets
from flightless.core.state import State
from flightless.core.tables import KING, KNIGHT, PAWN

__all__ = ["AMBIGUOUS", "ILLEGAL", "STRANGE", "play_san"]

ILLEGAL, AMBIGUOUS, STRANGE = (np.uint64(n) for n in (1, 2, 3))
"""Why a move cannot be played; 0 means that it was."""

_N2, _N3, _N4, _N5, _N6, _N8, _N12 = (np.uint64(n) for n in (2, 3, 4, 5, 6, 8, 12))
_N16, _N24, _N31 = (np.uint64(n) for n in (16, 24, 31))
_BYTE, _SQUARE = np.uint64(255), np.uint64(63)
_LOWER_A, _DIGIT_1 = np.uint64(ord("a")), np.uint64(ord("1"))
_CROSS, _EQUALS, _DASH = (np.uint64(ord(sign)) for sign in "x=-")
_SHORT = np.uint64(int.from_bytes(b"O-O", "little"))
_SHORT_NOUGHT = np.uint64(int.from_bytes(b"0-0", "little"))
_LONG = np.uint64(int.from_bytes(b"O-O-O", "little"))
_LONG_NOUGHT = np.uint64(int.from_bytes(b"0-0-0", "little"))
_THREE, _FIVE = np.uint64(0xFFFFFF), np.uint64(0xFFFFFFFFFF)
_RANK_1 = np.uint64(0xFF)
_ENDS = np.uint64(0xFF000000000000FF)
_RANK_2, _RANK_7 = np.uint64(0x000000000000FF00), np.uint64(0x00FF000000000000)
_E1, _E8 = np.uint64(4), np.uint64(60)


def _letters(values: dict[str, int]) -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
    """A table by the lowest five bits of capital letters."""
    table = np.zeros(32, np.uint64)
    for letter, value in values.items():
        table[ord(letter) & 31] = value
    return table


_CODE: Final = _letters({"N": 5, "B": 1, "R": 2, "Q": 3, "K": 6})
_PROMOTION: Final = _letters({"N": 2, "B": 3, "R": 4, "Q": 5})


@inner
def _is_capital(byte: np.uint64) -> bool:
    return bool(byte - np.uint64(65) < np.uint64(26))


@inner
def _castling(state: State, word: np.uint64) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """Castling from its notation: (target, the king as a bit, bytes used, error)."""
    if word & _THREE != _SHORT and word & _THREE != _SHORT_NOUGHT:
        return ZERO, ZERO, ZERO, STRANGE
    long = word & _FIVE == _LONG or word & _FIVE == _LONG_NOUGHT
    us = state.flags & ONE
    home = _E1 if us else _E8
    king = king_square(state, us)
    targets = king_targets(state, us, men_of(state, us), occupied(state), king, checkers(state))
    target = home - _N2 if long else home + _N2
    if king != home or not (targets >> target) & ONE:
        return ZERO, ZERO, ZERO, ILLEGAL
    return target, ONE << king, _N5 if long else _N3, ZERO


@inner
def _pawn_step(
    word: np.uint64, us: np.uint64, pawns: np.uint64, occ: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """A pawn's step or double step: (target, origin as a bit, bytes used, error)."""
    file = (word & _BYTE) - _LOWER_A
    target = (((word >> _N8) & _BYTE) - _DIGIT_1) << _N3 | file
    to = ONE << target
    near = to >> _N8 if us else to << _N8
    far = (near >> _N8 if us else near << _N8) & (_RANK_2 if us else _RANK_7)
    far = far if not (near & occ) else ZERO
    origin = (near | far) & pawns if not to & occ else ZERO
    if origin:
        return target, origin, _N2, ZERO
    third = (word >> _N16) & _BYTE
    long_notation = third in (_DASH, _CROSS) or third - _LOWER_A < _N8
    return ZERO, ZERO, ZERO, STRANGE if long_notation else ILLEGAL


@inner
def _pawn_capture(
    state: State, word: np.uint64, us: np.uint64, pawns: np.uint64, them: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """A pawn's capture: (target, origin as a bit, bytes used, error)."""
    from_file = (word & _BYTE) - _LOWER_A
    file = ((word >> _N16) & _BYTE) - _LOWER_A
    rank = ((word >> _N24) & _BYTE) - _DIGIT_1
    if (word >> _N8) & _BYTE != _CROSS or file >= _N8 or rank >= _N8:
        return ZERO, ZERO, ZERO, STRANGE
    target = rank << _N3 | file
    passed = (state.flags >> _N8) & _SQUARE
    origin = (PAWN[(us ^ ONE) << _N6 | target] & (FILE_A << from_file)) & pawns
    taken = (them >> target) & ONE or (passed != ZERO and target == passed)
    if origin and taken:
        return target, origin, _N4, ZERO
    return ZERO, ZERO, ZERO, ILLEGAL


@inner
def _promotion(
    word: np.uint64, target: np.uint64, used: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64]:
    """What a pawn becomes on its target: (bits of the move, bytes used in all, error)."""
    if not (_ENDS >> target) & ONE:
        return ZERO, used, ZERO
    rest = word >> (used << _N3)
    if rest & _BYTE == _EQUALS:
        rest >>= _N8
        used += ONE
    letter = rest & _BYTE
    if not _is_capital(letter) or not _PROMOTION[letter & _N31]:
        return ZERO, used, STRANGE
    return _PROMOTION[letter & _N31] << _N12, used + ONE, ZERO


@inner
def _places(state: State, code: np.uint64, target: np.uint64) -> np.uint64:
    """Where men of a kind and either colour stand from which they attack the target.

    All ways to move are looked at and the right ones kept: that is cheaper than branches that
    the processor cannot foresee.
    """
    bit0, bit1, bit2 = ZERO - (code & ONE), ZERO - ((code >> ONE) & ONE), ZERO - (code >> _N2)
    men = ~((state.p0 ^ bit0) | (state.p1 ^ bit1) | (state.p2 ^ bit2))
    occ = occupied(state)
    lines = (bishop_attacks(target, occ) & bit0) | (rook_attacks(target, occ) & bit1)
    leaps = (KNIGHT[target] & bit0) | (KING[target] & bit1)
    return np.uint64(men & ((lines & ~bit2) | (leaps & bit2)))


@inner
def _piece_move(
    state: State, word: np.uint64, code: np.uint64, own: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """A piece's move: (target, origins as bits, bytes used, error).

    Origins are all places of such a man that fit the notation.
    """
    rest = word >> _N8
    used = _N3
    mask = ALL
    file = (rest & _BYTE) - _LOWER_A
    rank = ((rest >> _N8) & _BYTE) - _DIGIT_1
    if file >= _N8:
        rank = (rest & _BYTE) - _DIGIT_1
        if rank < _N8:
            mask = _RANK_1 << (rank << _N3)
            rest >>= _N8
            used += ONE
    elif rank >= _N8:
        mask = FILE_A << file
        rest >>= _N8
        used += ONE
    else:
        third = (rest >> _N16) & _BYTE
        if third == _CROSS or third - _LOWER_A < _N8:
            mask = ONE << (rank << _N3 | file)
            rest >>= _N16
            used += _N2
    if rest & _BYTE == _CROSS:
        rest >>= _N8
        used += ONE
    file = (rest & _BYTE) - _LOWER_A
    rank = ((rest >> _N8) & _BYTE) - _DIGIT_1
    if file >= _N8 or rank >= _N8:
        return ZERO, ZERO, ZERO, STRANGE
    target = rank << _N3 | file
    if (own >> target) & ONE:
        return ZERO, ZERO, ZERO, ILLEGAL
    return target, _places(state, code, target) & own & mask, used, ZERO


@inner
def _safe(state: State, us: np.uint64) -> bool:
    """Whether the king of a side is not attacked.

    All lines are looked at even where no man stands on them: that is cheaper than a branch
    that the processor cannot foresee.
    """
    occ = occupied(state)
    king = king_square(state, us)
    lines = (bishop_attacks(king, occ) & state.p0) | (rook_attacks(king, occ) & state.p1)
    pawns = PAWN[us << _N6 | king] & ~(state.p0 | state.p1)
    leaps = (KNIGHT[king] & state.p0) | (KING[king] & state.p1) | pawns
    return not ((lines & ~state.p2) | (leaps & state.p2)) & men_of(state, us ^ ONE)


@inner
def _unpinned(state: State, origins: np.uint64, target: np.uint64, us: np.uint64) -> np.uint64:
    """Of several men of a kind that reach a target, those who may go there."""
    king = king_square(state, us)
    to = ONE << target
    able = ZERO
    while origins:
        one = origins & (ZERO - origins)
        origins ^= one
        occ = (occupied(state) ^ one) | to
        if not attackers(state, king, us ^ ONE, occ) & ~to:
            able |= one
    return able


@inner
def play_san(state: State, word: np.uint64) -> tuple[State, np.uint64, np.uint64, np.uint64]:
    """Play the move that the first bytes of a word spell.

    Returns (state after it, move, bytes used, error); marks after the move are the
    caller's.  With an error, the other values mean nothing.
    """
    us = state.flags & ONE
    occ = occupied(state)
    own = men_of(state, us)
    first = word & _BYTE
    promotion = ZERO
    if first - _LOWER_A < _N8:
        pawns = state.p2 & ~(state.p0 | state.p1) & own
        if ((word >> _N8) & _BYTE) - _DIGIT_1 < _N8:
            target, origins, used, error = _pawn_step(word, us, pawns, occ)
        else:
            target, origins, used, error = _pawn_capture(state, word, us, pawns, occ ^ own)
        if error == ZERO:
            promotion, used, error = _promotion(word, target, used)
    else:
        code = _CODE[first & _N31] if _is_capital(first) else ZERO
        if code:
            target, origins, used, error = _piece_move(state, word, code, own)
        else:
            target, origins, used, error = _castling(state, word)
    if error:
        return state, ZERO, ZERO, error
    if origins & (origins - ONE):
        origins = _unpinned(state, origins, target, us)
    if origins == ZERO:
        return state, ZERO, ZERO, ILLEGAL
    if origins & (origins - ONE):
        return state, ZERO, ZERO, AMBIGUOUS
    move = ctz(origins) | target << _N6 | promotion
    after = make_without_key(state, move)
    return after, move, used, ZERO if _safe(after, us) else ILLEGAL
