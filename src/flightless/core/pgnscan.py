"""Games read from the bytes of a PGN file: borders, words, moves played, mate tested.

Compiled functions that go through the text once.  What is usual is decided here; a game
with anything else in it is marked with an error and its place, its borders are still found,
and python-chess is left to judge it.  Notation: PGN Standard, section 8 (S. Edwards, 1994).
"""

from __future__ import annotations

import chess
import numpy as np
from numba import types

from flightless.core.bits import ONE, ZERO, ctz, load
from flightless.core.compiled import MOVES, U64, inner, jit
from flightless.core.mate import is_checkmate
from flightless.core.san import STRANGE, Bytes, play_san
from flightless.core.state import Moves, State, encode

__all__ = [
    "AFTER_RESULT",
    "BAD_TAGS",
    "COLUMNS",
    "FEN_TAG",
    "NO_ROOM",
    "OPEN_COMMENT",
    "OPEN_VARIATION",
    "SCAN_TYPES",
    "VARIANT_TAG",
    "scan",
]

Table = np.ndarray[tuple[int, int], np.dtype[np.uint64]]
Small = np.ndarray[tuple[int], np.dtype[np.uint16]]

TEXT = types.Array(types.uint8, 1, "C", readonly=True)
TABLE = types.Array(types.uint64, 2, "C")
SMALL = types.Array(types.uint16, 1, "C")
SCAN_TYPES = (TEXT, U64, U64, U64, TABLE, TABLE, SMALL, MOVES)
"""For a room that uses `scan`: `entry(*SCAN_TYPES)(scan)` has it compiled ahead."""

# --- what is written about a game -----------------------------------------------------------

COLUMNS = 10
START, MOVETEXT, END, FIRST, PLIES, RESULT, TAG_RESULT, MATED, ERROR, ERROR_AT = (
    np.uint64(n) for n in range(COLUMNS)
)
"""Columns of the table of games: where the game, its movetext and the next game begin; index
of its first move and number of its moves; results by movetext and by tag (0 none, 1 White won,
2 Black won, 3 drawn, 4 unknown); whether the final position is mate; error and its place."""

OPEN_COMMENT, OPEN_VARIATION, FEN_TAG, VARIANT_TAG, BAD_TAGS, AFTER_RESULT, NO_ROOM = (
    np.uint64(n) for n in range(4, 11)
)
"""Errors besides those of `san`: 1 illegal, 2 ambiguous, 3 strange."""

# --- classes of bytes -----------------------------------------------------------------------

_SPACE, _NEWLINE, _DIGIT, _SAN, _BRACE, _OPEN, _CLOSE, _SEMICOLON, _NAG, _GLYPH, _STAR = (
    np.uint64(n) for n in range(1, 12)
)
_ODD = ZERO


def _class_table() -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
    table = np.zeros(256, np.uint64)
    for letters, value in (
        (" \t\r\v\f", _SPACE),
        ("\n", _NEWLINE),
        ("0123456789", _DIGIT),
        ("abcdefghNBRQKO", _SAN),
        ("{", _BRACE),
        ("(", _OPEN),
        (")", _CLOSE),
        (";", _SEMICOLON),
        ("$", _NAG),
        ("!?", _GLYPH),
        ("*", _STAR),
    ):
        for letter in letters:
            table[ord(letter)] = value
    return table


_CLASS = _class_table()


def _after_table() -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
    """What may follow a move: 1 a mark that belongs to it, 2 the end of the word."""
    table = np.zeros(256, np.uint64)
    for letter in "+#!?":
        table[ord(letter)] = 1
    for letter in " \t\r\n\v\f(){;$*":
        table[ord(letter)] = 2
    return table


_AFTER = _after_table()
_MARK, _WORD_END = np.uint64(1), np.uint64(2)


def _spread(letter: str) -> np.uint64:
    return np.uint64(ord(letter) * 0x0101010101010101)


def _packed(text: str) -> np.uint64:
    return np.uint64(int.from_bytes(text.encode(), "little"))


_LOW_BITS, _HIGH_BITS = np.uint64(0x0101010101010101), np.uint64(0x8080808080808080)
_NEWLINES, _BRACES, _BRACKETS = _spread("\n"), _spread("}"), _spread("[")
_BYTE, _THREE, _SEVEN = np.uint64(0xFF), np.uint64(0xFFFFFF), np.uint64(0xFFFFFFFFFFFFFF)
_EVENT = _packed('[Event "')
_WHITE_WON, _BLACK_WON, _DRAWN = _packed("1-0"), _packed("0-1"), _packed("1/2-1/2")
_BYTE_ORDER_MARK = np.uint64(0xBFBBEF)
_N2, _N3, _N4, _N5, _N7, _N8 = (np.uint64(n) for n in (2, 3, 4, 5, 7, 8))
_BRACKET, _QUOTE, _PERCENT, _DOT = (np.uint8(ord(c)) for c in '["%.')
_SEMICOLON_BYTE, _DIGIT_ONE, _DASH, _SLASH = (np.uint8(ord(c)) for c in ";1-/")
_STAR_BYTE = np.uint64(ord("*"))

_HASH_START, _HASH_STEP = np.uint64(0xCBF29CE484222325), np.uint64(0x100000001B3)


def _hash_of(name: str) -> np.uint64:
    """FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo) of a tag's name, as `_tag` computes it."""
    number = int(_HASH_START)
    for byte in name.encode():
        number = (number ^ byte) * int(_HASH_STEP) & 0xFFFFFFFFFFFFFFFF
    return np.uint64(number)


_FEN, _VARIANT, _RESULT = _hash_of("FEN"), _hash_of("Variant"), _hash_of("Result")


def _name_table() -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
    """1 for letters and digits, 2 for what else may stand in a tag's name."""
    table = np.zeros(256, np.uint64)
    for byte in range(128):
        if chr(byte).isalnum():
            table[byte] = 1
    for letter in "_+#=:-":
        table[ord(letter)] = 2
    return table


_NAME = _name_table()

_I0, _I1, _I2, _IW, _IF, _IK = encode(chess.Board())


# --- bytes and lines ------------------------------------------------------------------------


@inner
def _word(data: Bytes, at: np.uint64, end: np.uint64) -> np.uint64:
    """Eight bytes from `at` on, zeros beyond the end."""
    if at + _N8 <= end:
        return load(data, at)
    word = ZERO
    shift = ZERO
    while at < end:
        word |= np.uint64(data[at]) << shift
        shift += _N8
        at += ONE
    return word


@inner
def _matches(word: np.uint64, spread: np.uint64) -> np.uint64:
    """High bits of bytes that equal the spread one; the lowest is right, others may not be."""
    x = word ^ spread
    return (x - _LOW_BITS) & ~x & _HIGH_BITS


@inner
def _line_end(data: Bytes, at: np.uint64, end: np.uint64) -> np.uint64:
    """Where the newline of the line is, or the end of the text."""
    while at < end:
        found = _matches(_word(data, at, end), _NEWLINES)
        if found:
            at += ctz(found) >> _N3
            break
        at += _N8
    return min(at, end)


@inner
def _next_line(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, bool]:
    """From the start of a line: the start of the first line that is not blank, and whether
    blank ones were passed."""
    blank = False
    line = at
    while at < end:
        kind = _CLASS[data[at]]
        at += ONE
        if kind == _NEWLINE:
            blank = True
            line = at
        elif kind != _SPACE:
            return line, blank
    return end, blank


@inner
def _tag(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, np.uint64]:
    """A hash of the tag's name and the place after its opening quote, if a line that begins
    with a bracket begins a tag pair; else zeros."""
    at += ONE
    while at < end and _CLASS[data[at]] == _SPACE:
        at += ONE
    if at >= end or _NAME[data[at]] != ONE:
        return ZERO, ZERO
    name = _HASH_START
    while at < end and _NAME[data[at]]:
        name = (name ^ np.uint64(data[at])) * _HASH_STEP
        at += ONE
    while at < end and _CLASS[data[at]] == _SPACE:
        at += ONE
    if at >= end or data[at] != _QUOTE:
        return ZERO, ZERO
    return name, at + ONE


@inner
def _result(word: np.uint64) -> np.uint64:
    """The result that the first bytes of a word spell, or 0."""
    three = word & _THREE
    if three == _WHITE_WON:
        return ONE
    if three == _BLACK_WON:
        return _N2
    if word & _SEVEN == _DRAWN:
        return _N3
    return _N4 if word & _BYTE == _STAR_BYTE else ZERO


@inner
def _begins_moves(data: Bytes, at: np.uint64, end: np.uint64) -> bool:
    """Whether a line begins with move number one of White."""
    while at < end and _CLASS[data[at]] == _SPACE:
        at += ONE
    if at >= end or data[at] != _DIGIT_ONE:
        return False
    at += ONE
    while at < end and _CLASS[data[at]] == _SPACE:
        at += ONE
    return bool(at + ONE < end and data[at] == _DOT and data[at + ONE] != _DOT)


@inner
def _event_follows(data: Bytes, line: np.uint64, blank: bool, end: np.uint64) -> bool:
    """Whether a line after a blank one begins with an Event tag: that ends everything."""
    return bool(blank and _word(data, line, end) == _EVENT)


# --- comments and variations ----------------------------------------------------------------

_CLOSED, _BROKEN, _RAN_OUT = ZERO, ONE, _N2


@inner
def _skip_comment(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, np.uint64]:
    """From within a comment in braces: the place after it and how it ended (closed; broken
    by the next game, which begins there; or by the end of the text)."""
    while at < end:
        word = _word(data, at, end)
        found = _matches(word, _BRACES) | _matches(word, _NEWLINES)
        if found == ZERO:
            at += _N8
            continue
        shift = ctz(found) >> _N3
        at += shift + ONE
        if (word >> (shift << _N3)) & _BYTE == _BRACES & _BYTE:
            return at, _CLOSED
        line, blank = _next_line(data, at, end)
        if blank:
            if _event_follows(data, line, blank, end):
                return line, _BROKEN
            at = line
    return end, _RAN_OUT


@inner
def _skip_variation(
    data: Bytes, at: np.uint64, end: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64]:
    """From within a variation, however deep others are nested in it: the place after it, how
    it ended, and the error if it was left open."""
    depth = ONE
    while at < end:
        kind = _CLASS[data[at]]
        at += ONE
        if kind == _OPEN:
            depth += ONE
        elif kind == _CLOSE:
            depth -= ONE
            if depth == ZERO:
                return at, _CLOSED, ZERO
        elif kind == _BRACE:
            at, how = _skip_comment(data, at, end)
            if how != _CLOSED:
                return at, how, OPEN_COMMENT
        elif kind == _SEMICOLON:
            at = _line_end(data, at, end)
        elif kind == _NEWLINE:
            at, blank = _next_line(data, at, end)
            if _event_follows(data, at, blank, end):
                return at, _BROKEN, OPEN_VARIATION
            if at < end and data[at] == _PERCENT:
                at = _line_end(data, at, end)
    return end, _RAN_OUT, OPEN_VARIATION


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
    in `seen`, whether it is the next game: a tag that this one had before, after a blank
    line).
    """
    blank = False
    while at < end:
        first = data[at]
        if first == _BRACKET:
            name, value = _tag(data, at, end)
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
                    games[game, TAG_RESULT] = _result(_word(data, value, end))
            stop = _line_end(data, at, end)
            if _has_bracket(data, at + ONE, stop):
                _note(games, game, BAD_TAGS, at)
        elif first in (_PERCENT, _SEMICOLON_BYTE):
            stop = _line_end(data, at, end)
        else:
            return at, count, False
        at, blank = _next_line(data, min(stop + ONE, end), end)
    return end, count, False


@inner
def _has_bracket(data: Bytes, at: np.uint64, end: np.uint64) -> bool:
    """Whether another tag may begin on the line."""
    while at < end:
        if _matches(_word(data, at, end), _BRACKETS):
            return True
        at += _N8
    return False


# --- movetext -------------------------------------------------------------------------------

_NEXT_GAME, _MORE_TAGS, _GO_ON, _NOTHING = ZERO, ONE, _N2, _N3
_NUMBER, _TRY_AS_MOVE = ZERO, _N5


@inner
def _digits(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, np.uint64]:
    """What a word that begins with a digit is: a move number (0), a result (1 to 4) or what
    may be castling written with noughts; and the place after it (not for castling)."""
    stop = at + ONE
    while stop < end and _CLASS[data[stop]] == _DIGIT:
        stop += ONE
    if stop >= end or (data[stop] != _DASH and data[stop] != _SLASH):
        while stop < end and data[stop] == _DOT:
            stop += ONE
        return _NUMBER, stop
    result = _result(_word(data, at, end))
    stop = at + (_N7 if result == _N3 else _N3)
    if result and (stop >= end or _AFTER[data[stop]] == _WORD_END):
        return result, stop
    return _TRY_AS_MOVE, at


@inner
def _play_word(
    data: Bytes, at: np.uint64, end: np.uint64, state: State
) -> tuple[State, np.uint64, np.uint64, np.uint64]:
    """Play the move at a place: (state after it, move, the place after it, error)."""
    after, move, used, error = play_san(state, _word(data, at, end))
    stop = at + used
    while stop < end and _AFTER[data[stop]] == _MARK:
        stop += ONE
    if error == ZERO and stop < end and _AFTER[data[stop]] != _WORD_END:
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
    line, blank = _next_line(data, at + ONE, end)
    if line >= end:
        return end, _GO_ON
    first = data[line]
    if first == _BRACKET and _tag(data, line, end)[0]:
        return line, _NEXT_GAME if begun else _MORE_TAGS
    if first == _PERCENT:
        return _line_end(data, line, end), _GO_ON
    if blank and begun and (ended or _begins_moves(data, line, end)):
        return line, _NEXT_GAME
    return line, _GO_ON


@inner
def _skip_aside(
    data: Bytes, at: np.uint64, end: np.uint64, games: Table, game: np.uint64
) -> tuple[np.uint64, np.uint64]:
    """Skip a comment or variation that begins at a place; one left open spoils the game."""
    if _CLASS[data[at]] == _BRACE:
        stop, how = _skip_comment(data, at + ONE, end)
        error = OPEN_COMMENT
    else:
        stop, how, error = _skip_variation(data, at + ONE, end)
    if how != _CLOSED:
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
        kind = _CLASS[data[at]]
        if kind == _SPACE:
            at += ONE
            continue
        if kind == _DIGIT:
            begun = True
            what, at = _digits(data, at, end)
            if what == _NUMBER:
                continue
            if what != _TRY_AS_MOVE:
                games[game, RESULT] = what
                over = ended = True
                continue
            kind = _SAN
        if kind == _SAN:
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
        elif kind == _NEWLINE:
            at, how = _break_line(data, at, end, begun, ended)
            if how != _GO_ON:
                break
        elif kind in (_BRACE, _OPEN):
            if kind == _OPEN:
                begun = True
                if count == first:
                    _note(games, game, STRANGE, at)
                    playing = False
            at, how = _skip_aside(data, at, end, games, game)
            ended = False
            if how != _CLOSED:
                how = _NEXT_GAME if how == _BROKEN else _GO_ON
                begun = True
                playing = False
                break
            how = _GO_ON
        elif kind == _SEMICOLON:
            at = _line_end(data, at, end)
            ended = False
        elif kind == _STAR:
            games[game, RESULT] = _N4
            begun = True
            over = ended = True
            at += ONE
        else:
            begun = True
            ended = False
            if kind == _NAG:
                at += ONE
                while at < end and _CLASS[data[at]] == _DIGIT:
                    at += ONE
                continue
            if kind != _GLYPH:
                _note(games, game, STRANGE, at)
                playing = False
            at += ONE
    games[game, PLIES] = count - first
    games[game, MATED] = ONE if playing and is_checkmate(state) else ZERO
    _write_final(finals, game, state)
    return at, _NOTHING if how == _GO_ON and not begun else how


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
    at, _ = _next_line(data, start, end)
    while at < end and game < np.uint64(len(games)):
        if _word(data, at, end) & _THREE == _BYTE_ORDER_MARK:
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
