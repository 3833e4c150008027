"""Games read from the bytes of a PGN file: borders, words, moves played, mate tested.

Compiled functions that go through the text once.  What is usual is decided here; a game
with anything else in it is marked with an error and its place, its borders are still found,
and python-chess is left to judge it.  Notation: PGN Standard, section 8 (S. Edwards, 1994).
"""

from __future__ import annotations

import chess
import numpy as np
from numba import types

from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import MOVES, U64, entry, inner, jit
from flightless.core.making import with_key
from flightless.core.mate import is_checkmate
from flightless.core.pgntext import (
    AFTER,
    BRACE,
    BRACKET,
    BROKEN,
    BYTE_ORDER_MARK,
    CLASS,
    CLOSED,
    DASH,
    DIGIT,
    DOT,
    GLYPH,
    LETTER,
    NAG,
    NEWLINE,
    OPEN,
    OPEN_COMMENT,
    OPEN_VARIATION,
    PERCENT,
    SEMICOLON,
    SEMICOLON_BYTE,
    SLASH,
    SPACE,
    STAR,
    SUFFIX,
    THREE,
    WORD_END,
    Bytes,
    begins_moves,
    event_follows,
    has_bracket,
    hash_of_name,
    line_end,
    next_line,
    read_result,
    read_tag,
    read_word,
    skip_comment,
    skip_variation,
)
from flightless.core.san import STRANGE, play_san
from flightless.core.state import Moves, State, encode

__all__ = [
    "AFTER_RESULT",
    "BAD_TAGS",
    "COLUMNS",
    "FEN_TAG",
    "NO_ROOM",
    "OPEN_COMMENT",
    "OPEN_VARIATION",
    "VARIANT_TAG",
    "scan",
]

Table = np.ndarray[tuple[int, int], np.dtype[np.uint64]]
Small = np.ndarray[tuple[int], np.dtype[np.uint16]]

TEXT = types.Array(types.uint8, 1, "C", readonly=True)
TABLE = types.Array(types.uint64, 2, "C")
SMALL = types.Array(types.uint16, 1, "C")

# --- what is written about a game -----------------------------------------------------------

COLUMNS = 10
START, MOVETEXT, END, FIRST, PLIES, RESULT, TAG_RESULT, MATED, ERROR, ERROR_AT = (
    np.uint64(n) for n in range(COLUMNS)
)
"""Columns of the table of games: where the game, its movetext and the next game begin; index
of its first move and number of its moves; results by movetext and by tag (0 none, 1 White won,
2 Black won, 3 drawn, 4 unknown); whether the final position is mate; error and its place."""

FEN_TAG, VARIANT_TAG, BAD_TAGS, AFTER_RESULT, NO_ROOM = (np.uint64(n) for n in range(6, 11))
"""Errors besides those of `san` (1 illegal, 2 ambiguous, 3 strange) and `pgntext` (4 a comment
and 5 a variation left open)."""

_I0, _I1, _I2, _IW, _IF, _IK = encode(chess.Board())
_FEN, _VARIANT, _RESULT = (hash_of_name(name) for name in ("FEN", "Variant", "Result"))
_N2, _N3, _N4, _N5, _N7 = (np.uint64(n) for n in (2, 3, 4, 5, 7))


# --- tags -----------------------------------------------------------------------------------


@inner
def _note(games: Table, game: np.uint64, error: np.uint64, at: np.uint64) -> None:
    """Write the first error of a game."""
    if games[game, ERROR] == ZERO:
        games[game, ERROR] = error
        games[game, ERROR_AT] = at


@inner
def _read_tags(
    data: Bytes,
    at: np.uint64,
    end: np.uint64,
    games: Table,
    game: np.uint64,
    seen: Moves,
    count: np.uint64,
) -> tuple[np.uint64, np.uint64, bool]:
    """Read tag pairs from the start of a line on.

    Returns (the start of the first line of movetext or of the next game, number of tags now
    in `seen`, whether it is the next game: after a blank line, a tag that this one had before
    or an Event tag).
    """
    blank = False
    while at < end:
        first = data[at]
        if first == BRACKET:
            name, value = read_tag(data, at, end)
            if count and event_follows(data, at, blank, end):
                return at, count, True
            if name:
                for i in range(count):
                    if blank and seen[np.uint64(i)] == name:
                        return at, count, True
                if count == ZERO:
                    games[game, START] = at
                if count < np.uint64(len(seen)):
                    seen[count] = name
                    count += ONE
                if name == _FEN:
                    _note(games, game, FEN_TAG, at)
                elif name == _VARIANT:
                    _note(games, game, VARIANT_TAG, at)
                elif name == _RESULT:
                    games[game, TAG_RESULT] = read_result(read_word(data, value, end))
            stop = line_end(data, at, end)
            if has_bracket(data, at + ONE, stop):
                _note(games, game, BAD_TAGS, at)
        elif first in (PERCENT, SEMICOLON_BYTE):
            stop = line_end(data, at, end)
        else:
            return at, count, False
        at, blank = next_line(data, min(stop + ONE, end), end)
    return end, count, False


# --- movetext -------------------------------------------------------------------------------

_NEXT_GAME, _MORE_TAGS, _GO_ON, _NOTHING = ZERO, ONE, _N2, _N3
_NUMBER, _TRY_AS_MOVE = ZERO, _N5


@inner
def _digits(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, np.uint64]:
    """What a word that begins with a digit is: a move number (0), a result (1 to 4) or what
    may be castling written with noughts; and the place after it (not for castling)."""
    stop = at + ONE
    while stop < end and CLASS[data[stop]] == DIGIT:
        stop += ONE
    if stop >= end or (data[stop] != DASH and data[stop] != SLASH):
        while stop < end and data[stop] == DOT:
            stop += ONE
        return _NUMBER, stop
    result = read_result(read_word(data, at, end))
    stop = at + (_N7 if result == _N3 else _N3)
    if result and (stop >= end or AFTER[data[stop]] == WORD_END):
        return result, stop
    return _TRY_AS_MOVE, at


@inner
def _play_word(
    data: Bytes, at: np.uint64, end: np.uint64, state: State
) -> tuple[State, np.uint64, np.uint64, np.uint64]:
    """Play the move at a place: (state after it, move, the place after it, error)."""
    after, move, used, error = play_san(state, read_word(data, at, end))
    stop = at + used
    while stop < end and AFTER[data[stop]] == SUFFIX:
        stop += ONE
    if error == ZERO and stop < end and AFTER[data[stop]] != WORD_END:
        error = STRANGE
    return after, move, stop, error


@inner
def _break_line(
    data: Bytes, at: np.uint64, end: np.uint64, begun: bool, ended: bool
) -> tuple[np.uint64, np.uint64]:
    """From a newline of the main line on: the place to read on, and whether the next game or
    more tags begin there.

    The next game begins with a tag, or after a blank line where the last one has ended with
    a result or move number one stands.
    """
    line, blank = next_line(data, at + ONE, end)
    if line >= end:
        return end, _GO_ON
    first = data[line]
    if first == BRACKET and read_tag(data, line, end)[0]:
        return line, _NEXT_GAME if begun else _MORE_TAGS
    if first == PERCENT:
        return line_end(data, line, end), _GO_ON
    if blank and begun and (ended or begins_moves(data, line, end)):
        return line, _NEXT_GAME
    return line, _GO_ON


@inner
def _skip_aside(
    data: Bytes, at: np.uint64, end: np.uint64, games: Table, game: np.uint64
) -> tuple[np.uint64, np.uint64]:
    """Skip a comment or variation that begins at a place; one left open spoils the game."""
    if CLASS[data[at]] == BRACE:
        stop, how = skip_comment(data, at + ONE, end)
        error = OPEN_COMMENT
    else:
        stop, how, error = skip_variation(data, at + ONE, end)
    if how != CLOSED:
        games[game, ERROR] = error
        games[game, ERROR_AT] = at
    return stop, how


@inner
def _write_final(finals: Table, game: np.uint64, state: State) -> None:
    finals[game, 0] = state.p0
    finals[game, 1] = state.p1
    finals[game, 2] = state.p2
    finals[game, 3] = state.white
    finals[game, 4] = state.flags
    finals[game, 5] = state.key


@inner
def _read_moves(
    data: Bytes,
    at: np.uint64,
    end: np.uint64,
    games: Table,
    game: np.uint64,
    finals: Table,
    moves: Small,
) -> tuple[np.uint64, np.uint64]:
    """Read movetext from the start of a line on, and play it.

    Returns the place where it ends, and how: the next game begins there, or more tags (there
    were only comments so far), or the text ran out.
    """
    state = State(_I0, _I1, _I2, _IW, _IF, _IK)
    first = games[game, FIRST]
    count = first
    room = np.uint64(len(moves))
    begun = False  # something but comments has been read
    over = False  # there has been a result
    ended = False  # and nothing but move numbers after it
    how = _GO_ON
    playing = games[game, ERROR] == ZERO
    while at < end:
        kind = CLASS[data[at]]
        if kind == SPACE:
            at += ONE
            continue
        if kind == DIGIT:
            begun = True
            what, at = _digits(data, at, end)
            if what == _NUMBER:
                continue
            if what != _TRY_AS_MOVE:
                games[game, RESULT] = what
                over = ended = True
                continue
            kind = LETTER
        if kind == LETTER:
            begun = True
            if not playing:
                at += ONE
                continue
            after, move, stop, error = _play_word(data, at, end, state)
            if over:
                error = AFTER_RESULT
            if count >= room:
                error = NO_ROOM
            if error:
                _note(games, game, error, at)
                playing = False
                continue
            state = after
            moves[count] = move
            count += ONE
            at = stop
        elif kind == NEWLINE:
            at, how = _break_line(data, at, end, begun, ended)
            if how != _GO_ON:
                break
        elif kind in (BRACE, OPEN):
            if kind == OPEN:
                begun = True
                if count == first:
                    _note(games, game, STRANGE, at)
                    playing = False
            at, how = _skip_aside(data, at, end, games, game)
            ended = False
            if how != CLOSED:
                how = _NEXT_GAME if how == BROKEN else _GO_ON
                begun = True
                playing = False
                break
            how = _GO_ON
        elif kind == SEMICOLON:
            at = line_end(data, at, end)
            ended = False
        elif kind == STAR:
            games[game, RESULT] = _N4
            begun = True
            over = ended = True
            at += ONE
        else:
            begun = True
            ended = False
            if kind == NAG:
                at += ONE
                while at < end and CLASS[data[at]] == DIGIT:
                    at += ONE
                continue
            if kind != GLYPH:
                _note(games, game, STRANGE, at)
                playing = False
            at += ONE
    games[game, PLIES] = count - first
    games[game, MATED] = ONE if playing and is_checkmate(state) else ZERO
    _write_final(finals, game, with_key(state))
    return at, _NOTHING if how == _GO_ON and not begun else how


@entry(TEXT, U64, U64, U64, TABLE, TABLE, SMALL, MOVES)
@jit
def scan(
    data: Bytes,
    start: np.uint64,
    end: np.uint64,
    final: np.uint64,
    games: Table,
    finals: Table,
    moves: Small,
    seen: Moves,
) -> tuple[np.uint64, np.uint64, np.uint64]:
    """Read games of a text from the start of a line on, until a table is full.

    `games` (`COLUMNS` wide) and `finals` (six wide: the final states, as far as a game could
    be played) take a row for each game, `moves` the moves of all.  `seen` is scratch space
    for the names of tags.  A last game that may go on beyond `end` is left for the next call,
    unless `final`.  Returns the number of games, the number of moves, and where to go on.
    """
    game = ZERO
    used = ZERO
    at, _ = next_line(data, start, end)
    while at < end and game < np.uint64(len(games)):
        if read_word(data, at, end) & THREE == BYTE_ORDER_MARK:
            at += _N3
        for column in range(COLUMNS):
            games[game, column] = ZERO
        games[game, START] = at
        games[game, FIRST] = used
        _write_final(finals, game, State(_I0, _I1, _I2, _IW, _IF, _IK))
        place, tags, how = at, ZERO, _MORE_TAGS
        while how == _MORE_TAGS:
            place, tags, next_game = _read_tags(data, place, end, games, game, seen, tags)
            games[game, MOVETEXT] = place
            if next_game:
                how = _NEXT_GAME
            elif place < end:
                place, how = _read_moves(data, place, end, games, game, finals, moves)
            else:
                how = _GO_ON
        if how != _NEXT_GAME and not final:
            break
        if games[game, ERROR] == NO_ROOM and game > ZERO:
            break
        games[game, END] = place
        at = place
        if tags or how != _NOTHING:
            used += games[game, PLIES]
            game += ONE
    return game, used, at
