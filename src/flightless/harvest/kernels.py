"""The search of a harvest: full width to a first length, by checks alone to a second.

Compiled, and so imported only when a game is really searched.  Full width is the prover's;
mates by checks have a search of their own here, because a harvest asks for them at every
position of every game.  Whole games are in `kernels_games`.
"""

from __future__ import annotations

import numpy as np

from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import MOVES, STATE, U64, entry, inner, jit
from flightless.core.mate import find_mate, find_mates, is_checkmate
from flightless.core.moves import generate, generate_checks, make
from flightless.core.state import MOST_MOVES, Moves, State
from flightless.prove.kernels_full import ATTACKS, LIMIT, NODES, STOPPED, decide, mate_in_two

__all__ = [
    "BY_CHECKS",
    "COUNT",
    "KNOWN",
    "LENGTH",
    "MOST",
    "SALT",
    "SPENT",
    "Words",
    "begin",
    "describe",
    "is_known",
    "judge",
    "longest_defence",
    "new_scratch",
    "new_store",
    "shortest",
]

Words = np.ndarray[tuple[int], np.dtype[np.uint64]]

LENGTH, BY_CHECKS = 0xFF, 1 << 8
"""Parts of an answer: the length of the mate, and that it is by checks alone."""

COUNT, MOST, SPENT, SALT = (np.uint64(n) for n in range(4))
"""The first words of a store: positions made for this question, the most of them, whether that
stopped a search, and a salt that hides what was known in earlier games (so that the answer to a
game does not depend on those before it)."""

_KILLER = np.uint64(4)
_REFUTED = np.uint64(8)
_SLOTS = 1 << 14
KNOWN = np.uint64(8 + 2 * _SLOTS)
"""Where, in a store, the positions begin that are known to hold no mate within the limits."""

_N2, _N3, _N16 = (np.uint64(n) for n in (2, 3, 16))
_SLOT = np.uint64(_SLOTS - 1)
_MOVE = np.uint64(0x7FFF)
_CHECKS, _BYTE = np.uint64(BY_CHECKS), np.uint64(LENGTH)


def new_store(known_bits: int) -> Words:
    """Fresh memory for one thread, with room for 2^`known_bits` positions known to be empty.

    After the four words stands the last refutation, then pairs of a position and the length
    refuted by checks, then the positions known to hold nothing.
    """
    return np.zeros(int(KNOWN) + (1 << known_bits), np.uint64)


def new_scratch(longest: int) -> Words:
    """Room for the moves of a search to `longest` moves."""
    return np.empty(4 * MOST_MOVES * (longest + 4), np.uint64)


@inner
def begin(limit: np.uint64, store: Words, work: Moves) -> None:
    """Begin a question: so many positions may be made."""
    store[COUNT] = ZERO
    store[MOST] = limit
    work[NODES] = ZERO
    work[LIMIT] = limit
    work[STOPPED] = ZERO


@inner
def _name(state: State, store: Words) -> np.uint64:
    return np.uint64(state.key ^ store[SALT])


@inner
def _is_refuted(name: np.uint64, left: np.uint64, store: Words) -> bool:
    slot = _REFUTED + (name & _SLOT) * _N2
    return bool(store[slot] == name and store[slot + ONE] >= left)


@inner
def _every_reply_mated(state: State, moves: Moves, at: np.uint64, store: Words) -> bool:
    """Whether each reply to a check allows mate at once; the last refutation is tried first."""
    end = generate(state, moves, at)
    killer = store[_KILLER]
    i = at
    while i < end:
        if moves[i] == killer:
            moves[i] = moves[at]
            moves[at] = killer
            break
        i += ONE
    i = at
    while i < end:
        if find_mate(make(state, moves[i]), moves, end) == ZERO:
            store[_KILLER] = moves[i]
            return False
        i += ONE
    return True


@inner
def _order_replies(
    state: State, left: np.uint64, moves: Moves, at: np.uint64, end: np.uint64, store: Words
) -> bool:
    """Sort the replies to a check by the number of checks that they leave.

    False if one of them leaves none, or a position known to hold no mate in `left`.
    """
    i = at
    while i < end:
        after = make(state, moves[i])
        checks = generate_checks(after, moves, end) - end
        if checks == ZERO or _is_refuted(_name(after, store), left, store):
            return False
        word = checks << _N16 | moves[i]
        j = i
        while j > at and moves[j - ONE] > word:
            moves[j] = moves[j - ONE]
            j -= ONE
        moves[j] = word
        i += ONE
    return True


@inner
def mate_by_checks(
    state: State, left: np.uint64, moves: Moves, at: np.uint64, store: Words
) -> np.uint64:
    """A check that begins a mate by checks alone in at most `left` moves, or 0.

    A reply that leaves no check at all refutes without search, so all replies are looked at
    that far before any is searched.
    """
    end = generate_checks(state, moves, at)
    if end == at:
        return ZERO
    i = at
    while i < end:
        if is_checkmate(make(state, moves[i])):
            return np.uint64(moves[i])
        i += ONE
    name = _name(state, store)
    if left == ONE or _is_refuted(name, left, store):
        return ZERO
    i = at
    while i < end:
        move = moves[i]
        i += ONE
        child = make(state, move)
        store[COUNT] += ONE
        if left == _N2:
            if _every_reply_mated(child, moves, end, store):
                return np.uint64(move)
            continue
        last = generate(child, moves, end)
        if not _order_replies(child, left - ONE, moves, end, last, store):
            continue
        j = end
        while j < last:
            after = make(child, moves[j] & _MOVE)
            if mate_by_checks(after, left - ONE, moves, last, store) == ZERO:
                break
            j += ONE
        if j == last:
            return np.uint64(move)
        if store[COUNT] > store[MOST]:
            store[SPENT] = ONE
            return ZERO
    slot = _REFUTED + (name & _SLOT) * _N2
    store[slot] = name
    store[slot + ONE] = left
    return ZERO


@inner
def shortest(
    state: State,
    full: np.uint64,
    checks: np.uint64,
    moves: Moves,
    at: np.uint64,
    store: Words,
    table: Moves,
    work: Moves,
) -> np.uint64:
    """Length of the shortest mate of the side to move, with `BY_CHECKS` where only checks were
    tried at that length; 0 if there is none within the limits."""
    left = ONE
    if full >= _N2:
        move = mate_in_two(state, moves, at, work)
        if move:
            return ONE if is_checkmate(make(state, move)) else _N2
        left = _N3
        while left <= full:
            if decide(state, left, ATTACKS, moves, at, table, work):
                return left
            if work[STOPPED]:
                store[SPENT] = ONE
            left += ONE
    elif full == ONE:
        if find_mate(state, moves, at):
            return ONE
        left = _N2
    # One look to the end settles most positions; the length matters only where it succeeds.
    if checks < left or mate_by_checks(state, checks, moves, at, store) == ZERO:
        return ZERO
    while left < checks and mate_by_checks(state, left, moves, at, store) == ZERO:
        left += ONE
    return left | _CHECKS


@inner
def is_known(state: State, store: Words) -> bool:
    """Whether the position is known to hold no mate within the limits of the harvest."""
    return bool(store[KNOWN + (state.key & (np.uint64(len(store)) - KNOWN - ONE))] == state.key)


@inner
def judge(
    state: State,
    full: np.uint64,
    checks: np.uint64,
    moves: Moves,
    at: np.uint64,
    store: Words,
    table: Moves,
    work: Moves,
) -> np.uint64:
    """`shortest` with the limits of the harvest, which remembers the positions without mate.

    Only what no limit of nodes cut short is remembered, so that it does not matter when a
    position was met first.
    """
    if is_known(state, store):
        return ZERO
    spent = store[SPENT]
    store[SPENT] = ZERO
    answer = shortest(state, full, checks, moves, at, store, table, work)
    if answer == ZERO and store[SPENT] == ZERO:
        store[KNOWN + (state.key & (np.uint64(len(store)) - KNOWN - ONE))] = state.key
    store[SPENT] |= spent
    return answer


@inner
def longest_defence(
    state: State,
    full: np.uint64,
    checks: np.uint64,
    moves: Moves,
    at: np.uint64,
    store: Words,
    table: Moves,
    work: Moves,
) -> np.uint64:
    """The longest of the shortest mates that follow the replies of the side to move, with
    `BY_CHECKS` if any relies on checks; 0 if a reply escapes, or if there is none.

    The limits are those of the harvest.  Replies that leave few checks come first.
    """
    end = generate(state, moves, at)
    i = at
    while i < end:
        after = make(state, moves[i])
        if is_known(after, store):
            return ZERO
        word = (generate_checks(after, moves, end) - end) << _N16 | moves[i]
        j = i
        while j > at and moves[j - ONE] > word:
            moves[j] = moves[j - ONE]
            j -= ONE
        moves[j] = word
        i += ONE
    longest = ZERO
    by_checks = ZERO
    while at < end:
        after = make(state, moves[at] & _MOVE)
        answer = judge(after, full, checks, moves, end, store, table, work)
        if answer == ZERO:
            return ZERO
        longest = max(longest, answer & _BYTE)
        by_checks |= answer & _CHECKS
        at += ONE
    return longest | by_checks


@inner
def _mates_in(
    state: State,
    length: np.uint64,
    by_checks: np.uint64,
    moves: Moves,
    at: np.uint64,
    store: Words,
    table: Moves,
    work: Moves,
) -> bool:
    if by_checks:
        return bool(mate_by_checks(state, length, moves, at, store))
    if length == ONE:
        return bool(find_mate(state, moves, at))
    return bool(decide(state, length, ATTACKS, moves, at, table, work))


@inner
def _keys(
    state: State,
    length: np.uint64,
    by_checks: np.uint64,
    moves: Moves,
    store: Words,
    table: Moves,
    work: Moves,
) -> np.uint64:
    if length == ONE:
        return find_mates(state, moves, ZERO)
    end = generate_checks(state, moves, ZERO) if by_checks else generate(state, moves, ZERO)
    kept = ZERO
    i = ZERO
    while i < end:
        move = moves[i]
        i += ONE
        child = make(state, move)
        last = generate(child, moves, end)
        j = end
        while j < last:
            after = make(child, moves[j])
            if not _mates_in(after, length - ONE, by_checks, moves, last, store, table, work):
                break
            j += ONE
        if j == last and last > end:
            moves[kept] = move
            kept += ONE
    return kept


@entry(STATE, U64, U64, U64, MOVES, MOVES, MOVES, MOVES, MOVES)
@jit
def describe(
    state: State,
    full: np.uint64,
    checks: np.uint64,
    limit: np.uint64,
    lengths: Words,
    moves: Moves,
    store: Words,
    table: Moves,
    work: Moves,
) -> np.uint64:
    """Write moves of the side to move to the front of `moves`; returns their number.

    With an empty `lengths`, these are the keys: every first move that mates in the longer of
    `full` and `checks`, which must be the shortest; by checks throughout if that is `checks`.
    Else they are all legal moves, and `lengths` gets for each the length of the shortest mate
    within the limits that the other side then has, as `shortest` gives it.
    """
    begin(limit, store, work)
    if len(lengths) == 0:
        by_checks = ONE if checks > full else ZERO
        return _keys(state, max(full, checks), by_checks, moves, store, table, work)
    end = generate(state, moves, ZERO)
    i = ZERO
    while i < end:
        after = make(state, moves[i])
        lengths[i] = shortest(after, full, checks, moves, end, store, table, work)
        i += ONE
    return end
