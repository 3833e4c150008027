"""Is it mate, and which moves mate: tests that never write out the replies.

Compiled functions on states.  The order of the tests follows how often each saves the king:
a flight first, then taking the checker or standing between.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import (
    checkers,
    king_square,
    knight_span,
    men_of,
    occupied,
    pawn_span,
    slider_danger,
)
from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import inner
from flightless.core.moves import (
    count_moves,
    en_passant_captures,
    generate_checks,
    king_targets,
    make,
    survey,
)
from flightless.core.state import Moves, State

__all__ = [
    "find_mate",
    "find_mates",
    "has_move",
    "is_checkmate",
    "is_stalemate",
    "mates",
]

_N8 = np.uint64(8)
_RANK_3, _RANK_6 = np.uint64(0x0000000000FF0000), np.uint64(0x0000FF0000000000)


@inner
def is_checkmate(state: State) -> bool:
    """Whether the side to move is mated (FIDE Laws of Chess, article 1.4.1)."""
    us = state.flags & ONE
    occ = occupied(state)
    own = men_of(state, us)
    king = king_square(state, us)
    givers, answers, straight_pins, diagonal_pins = survey(state, us, own, occ, king)
    if givers == ZERO:
        return False
    if king_targets(state, us, own, occ, king, givers):
        return False
    if answers == ZERO:
        return True
    # A pinned man cannot answer a check: pin line and checking line meet on the king only.
    able = own & ~(straight_pins | diagonal_pins)
    pawns = able & state.p2 & ~(state.p0 | state.p1)
    if (knight_span(able & state.p2 & state.p0) | (pawn_span(pawns, us) & givers)) & answers:
        return False
    if us:
        steps = (pawns << _N8) & ~occ
        steps |= ((steps & _RANK_3) << _N8) & ~occ
    else:
        steps = (pawns >> _N8) & ~occ
        steps |= ((steps & _RANK_6) >> _N8) & ~occ
    if steps & answers:
        return False
    if slider_danger(occ, able & state.p1 & ~state.p2, able & state.p0 & ~state.p2) & answers:
        return False
    return not (state.flags >> _N8 and en_passant_captures(state, us, occ, king, pawns))


@inner
def has_move(state: State) -> bool:
    """Whether the side to move has any legal move."""
    return bool(count_moves(state))


@inner
def is_stalemate(state: State) -> bool:
    """Whether the side to move has no legal move and is not in check."""
    return not checkers(state) and not count_moves(state)


@inner
def mates(state: State, move: np.uint64) -> bool:
    """Whether a legal move mates."""
    return is_checkmate(make(state, move))


@inner
def find_mate(state: State, moves: Moves, at: np.uint64) -> np.uint64:
    """A move that mates at once, or 0.  `moves` from `at` on is scratch space."""
    end = generate_checks(state, moves, at)
    while at < end:
        move = moves[at]
        if is_checkmate(make(state, move)):
            return np.uint64(move)
        at += ONE
    return ZERO


@inner
def find_mates(state: State, moves: Moves, at: np.uint64) -> np.uint64:
    """Write all moves that mate at once from `moves[at]` on; returns the end."""
    end = generate_checks(state, moves, at)
    kept = at
    while at < end:
        move = moves[at]
        if is_checkmate(make(state, move)):
            moves[kept] = move
            kept += ONE
        at += ONE
    return kept
