"""Mate search by proof numbers: depth first, within a number of moves, compiled.

For each position and number of moves left, two numbers say how much is still to be shown: that
it is mate, and that it is not.  The search always follows the line where least is missing, so
it finds long forced mates that a search by length alone would not reach, and refutes with few
positions.  Numbers of positions left for others are kept in a table; the last moves of a line
are `decide`'s.  The method is df-pn (A. Nagai, 2002) with the 1+epsilon trick (J. Pawlewicz
and L. Lew, 2007), from memory.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import checkers
from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import inner
from flightless.core.moves import count_moves, generate, make
from flightless.core.state import Moves, State
from flightless.prove.kernels_full import ATTACKS, DEFENDS, LIMIT, NODES, STALEMATE, STOPPED, decide
from flightless.prove.kernels_table import BYTE, known_move, mates_within, probe, store

__all__ = ["ANSWER", "BACKWARDS", "LEAF", "new_numbers", "settle"]

ANSWER, LEAF, BACKWARDS = (np.uint64(n) for n in (3, 4, 5))
"""Words of the work array: the deciding move of the last call; the number of moves left that
is handed to `decide`; and whether equals are tried last first (for a second thread)."""

_N2, _N3, _N4, _N28, _N56 = (np.uint64(n) for n in (2, 3, 4, 28, 56))
_HEAD = np.uint64(4)
_MANY = np.uint64((1 << 28) - 1)
"""No end of it: the other side's number is 0, the question is settled."""
_WON, _LOST = _MANY << _N28, _MANY
"""Words for a settled position, from the view of the side to move."""
_MIX = np.uint64(0x9E3779B97F4A7C15)
_QUIET = np.uint64(2)
_SETTLED_SIZE = np.uint64(40)


def new_numbers(bits: int) -> Moves:
    """An empty table of 2^bits pairs of entries, 32 bytes a pair."""
    table = np.zeros(4 + (4 << bits), np.uint64)
    table[0] = (1 << bits) - 1
    return table


@inner
def _name(state: State, left: np.uint64, side: np.uint64) -> np.uint64:
    """What numbers are kept under: they belong to a position, a length, and to the question
    whether the side to move mates or is mated."""
    return np.uint64(state.key ^ (left << ONE | side) * _MIX)


@inner
def _recall(numbers: Moves, key: np.uint64) -> np.uint64:
    """The numbers kept for a position and a length, or 0."""
    at = ((key & numbers[ZERO]) << _N2) + _HEAD
    word = numbers[at + ONE]
    if numbers[at] ^ word == key:
        return np.uint64(word)
    word = numbers[at + _N3]
    if numbers[at + _N2] ^ word == key:
        return np.uint64(word)
    return ZERO


@inner
def _keep(numbers: Moves, key: np.uint64, word: np.uint64, size: np.uint64) -> None:
    """Keep numbers; of two other positions the one that cost less makes room.

    Key and word are combined, so that a half-written entry is no one's.
    """
    at = ((key & numbers[ZERO]) << _N2) + _HEAD
    first, second = numbers[at + ONE], numbers[at + _N3]
    if numbers[at] ^ first != key and (
        numbers[at + _N2] ^ second == key or first >> _N56 > second >> _N56
    ):
        at += _N2
    word |= size << _N56
    numbers[at] = key ^ word
    numbers[at + ONE] = word


@inner
def _mine(word: np.uint64) -> np.uint64:
    """What the side to move must still show to have its way."""
    return np.uint64(word & _MANY)


@inner
def _theirs(word: np.uint64) -> np.uint64:
    """What the other side must still show."""
    return np.uint64((word >> _N28) & _MANY)


@inner
def _first_look(
    child: State,
    side: np.uint64,
    less: np.uint64,
    table: Moves,
    numbers: Moves,
) -> np.uint64:
    """The numbers of a position after a move of `side`, from the view of the side to move there.

    To mate, every reply must be met: so many are still to be shown, and some more after a
    quiet move.
    """
    if side == DEFENDS:
        known = probe(table, child.key)
        if known & BYTE >= less:
            return _LOST
        if mates_within(known, less):
            return _WON
    word = _recall(numbers, _name(child, less, side ^ DEFENDS))
    if word:
        return word
    if side == DEFENDS:
        return ONE | ONE << _N28
    replies = count_moves(child)
    check = checkers(child)
    if replies == ZERO:
        return _LOST if check else _WON
    return np.uint64(ONE | (replies if check else replies + _QUIET) << _N28)


@inner
def _settled(
    state: State,
    left: np.uint64,
    side: np.uint64,
    move: np.uint64,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """Note that the side to move has its way with `move`."""
    _keep(numbers, _name(state, left, side), _WON, _SETTLED_SIZE)
    if side == ATTACKS:
        store(table, state.key, ZERO, left, move)
    work[ANSWER] = move
    return _WON


@inner
def _size(nodes: np.uint64) -> np.uint64:
    size = ZERO
    while nodes:
        nodes >>= ONE
        size += ONE
    return size


@inner
def _look(
    state: State,
    left: np.uint64,
    side: np.uint64,
    my_limit: np.uint64,
    their_limit: np.uint64,
    moves: Moves,
    at: np.uint64,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """Search until one of the two numbers reaches its limit; returns them as one word.

    `left` counts the mating side's moves still to come; the side to move has a move.  Its
    moves stand in three words each, the move and the numbers from the other side's view.
    """
    if work[NODES] >= work[LIMIT]:
        work[STOPPED] = ONE
        return ONE | ONE << _N28
    start = work[NODES]
    less = left - ONE if side == ATTACKS else left
    frame = generate(state, moves, at)
    work[NODES] += frame - at
    end = frame
    while at < frame:
        move = moves[at]
        at += ONE
        word = _first_look(make(state, move), side, less, table, numbers)
        if _theirs(word) == ZERO:
            return _settled(state, left, side, move, table, numbers, work)
        if _mine(word):
            moves[end] = move
            moves[end + ONE] = _mine(word)
            moves[end + _N2] = _theirs(word)
            end += _N3
    while True:
        mine, second, best = _MANY, _MANY, frame
        theirs, open_ = ZERO, ZERO
        f = frame
        while f < end:
            needs = moves[f + _N2]
            if moves[f + ONE]:
                if needs < mine or (needs == mine and work[BACKWARDS]):
                    second = mine
                    mine = needs
                    best = f
                elif needs < second:
                    second = needs
                theirs += moves[f + ONE]
                open_ += ONE
            f += _N3
        theirs = min(theirs, _MANY - ONE)
        if open_ == ZERO:
            theirs = ZERO
        if mine >= my_limit or theirs >= their_limit or open_ == ZERO:
            word = mine | theirs << _N28
            _keep(numbers, _name(state, left, side), word, _size(work[NODES] - start))
            if open_ == ZERO and side == ATTACKS:
                store(table, state.key, left, BYTE, ZERO)
            return np.uint64(word)
        move = moves[best]
        child = make(state, move)
        if side == DEFENDS and less <= work[LEAF]:
            word = _WON if decide(child, less, ATTACKS, moves, end, table, work) else _LOST
        else:
            # Another thread or another way here may have settled it meanwhile.
            word = _recall(numbers, _name(child, less, side ^ DEFENDS))
            if not word or (_mine(word) and _theirs(word)):
                word = _look(
                    child,
                    less,
                    side ^ DEFENDS,
                    min(their_limit - (theirs - moves[best + ONE]), _MANY),
                    min(second + (second >> _N2) + ONE, my_limit),
                    moves,
                    end,
                    table,
                    numbers,
                    work,
                )
        if work[STOPPED]:
            return ONE | ONE << _N28
        if _theirs(word) == ZERO:
            return _settled(state, left, side, move, table, numbers, work)
        moves[best + ONE] = _mine(word)
        moves[best + _N2] = _theirs(word)


@inner
def settle(
    state: State,
    left: np.uint64,
    side: np.uint64,
    moves: Moves,
    at: np.uint64,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """As `decide`, for any length: the deciding move of the side to move, or 0.

    Up to three moves, and by checks, it is `decide` itself.
    """
    if left <= _N3 or side > DEFENDS:
        return decide(state, left, side, moves, at, table, work)
    if side == ATTACKS:
        known = probe(table, state.key)
        if known & BYTE >= left:
            return ZERO
        if mates_within(known, left):
            return known_move(known)
    elif count_moves(state) == ZERO:
        return ZERO if checkers(state) else STALEMATE
    work[ANSWER] = ZERO
    word = _look(state, left, side, _MANY, _MANY, moves, at, table, numbers, work)
    if work[STOPPED] or _mine(word):
        return ZERO
    return np.uint64(work[ANSWER])
