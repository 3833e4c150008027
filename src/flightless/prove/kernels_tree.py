"""What a proof is written from: the solutions of a position, and the replies to a move.

Compiled questions about one position at a time, asked while a proof tree is built; the
searching itself is `decide`'s.  `ask` is the one way in from Python, because every way in
costs the compiling of the whole search once more.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import numba
import numpy as np

from flightless.core.attacks import checkers
from flightless.core.batch import ROWS, Rows
from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import MOVES, STATE, U64, entry, inner, jit
from flightless.core.mate import is_checkmate
from flightless.core.moves import count_moves, generate, generate_checks, make
from flightless.core.state import Moves, State
from flightless.prove.kernels_full import ATTACKS, BY_CHECKS, DEFENDS, NODES, STOPPED, decide
from flightless.prove.kernels_numbers import settle
from flightless.prove.kernels_table import BYTE, MOVE, mates_within, probe

__all__ = ["OUTLINE", "PLAIN", "REPLIES", "SEARCH", "SEARCH_ROWS", "SHORTEST", "SOLUTIONS", "ask"]

SEARCH, PLAIN, SHORTEST, SOLUTIONS, REPLIES, OUTLINE, SEARCH_ROWS = (np.uint64(n) for n in range(7))
"""The questions that `ask` knows."""

F = TypeVar("F", bound=Callable[..., Any])

_N3, _N6, _N7, _N8, _N12 = (np.uint64(n) for n in (3, 6, 7, 8, 12))
_N16, _N28, _N32, _N44 = (np.uint64(n) for n in (16, 28, 32, 44))
_QUEEN = np.uint64(5)


def _part(function: F) -> F:
    """Compile a function as a part of `ask`: each compiled caller of `decide` would hold, and
    cost the compiling of, another copy of the search."""
    inlined: F = numba.njit(inline="always")(function)  # type: ignore[assignment]
    return inlined


@inner
def _rank(state: State, move: np.uint64) -> np.uint64:
    """The move under its place in the order of solutions.

    Checks first, then fewest replies, then the queen before lesser promotions, then the
    order of UCI text (by file and rank, from and to).
    """
    child = make(state, move)
    quiet = ZERO if checkers(child) else ONE
    lesser = _QUEEN - (move >> _N12) if move >> _N12 else ZERO
    origin, target = move & np.uint64(63), (move >> _N6) & np.uint64(63)
    text = ((origin & _N7) << np.uint64(9)) | (origin >> _N3) << _N6
    text |= ((target & _N7) << _N3) | target >> _N3
    return np.uint64(
        quiet << _N44 | count_moves(child) << _N32 | lesser << _N28 | text << _N16 | move
    )


@_part
def _solutions(
    state: State,
    left: np.uint64,
    side: np.uint64,
    moves: Moves,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """Write every move that mates within `left` to `moves`, in order; returns their number.

    `side` is `ATTACKS`, with `BY_CHECKS` or without.  The search may be stopped by its limit
    (`work[STOPPED]`): then what is written is right, and some may be missing.
    """
    at = ZERO
    end = generate_checks(state, moves, at) if side & BY_CHECKS else generate(state, moves, at)
    i = at
    while i < end:
        word = _rank(state, moves[i])
        j = i
        while j > at and moves[j - ONE] > word:
            moves[j] = moves[j - ONE]
            j -= ONE
        moves[j] = word
        i += ONE
    kept = at
    i = at
    while i < end:
        move = moves[i] & MOVE
        i += ONE
        work[NODES] += ONE
        child = make(state, move)
        if left == ONE:
            good = is_checkmate(child)
        else:
            good = (
                settle(child, left - ONE, side | DEFENDS, moves, end, table, numbers, work) == ZERO
            )
        if work[STOPPED]:
            return kept
        if good:
            moves[kept] = move
            kept += ONE
    return kept


@_part
def _replies(
    state: State,
    most: np.uint64,
    exact: np.uint64,
    side: np.uint64,
    rows: Rows,
    moves: Moves,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """Write a row for each legal reply of the defender, who is to move; returns their number.

    A row holds the position after the reply, the number of moves to mate from there (`most` at
    most, 0 for more or not known), and the reply.  The number is the least up to `exact`, and
    beyond that what the table happens to know.  `side` is that of the mating side, as for
    `_solutions`.
    """
    end = generate(state, moves, ZERO)
    i = ZERO
    while i < end:
        after = make(state, moves[i])
        rows[i, 0] = after.p0
        rows[i, 1] = after.p1
        rows[i, 2] = after.p2
        rows[i, 3] = after.white
        rows[i, 4] = after.flags
        rows[i, 5] = after.key
        rows[i, 6] = _distance(after, most, exact, side, moves, end, table, numbers, work)
        rows[i, 7] = moves[i]
        i += ONE
    return end


@_part
def _distance(
    state: State,
    most: np.uint64,
    exact: np.uint64,
    side: np.uint64,
    moves: Moves,
    at: np.uint64,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    left = ONE
    while left <= min(most, exact):
        if settle(state, left, side, moves, at, table, numbers, work):
            return left
        if work[STOPPED]:
            return ZERO
        left += ONE
    known = probe(table, state.key)
    if left <= most and side == ATTACKS and mates_within(known, most):
        return np.uint64((known >> _N8) & BYTE)
    return ZERO


@_part
def _search_rows(
    left: np.uint64,
    side: np.uint64,
    rows: Rows,
    moves: Moves,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """Write to the seventh column what `decide` says of each position; returns how many have
    a deciding move."""
    total = ZERO
    for i in range(len(rows)):
        state = State(rows[i, 0], rows[i, 1], rows[i, 2], rows[i, 3], rows[i, 4], rows[i, 5])
        rows[i, 6] = settle(state, left, side, moves, ZERO, table, numbers, work)
        if rows[i, 6]:
            total += ONE
    return total


@_part
def _shortest(
    state: State,
    full: np.uint64,
    checks: np.uint64,
    moves: Moves,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """The shortest mate within `full` moves, else the shortest by checks within `checks`.

    Returns the length, plus 256 if it was found by checks alone; 0 for none (or for not
    decided, if `work[STOPPED]` is set).
    """
    left = ONE
    while left <= full:
        if settle(state, left, ATTACKS, moves, ZERO, table, numbers, work):
            return left
        if work[STOPPED]:
            return ZERO
        left += ONE
    while left <= checks:
        if settle(state, left, BY_CHECKS, moves, ZERO, table, numbers, work):
            return np.uint64(left | BYTE + ONE)
        if work[STOPPED]:
            return ZERO
        left += ONE
    return ZERO


@entry(U64, STATE, U64, U64, ROWS, MOVES, MOVES, MOVES, MOVES)
@jit
def ask(
    question: np.uint64,
    state: State,
    left: np.uint64,
    side: np.uint64,
    rows: Rows,
    moves: Moves,
    table: Moves,
    numbers: Moves,
    work: Moves,
) -> np.uint64:
    """One of the questions, by number.

    `SEARCH`: what `settle` says; `PLAIN`: what `decide` says.  `SHORTEST`: the shortest mate
    within `left`, then by checks within `side` (a number of moves, for once).  `SOLUTIONS`,
    `REPLIES`, `SEARCH_ROWS`: see the functions of that name; `rows` has eight columns.
    `OUTLINE`: replies with numbers that are the least up to three moves only.
    """
    if question == SOLUTIONS:
        return _solutions(state, left, side, moves, table, numbers, work)
    if question in (REPLIES, OUTLINE):
        exact = left if question == REPLIES else _N3
        return _replies(state, left, exact, side, rows, moves, table, numbers, work)
    if question == SHORTEST:
        return _shortest(state, left, side, moves, table, numbers, work)
    if question == PLAIN:
        return decide(state, left, side, moves, ZERO, table, work)
    if question == SEARCH_ROWS:
        return _search_rows(left, side, rows, moves, table, numbers, work)
    return settle(state, left, side, moves, ZERO, table, numbers, work)
