"""A whole game in one compiled call: where it held a mate, and what was made of it.

Compiled, and so imported only when a game is really harvested.  The search is full width to
a first limit and by checks alone to a second; what it finds is put into words and records
by `seek`.
"""

from __future__ import annotations

import numpy as np

from flightless.core.attacks import checkers
from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import MOVES, STATE, U64, entry, inner, jit
from flightless.core.mate import find_mate, find_mates, is_checkmate
from flightless.core.moves import generate, generate_checks, make
from flightless.core.state import MOST_MOVES, Moves, State

__all__ = [
    "BY_CHECKS",
    "FOLLOWS",
    "LENGTH",
    "MATED",
    "MISSED",
    "Words",
    "defences",
    "keys_of",
    "new_scratch",
    "new_table",
    "search_game",
    "was_cut_short",
]

Words = np.ndarray[tuple[int], np.dtype[np.uint64]]

LENGTH, BY_CHECKS, MISSED, MATED, FOLLOWS = 0xFF, 1 << 8, 1 << 9, 1 << 10, 16
"""Parts of a verdict: the length of the mate, that it is by checks alone, that the move played
was no key, that the position is mate, and (shifted) the length of the mate after that move."""

_SLOTS = 1 << 15
_N2, _N6, _N12, _N16 = (np.uint64(n) for n in (2, 6, 12, 16))
_N63 = np.uint64(63)
_MASK = np.uint64(_SLOTS - 1)
_CHECKS, _MISS, _MATE = np.uint64(BY_CHECKS), np.uint64(MISSED), np.uint64(MATED)
_BYTE = np.uint64(LENGTH)

_COUNT, _LIMIT, _SPENT, _SALT = (np.uint64(n) for n in range(4))
_KILLERS = np.uint64(4)
_TABLE = np.uint64(4 + 64)
"""A table begins with four numbers (positions made for this question, the most of them, whether
that stopped a search, a salt that hides entries of earlier games) and the last refutation for
each number of moves left; then come pairs of a position's name and the length refuted."""


def new_table() -> Words:
    """A fresh table of refuted positions, to be used by one thread at a time."""
    return np.zeros(int(_TABLE) + 2 * _SLOTS, np.uint64)


def new_scratch(longest: int) -> Words:
    """Room for the moves of a search to `longest` moves."""
    return np.empty(3 * MOST_MOVES * (longest + 3), np.uint64)


def was_cut_short(table: Words) -> bool:
    """Whether a search since the last game began reached its limit of positions."""
    return bool(table[int(_SPENT)])


@inner
def _killer_first(moves: Moves, at: np.uint64, end: np.uint64, killer: np.uint64) -> None:
    """Bring the reply that refuted the last move to the front, if it is there."""
    i = at
    while i < end:
        if moves[i] == killer:
            moves[i] = moves[at]
            moves[at] = killer
            return
        i += ONE


@inner
def _mates(
    state: State, left: np.uint64, by_checks: np.uint64, moves: Moves, at: np.uint64, table: Words
) -> np.uint64:
    """A move that mates in at most `left`, or 0; with `by_checks` every move gives check."""
    if left == ONE:
        return find_mate(state, moves, at)
    checks_end = generate_checks(state, moves, at)
    if by_checks and checks_end == at:
        return ZERO
    i = at
    while i < checks_end:
        if is_checkmate(make(state, moves[i])):
            return np.uint64(moves[i])
        i += ONE
    name = state.key ^ table[_SALT] ^ by_checks
    slot = _TABLE + (name & _MASK) * _N2
    if table[slot] == name and table[slot + ONE] >= left:
        return ZERO
    end = checks_end
    if not by_checks:
        end = generate(state, moves, checks_end)
    i = at
    while i < end:
        move = moves[i]
        i += ONE
        child = make(state, move)
        if i > checks_end and checkers(child):
            continue
        table[_COUNT] += ONE
        replies_end = generate(child, moves, end)
        if replies_end == end:
            continue
        _killer_first(moves, end, replies_end, table[_KILLERS + left])
        j = end
        while j < replies_end:
            answer = _mates(make(child, moves[j]), left - ONE, by_checks, moves, replies_end, table)
            if answer == ZERO:
                break
            j += ONE
        if table[_COUNT] > table[_LIMIT]:
            table[_SPENT] = ONE
            return ZERO
        if j == replies_end:
            return np.uint64(move)
        table[_KILLERS + left] = moves[j]
    table[slot] = name
    table[slot + ONE] = left
    return ZERO


@inner
def _shortest(
    state: State, full: np.uint64, checks: np.uint64, moves: Moves, at: np.uint64, table: Words
) -> np.uint64:
    """Length of the shortest mate of the side to move, with `BY_CHECKS` where only checks were
    tried at that length; 0 if there is none within the limits."""
    left = ONE
    while left <= full:
        if _mates(state, left, ZERO, moves, at, table):
            return left
        left += ONE
    # One look to the end settles most positions; the length matters only where it succeeds.
    if checks < left or not _mates(state, checks, ONE, moves, at, table):
        return ZERO
    while left < checks and not _mates(state, left, ONE, moves, at, table):
        left += ONE
    return left | _CHECKS


@inner
def _longest_defence(
    state: State, full: np.uint64, checks: np.uint64, moves: Moves, at: np.uint64, table: Words
) -> np.uint64:
    """The longest of the shortest mates that follow the replies of the side to move, with
    `BY_CHECKS` if any relies on checks; 0 if a reply escapes, or if there is none."""
    end = generate(state, moves, at)
    longest = ZERO
    by_checks = ZERO
    while at < end:
        answer = _shortest(make(state, moves[at]), full, checks, moves, end, table)
        if answer == ZERO:
            return ZERO
        longest = max(longest, answer & _BYTE)
        by_checks |= answer & _CHECKS
        at += ONE
    return longest | by_checks


@inner
def _begin(limit: np.uint64, table: Words) -> None:
    table[_COUNT] = ZERO
    table[_LIMIT] = limit


@entry(STATE, MOVES, U64, U64, U64, U64, MOVES, MOVES, MOVES)
@jit
def search_game(
    state: State,
    played: Moves,
    winner: np.uint64,
    full: np.uint64,
    checks: np.uint64,
    limit: np.uint64,
    verdicts: Words,
    moves: Moves,
    table: Words,
) -> State:
    """Judge every position of a game; returns the final one.

    `verdicts` gets one word for each move played and one for the final position, made of the
    parts above: the mate that the side to move has there; whether the move played is no key,
    and then the length of the mate that still follows it, its own move counted.  The final
    position is only searched if `winner` (0 nobody, 1 White, 2 Black) may have been spared the
    mate: the winner's own mate as elsewhere, or the mate against the loser to move as what
    follows.  `limit` is the most positions made for one position of the game.
    """
    table[_SALT] += np.uint64(0x9E3779B97F4A7C15)
    table[_SPENT] = ZERO
    for ply in range(len(played)):
        _begin(limit, table)
        verdict = _shortest(state, full, checks, moves, ZERO, table)
        state = make(state, played[ply])
        if verdict:
            _begin(limit, table)
            follows = ONE
            if not is_checkmate(state):
                follows = _longest_defence(state, full, checks, moves, ZERO, table) & _BYTE
                if follows:
                    follows += ONE
            if follows == ZERO or follows > verdict & _BYTE:
                verdict |= _MISS | follows << _N16
        verdicts[ply] = verdict
    verdict = ZERO
    _begin(limit, table)
    if is_checkmate(state):
        verdict = _MATE
    elif winner:
        if (state.flags & ONE) == (winner & ONE):
            verdict = _shortest(state, full, checks, moves, ZERO, table)
        else:
            answer = _longest_defence(state, full, checks, moves, ZERO, table)
            verdict = (answer & _BYTE) << _N16 | (answer & _CHECKS)
    verdicts[len(played)] = verdict
    return state


@entry(STATE, U64, U64, U64, MOVES, MOVES)
@jit
def keys_of(
    state: State,
    length: np.uint64,
    by_checks: np.uint64,
    limit: np.uint64,
    moves: Moves,
    table: Words,
) -> np.uint64:
    """Write every first move that mates in `length` to the front of `moves`; their number.

    `length` must be the shortest.  With `by_checks` (1) only checks are tried throughout.
    """
    _begin(limit, table)
    if length == ONE:
        return find_mates(state, moves, ZERO)
    end = generate_checks(state, moves, ZERO) if by_checks else generate(state, moves, ZERO)
    kept = ZERO
    i = ZERO
    while i < end:
        move = moves[i]
        i += ONE
        child = make(state, move)
        replies_end = generate(child, moves, end)
        j = end
        while j < replies_end:
            answer = _mates(
                make(child, moves[j]), length - ONE, by_checks, moves, replies_end, table
            )
            if answer == ZERO:
                break
            j += ONE
        if j == replies_end and replies_end > end:
            moves[kept] = move
            kept += ONE
    return kept


@entry(STATE, U64, U64, U64, MOVES, MOVES, MOVES)
@jit
def defences(
    state: State,
    full: np.uint64,
    checks: np.uint64,
    limit: np.uint64,
    lengths: Words,
    moves: Moves,
    table: Words,
) -> np.uint64:
    """Write the replies of the side to move to the front of `moves` and, for each, the length
    of the shortest mate that follows (0 none) to `lengths`; returns their number."""
    _begin(limit, table)
    end = generate(state, moves, ZERO)
    i = ZERO
    while i < end:
        lengths[i] = _shortest(make(state, moves[i]), full, checks, moves, end, table)
        i += ONE
    return end
