"""Men taken away, put in another's place, or added, each tried by the compiled rules.

Compiled, and so imported only when a case is really asked for.  One call tries every man of
a mated position; the answers come back as numbers in one array, which `whatif` reads.
"""

from __future__ import annotations

from typing import Final

import chess
import numpy as np

from flightless.core.attacks import attackers, checkers, king_square, men_of, occupied
from flightless.core.bits import ONE, ZERO, ctz
from flightless.core.compiled import MOVES, STATE, U64, entry, inner, jit
from flightless.core.mate import find_mate, is_checkmate
from flightless.core.moves import generate
from flightless.core.state import MOST_MOVES, State, encode

__all__ = [
    "additions",
    "broken_pairs",
    "helpers",
    "trials",
    "try_additions",
    "try_helpers",
    "try_men",
    "try_pairs",
]

Words = np.ndarray[tuple[int], np.dtype[np.uint64]]

_N6, _N7, _N8 = (np.uint64(n) for n in (6, 7, 8))
_N12, _N16 = np.uint64(12), np.uint64(16)
_N63 = np.uint64(63)
_FLAG = np.uint64(0xFF)
_ENDS = np.uint64(0xFF000000000000FF)
_ROOM = np.uint64(4 * MOST_MOVES)
_HEADS = np.uint64(3)

_CODES: Final = np.array([4, 5, 1, 2, 3], np.uint64)
"""The core's codes of pawn, knight, bishop, rook and queen, in python-chess's order."""

_FIVE = np.uint64(5)
_FIRST_ROOM = 1 << 16
_MOST_ADDITIONS = 320


def trials(board: chess.Board) -> list[int]:
    """The words that `try_men` writes for a mated position."""
    state = _trial_state(board)
    room = _FIRST_ROOM
    while True:
        out = np.empty(room, np.uint64)
        words = int(try_men(state, out))
        if words:
            numbers: list[int] = out[:words].tolist()
            return numbers
        room *= 2


def additions(board: chess.Board, colour: chess.Color) -> list[int]:
    """The words that `try_additions` writes; the board has no castling move that matters."""
    out = np.empty(_MOST_ADDITIONS, np.uint64)
    count = int(try_additions(_trial_state(board), np.uint64(colour), out))
    numbers: list[int] = out[:count].tolist()
    return numbers


def broken_pairs(board: chess.Board, men: chess.Bitboard) -> list[tuple[int, int]]:
    """Pairs of `men` whose joint removal ends a checkmate, in square order."""
    out = np.empty(64 * 32, np.uint64)
    count = int(try_pairs(_trial_state(board), np.uint64(men), out))
    numbers: list[int] = out[:count].tolist()
    return [(number & 63, number >> 6) for number in numbers]


def helpers(board: chess.Board, colour: chess.Color) -> list[int]:
    """The words that `try_helpers` writes."""
    out = np.empty(_MOST_ADDITIONS + MOST_MOVES, np.uint64)
    count = int(try_helpers(encode(board), np.uint64(colour), out))
    numbers: list[int] = out[:count].tolist()
    return numbers


def _trial_state(board: chess.Board) -> State:
    """The state of a board for trials: no castling (the king is in check), and the
    en-passant square kept even if no pawn stands ready, since one may be added."""
    p0 = board.bishops | board.queens | board.knights
    p1 = board.rooks | board.queens | board.kings
    p2 = board.pawns | board.knights | board.kings
    flags = int(board.turn) | (board.ep_square or 0) << 8
    white = board.occupied_co[chess.WHITE]
    return State(*(np.uint64(word) for word in (p0, p1, p2, white, flags, 0)))


@inner
def _code_on(state: State, square: np.uint64) -> np.uint64:
    return (
        (state.p0 >> square & ONE)
        | (state.p1 >> square & ONE) << ONE
        | (state.p2 >> square & ONE) << (ONE + ONE)
    )


@inner
def _put(state: State, square: np.uint64, code: np.uint64, white: np.uint64) -> State:
    """A man added on an empty square; on the en-passant square he ends that right."""
    flags = state.flags
    if flags >> _N8 == square:
        flags &= _FLAG
    return State(
        state.p0 | (code & ONE) << square,
        state.p1 | (code >> ONE & ONE) << square,
        state.p2 | (code >> (ONE + ONE) & ONE) << square,
        state.white | white << square,
        flags,
        ZERO,
    )


@inner
def _take(state: State, square: np.uint64) -> State:
    """A man taken off; with him goes the right to take him en passant."""
    keep = ~(ONE << square)
    flags = state.flags
    if flags >> _N8 == square ^ _N8:
        flags &= _FLAG
    return State(state.p0 & keep, state.p1 & keep, state.p2 & keep, state.white & keep, flags, ZERO)


@inner
def _exposed(state: State) -> bool:
    """Whether the king of the side that is not to move is in check."""
    us = state.flags & ONE
    return bool(attackers(state, king_square(state, us ^ ONE), us, occupied(state)))


@inner
def _write_answers(state: State, out: Words, at: np.uint64) -> np.uint64:
    """Write the legal moves, ordered by origin, target and promotion."""
    end = generate(state, out, at)
    i = at + ONE
    while i < end:
        move = out[i]
        weight = (move & _N63) << _N12 | (move >> _N6 & _N63) << _N6 | move >> _N12
        j = i
        while j > at:
            other = out[j - ONE]
            if (other & _N63) << _N12 | (other >> _N6 & _N63) << _N6 | other >> _N12 <= weight:
                break
            out[j] = other
            j -= ONE
        out[j] = move
        i += ONE
    return end


@inner
def _try_removals(state: State, out: Words, at: np.uint64) -> tuple[np.uint64, np.uint64]:
    """Each man taken off; returns where the records end, and the needed men."""
    needed = ZERO
    men = occupied(state) & ~(state.p1 & state.p2)
    while men:
        square = ctz(men)
        men &= men - ONE
        left = _take(state, square)
        head = square
        mate = is_checkmate(left)
        if mate:
            head |= ONE << _N6
        else:
            needed |= ONE << square
        if _exposed(left):
            head |= ONE << _N7
        end = at + ONE
        if not mate:
            if checkers(left):
                end = _write_answers(left, out, end)
            else:
                head |= ONE << _N8
        out[at] = head | (end - at - ONE) << _N16
        at = end
    return at, needed


@inner
def _try_substitutes(state: State, needed: np.uint64, out: Words, at: np.uint64) -> np.uint64:
    """Each needed man of the mating side replaced by every man on every free square."""
    them = (state.flags & ONE) ^ ONE
    needed &= men_of(state, them)
    while needed:
        gone = ctz(needed)
        needed &= needed - ONE
        left = _take(state, gone)
        gone_code = _code_on(state, gone)
        free = ~occupied(left)
        while free:
            square = ctz(free)
            free &= free - ONE
            kind = ZERO
            while kind < _FIVE:
                code = _CODES[kind]
                kind += ONE
                if kind == ONE and (ONE << square) & _ENDS:
                    continue
                if square == gone and code == gone_code:
                    continue
                tried = _put(left, square, code, them)
                if is_checkmate(tried) and not _exposed(tried):
                    out[at] = gone | square << _N6 | kind << _N12
                    at += ONE
    return at


@inner
def _try_saviours(state: State, out: Words, at: np.uint64) -> tuple[np.uint64, np.uint64]:
    """Each man of the mated side added on each empty square; returns where the records end
    and their number, or (0, 0) if the array is too short."""
    us = state.flags & ONE
    count = ZERO
    free = ~occupied(state)
    while free:
        square = ctz(free)
        free &= free - ONE
        kind = ZERO
        while kind < _FIVE:
            code = _CODES[kind]
            kind += ONE
            if kind == ONE and (ONE << square) & _ENDS:
                continue
            tried = _put(state, square, code, us)
            if is_checkmate(tried) or _exposed(tried):
                continue
            if at + _ROOM > np.uint64(out.size):
                return ZERO, ZERO
            end = at + ONE
            if checkers(tried):
                end = _write_answers(tried, out, end)
            out[at] = square | kind << _N6 | (end - at - ONE) << _N16
            at = end
            count += ONE
    return at, count


@entry(STATE, MOVES)
@jit
def try_men(state: State, out: Words) -> np.uint64:
    """Try every man of a mated position; returns the number of words written, 0 if `out`
    (at least 20,000 words) is too short and the call should be made again with a longer one.

    `out` begins with three numbers: of removals, substitutes and saviours.  Their records
    follow in that order.  A removal is a word (square, still mate << 6, own king exposed << 7,
    check gone << 8, number of answers << 16) and then the answers.  A substitute is one word
    (instead of << 0, square << 6, kind << 12).  A saviour is a word (square, kind << 6, number
    of answers << 16) and then the answers, none if the check is gone.  Kinds are
    python-chess's, answers are moves of this room ordered by origin, target and promotion.
    """
    out[0] = ZERO
    men = occupied(state) & ~(state.p1 & state.p2)
    while men:
        out[0] += ONE
        men &= men - ONE
    at, needed = _try_removals(state, out, _HEADS)
    end = _try_substitutes(state, needed, out, at)
    out[1] = end - at
    at, count = _try_saviours(state, out, end)
    out[2] = count
    return at


@entry(STATE, U64, MOVES)
@jit
def try_additions(state: State, white: np.uint64, out: Words) -> np.uint64:
    """Every man of a colour (1 White, 0 Black) who, added on an empty square, mates the side
    to move; as words (square, kind << 6).  Returns their number."""
    count = ZERO
    free = ~occupied(state)
    while free:
        square = ctz(free)
        free &= free - ONE
        kind = ZERO
        while kind < _FIVE:
            code = _CODES[kind]
            kind += ONE
            if kind == ONE and (ONE << square) & _ENDS:
                continue
            tried = _put(state, square, code, white)
            if is_checkmate(tried) and not _exposed(tried):
                out[count] = square | kind << _N6
                count += ONE
    return count


@entry(STATE, U64, MOVES)
@jit
def try_pairs(state: State, men: np.uint64, out: Words) -> np.uint64:
    """Every pair of `men` without whom it is not checkmate, as words (first, second << 6).
    Returns their number."""
    count = ZERO
    while men:
        first = ctz(men)
        men &= men - ONE
        without = _take(state, first)
        others = men
        while others:
            second = ctz(others)
            others &= others - ONE
            if not is_checkmate(_take(without, second)):
                out[count] = first | second << _N6
                count += ONE
    return count


@entry(STATE, U64, MOVES)
@jit
def try_helpers(state: State, white: np.uint64, out: Words) -> np.uint64:
    """Every man of a colour who, added on an empty square, lets the side to move mate at once;
    as words (square, kind << 6, a mating move << 16).  Returns their number.

    An added man who would leave the side that is not to move in check is not tried.  `out`
    needs room for 320 words and the moves of one position.
    """
    count = ZERO
    free = ~occupied(state)
    while free:
        square = ctz(free)
        free &= free - ONE
        kind = ZERO
        while kind < _FIVE:
            code = _CODES[kind]
            kind += ONE
            if kind == ONE and (ONE << square) & _ENDS:
                continue
            tried = _put(state, square, code, white)
            if _exposed(tried):
                continue
            move = find_mate(tried, out, count)
            if move != ZERO:
                out[count] = square | kind << _N6 | move << _N16
                count += ONE
    return count
