"""The text of PGN files as bytes: words, lines, tag pairs, comments and variations.

Compiled functions that find their way through a text without knowing any move; borders of
games and the moves are left to `pgnscan`.  Notation: PGN Standard, sections 7 and 8 (S. Edwards,
1994).
"""

from __future__ import annotations

import numpy as np

from flightless.core.bits import ONE, ZERO, ctz, load
from flightless.core.compiled import inner

__all__ = [
    "AFTER",
    "BRACE",
    "BRACKET",
    "BROKEN",
    "BYTE_ORDER_MARK",
    "CLASS",
    "CLOSE",
    "CLOSED",
    "DASH",
    "DIGIT",
    "DOT",
    "GLYPH",
    "LETTER",
    "NAG",
    "NEWLINE",
    "OPEN",
    "OPEN_COMMENT",
    "OPEN_VARIATION",
    "PERCENT",
    "RAN_OUT",
    "SEMICOLON",
    "SEMICOLON_BYTE",
    "SLASH",
    "SPACE",
    "STAR",
    "SUFFIX",
    "THREE",
    "WORD_END",
    "Bytes",
    "begins_moves",
    "event_follows",
    "has_bracket",
    "hash_of_name",
    "line_end",
    "next_line",
    "read_result",
    "read_tag",
    "read_word",
    "skip_comment",
    "skip_variation",
]

Bytes = np.ndarray[tuple[int], np.dtype[np.uint8]]
"""A text, for annotations."""

OPEN_COMMENT, OPEN_VARIATION = np.uint64(4), np.uint64(5)
"""Errors of a game: something is still open where the next game begins or the text ends."""

# --- classes of bytes -----------------------------------------------------------------------

SPACE, NEWLINE, DIGIT, LETTER, BRACE, OPEN, CLOSE, SEMICOLON, NAG, GLYPH, STAR = (
    np.uint64(n) for n in range(1, 12)
)
_ODD = ZERO


def _class_table() -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
    table = np.zeros(256, np.uint64)
    for letters, value in (
        (" \t\r\v\f", SPACE),
        ("\n", NEWLINE),
        ("0123456789", DIGIT),
        ("abcdefghNBRQKO", LETTER),
        ("{", BRACE),
        ("(", OPEN),
        (")", CLOSE),
        (";", SEMICOLON),
        ("$", NAG),
        ("!?", GLYPH),
        ("*", STAR),
    ):
        for letter in letters:
            table[ord(letter)] = value
    return table


CLASS = _class_table()


def _after_table() -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
    """What may follow a move: 1 a mark that belongs to it, 2 the end of the word."""
    table = np.zeros(256, np.uint64)
    for letter in "+#!?":
        table[ord(letter)] = 1
    for letter in " \t\r\n\v\f(){;$*":
        table[ord(letter)] = 2
    return table


AFTER = _after_table()
SUFFIX, WORD_END = np.uint64(1), np.uint64(2)


def _spread(letter: str) -> np.uint64:
    return np.uint64(ord(letter) * 0x0101010101010101)


def _packed(text: str) -> np.uint64:
    return np.uint64(int.from_bytes(text.encode(), "little"))


_LOW_BITS, _HIGH_BITS = np.uint64(0x0101010101010101), np.uint64(0x8080808080808080)
_NEWLINES, _BRACES, _BRACKETS = _spread("\n"), _spread("}"), _spread("[")
_BYTE, THREE, _SEVEN = np.uint64(0xFF), np.uint64(0xFFFFFF), np.uint64(0xFFFFFFFFFFFFFF)
_EVENT = _packed('[Event "')
_WHITE_WON, _BLACK_WON, _DRAWN = _packed("1-0"), _packed("0-1"), _packed("1/2-1/2")
BYTE_ORDER_MARK = np.uint64(0xBFBBEF)
_N2, _N3, _N4, _N5, _N7, _N8 = (np.uint64(n) for n in (2, 3, 4, 5, 7, 8))
BRACKET, _QUOTE, PERCENT, DOT = (np.uint8(ord(c)) for c in '["%.')
SEMICOLON_BYTE, _DIGIT_ONE, DASH, SLASH = (np.uint8(ord(c)) for c in ";1-/")
_STAR_BYTE = np.uint64(ord("*"))

_HASH_START, _HASH_STEP = np.uint64(0xCBF29CE484222325), np.uint64(0x100000001B3)


def hash_of_name(name: str) -> np.uint64:
    """FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo) of a tag's name, as `read_tag` computes it."""
    number = int(_HASH_START)
    for byte in name.encode():
        number = (number ^ byte) * int(_HASH_STEP) & 0xFFFFFFFFFFFFFFFF
    return np.uint64(number)


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

# --- bytes and lines ------------------------------------------------------------------------


@inner
def read_word(data: Bytes, at: np.uint64, end: np.uint64) -> np.uint64:
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
def line_end(data: Bytes, at: np.uint64, end: np.uint64) -> np.uint64:
    """Where the newline of the line is, or the end of the text."""
    while at < end:
        found = _matches(read_word(data, at, end), _NEWLINES)
        if found:
            at += ctz(found) >> _N3
            break
        at += _N8
    return min(at, end)


@inner
def next_line(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, bool]:
    """From the start of a line: the start of the first line that is not blank, and whether
    blank ones were passed."""
    blank = False
    line = at
    while at < end:
        kind = CLASS[data[at]]
        at += ONE
        if kind == NEWLINE:
            blank = True
            line = at
        elif kind != SPACE:
            return line, blank
    return end, blank


@inner
def read_tag(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, np.uint64]:
    """A hash of the tag's name and the place after its opening quote, if a line that begins
    with a bracket begins a tag pair; else zeros."""
    at += ONE
    while at < end and CLASS[data[at]] == SPACE:
        at += ONE
    if at >= end or _NAME[data[at]] != ONE:
        return ZERO, ZERO
    name = _HASH_START
    while at < end and _NAME[data[at]]:
        name = (name ^ np.uint64(data[at])) * _HASH_STEP
        at += ONE
    while at < end and CLASS[data[at]] == SPACE:
        at += ONE
    if at >= end or data[at] != _QUOTE:
        return ZERO, ZERO
    return name, at + ONE


@inner
def read_result(word: np.uint64) -> np.uint64:
    """The result that the first bytes of a word spell, or 0."""
    three = word & THREE
    if three == _WHITE_WON:
        return ONE
    if three == _BLACK_WON:
        return _N2
    if word & _SEVEN == _DRAWN:
        return _N3
    return _N4 if word & _BYTE == _STAR_BYTE else ZERO


@inner
def begins_moves(data: Bytes, at: np.uint64, end: np.uint64) -> bool:
    """Whether a line begins with move number one of White."""
    while at < end and CLASS[data[at]] == SPACE:
        at += ONE
    if at >= end or data[at] != _DIGIT_ONE:
        return False
    at += ONE
    while at < end and CLASS[data[at]] == SPACE:
        at += ONE
    return bool(at + ONE < end and data[at] == DOT and data[at + ONE] != DOT)


@inner
def event_follows(data: Bytes, line: np.uint64, blank: bool, end: np.uint64) -> bool:
    """Whether a line after a blank one begins with an Event tag: that ends everything."""
    return bool(blank and read_word(data, line, end) == _EVENT)


# --- comments and variations ----------------------------------------------------------------

CLOSED, BROKEN, RAN_OUT = ZERO, ONE, _N2


@inner
def skip_comment(data: Bytes, at: np.uint64, end: np.uint64) -> tuple[np.uint64, np.uint64]:
    """From within a comment in braces: the place after it and how it ended (closed; broken
    by the next game, which begins there; or by the end of the text)."""
    while at < end:
        word = read_word(data, at, end)
        found = _matches(word, _BRACES) | _matches(word, _NEWLINES)
        if found == ZERO:
            at += _N8
            continue
        shift = ctz(found) >> _N3
        at += shift + ONE
        if (word >> (shift << _N3)) & _BYTE == _BRACES & _BYTE:
            return at, CLOSED
        line, blank = next_line(data, at, end)
        if blank:
            if event_follows(data, line, blank, end):
                return line, BROKEN
            at = line
    return end, RAN_OUT


@inner
def skip_variation(
    data: Bytes, at: np.uint64, end: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64]:
    """From within a variation, however deep others are nested in it: the place after it, how
    it ended, and the error if it was left open."""
    depth = ONE
    while at < end:
        kind = CLASS[data[at]]
        at += ONE
        if kind == OPEN:
            depth += ONE
        elif kind == CLOSE:
            depth -= ONE
            if depth == ZERO:
                return at, CLOSED, ZERO
        elif kind == BRACE:
            at, how = skip_comment(data, at, end)
            if how != CLOSED:
                return at, how, OPEN_COMMENT
        elif kind == SEMICOLON:
            at = line_end(data, at, end)
        elif kind == NEWLINE:
            at, blank = next_line(data, at, end)
            if event_follows(data, at, blank, end):
                return at, BROKEN, OPEN_VARIATION
            if at < end and data[at] == PERCENT:
                at = line_end(data, at, end)
    return end, RAN_OUT, OPEN_VARIATION


@inner
def has_bracket(data: Bytes, at: np.uint64, end: np.uint64) -> bool:
    """Whether another tag may begin on the line."""
    while at < end:
        if _matches(read_word(data, at, end), _BRACKETS):
            return True
        at += _N8
    return False
