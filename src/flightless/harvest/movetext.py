"""One game from its bytes: tags, starting position, moves and result, by python-chess.

This module decodes text, reads tags and movetext, and plays the main line by the rules;
comments, variations and annotation glyphs are passed over.  Where the game's bytes come
from is left to `splitter`, what is in the position to `seek`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import chess

from flightless.errors import FlightlessError, PositionError
from flightless.harvest.splitter import RawGame
from flightless.positions import read_position

__all__ = ["Game", "GameError", "decoded", "read_game", "read_tags"]

RESULTS = frozenset({"1-0", "0-1", "1/2-1/2", "*"})

_TAG_PAIR = re.compile(r'\[\s*([A-Za-z0-9][A-Za-z0-9_+#=:-]*)\s*"((?:[^"\\]|\\.)*)"\s*\]')
_TAG_LOOSE = re.compile(r'\[\s*([A-Za-z0-9][A-Za-z0-9_+#=:-]*)\s*"(.*)"\s*\]\s*$')
_COMMENT = r"\{[^}]*\}?|;[^\n]*|^%[^\n]*"
_TOKEN = re.compile(
    rf"(?P<skip>{_COMMENT}|\$\d*|[)}}\[\]<>])|(?P<open>\()|(?P<word>\*|[^\s{{}}();$\[\]<>*]+)",
    re.MULTILINE,
)
_BRACKET = re.compile(rf"{_COMMENT}|[()]", re.MULTILINE)
_BEFORE_MOVE = re.compile(
    r"(?! (?:1-0|0-1|1/2-1/2) (?:\W|$) | 0-0) \d+ (?:\.|…)* | (?:\.|…)+ | [!?]+", re.VERBOSE
)
_RESULT = re.compile(r"1-0|0-1|1/2-1/2")
_SAN = re.compile(
    r"""
    (   [NBKRQ]? [a-h]? [1-8]? [-x:]? [a-h] [1-8] (?: =? [nbrqkNBRQK] )?
        | [O0o]-[O0o] (?: -[O0o] )?
    )
    (?: [+\#!?] | e\.p\. | ep )*
    """,
    re.VERBOSE,
)
_ANNOTATION = re.compile(r"[ND]|e\.?p\.?|ch\.?|mate|\W+", re.IGNORECASE)
_STANDARD = frozenset({"", "?", "standard", "chess", "classical", "normal", "from position"})
_MOST_OF_A_WORD = 24
_MOST_OF_A_TAG = 255  # the PGN standard's longest line


class GameError(FlightlessError, ValueError):
    """A game that cannot be read: the reason, and the line of the file that is to blame."""

    def __init__(self, reason: str, line: int) -> None:
        super().__init__(reason)
        self.line = line


@dataclass(frozen=True, slots=True)
class Game:
    """A game that was read and played through.

    `start` is the starting position, `moves` the main line, `final` the position after it,
    `tags` the tag pairs, `result` one of the PGN standard's four results (the tag's, or the
    one that ends the movetext where the tag has none), `number` and `line` its place in the
    file.
    """

    number: int
    line: int
    tags: Mapping[str, str]
    start: chess.Board
    moves: tuple[chess.Move, ...]
    final: chess.Board
    result: str


def read_game(raw: RawGame) -> Game:
    """Read and play through one game.

    Raises `GameError` with the reason and the line: an illegal, ambiguous or unreadable
    move, an unreadable FEN tag, another kind of chess, a comment or variation left open.
    """
    if raw.problem is not None:
        raise GameError(raw.problem, raw.problem_line)
    if b"\x00" in raw.text:
        line = raw.line + raw.text.count(b"\n", 0, raw.text.index(b"\x00"))
        raise GameError("there is binary data in the game", line)
    text = decoded(raw.text)
    tags, at = read_tags(text)
    start = _start(tags, text, raw.line)
    board = start.copy()
    moves: list[chess.Move] = []
    result = "*"
    for offset, written in _main_line(text, at):
        word = _without_number(written)
        if word in RESULTS:
            result = word
            continue
        try:
            move = _move(board, word)
        except ValueError as error:
            line = raw.line + text.count("\n", 0, offset)
            raise GameError(_fault(board, word or written, error), line) from None
        if move is not None:
            moves.append(move)
            board.push(move)
    tagged = _RESULT.match(tags.get("Result", ""))
    if tagged is not None:
        result = tagged[0]
    if not tags and not moves and result == "*":
        raise GameError("there are neither tags nor moves in it", raw.line)
    return Game(raw.number, raw.line, tags, start, tuple(moves), board, result)


def decoded(data: bytes) -> str:
    """UTF-8 where it is UTF-8, else Latin-1 (the PGN standard's own character set)."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def read_tags(text: str) -> tuple[dict[str, str], int]:
    """The tag pairs at the head of a game, and where its movetext begins."""
    tags: dict[str, str] = {}
    at = 0
    while at < len(text):
        end = text.find("\n", at) + 1 or len(text)
        line = text[at:end]
        if line.startswith("{"):
            end = text.find("}", at) + 1 or len(text)
        elif line.startswith("["):
            pairs = _TAG_PAIR.findall(line) or _TAG_LOOSE.findall(line)
            for name, value in pairs:
                if "\\" in value:
                    value = re.sub(r"\\(.)", r"\1", value)
                tags[name] = value[:_MOST_OF_A_TAG].strip()
        elif not line.isspace() and line[0] not in "%;":
            break
        at = end
    return tags, at


def _start(tags: Mapping[str, str], text: str, line: int) -> chess.Board:
    variant = tags.get("Variant", "").lower()
    if variant not in _STANDARD:
        raise GameError(f"the game is of another kind of chess: {tags['Variant']!r}", line)
    fen = tags.get("FEN")
    if not fen:
        return chess.Board()
    try:
        return read_position(fen).board
    except PositionError as error:
        at = line + text.count("\n", 0, max(text.find("[FEN"), 0))
        raise GameError(f"the FEN tag cannot be read: {error}", at) from None


def _main_line(text: str, at: int) -> Iterator[tuple[int, str]]:
    """The words of the main line with their offsets; what else there is is passed over."""
    while True:
        for token in _TOKEN.finditer(text, at):
            kind = token.lastgroup
            if kind == "word":
                yield token.start(), token[0]
            elif kind == "open":
                at = _after_variation(text, token.end())
                break
        else:
            return


def _after_variation(text: str, at: int) -> int:
    depth = 1
    for mark in _BRACKET.finditer(text, at):
        if mark[0] == "(":
            depth += 1
        elif mark[0] == ")":
            depth -= 1
            if not depth:
                return mark.end()
    return len(text)


def _move(board: chess.Board, word: str) -> chess.Move | None:
    """The move that a word of the main line is, or None for numbers and annotations.

    Raises ValueError (python-chess's own where it is a move, but not a legal one here).
    """
    san = _SAN.fullmatch(word)
    if san is not None:
        return board.parse_san(san[1].replace(":", "x").replace("o", "O"))
    if not word or (word != "--" and _ANNOTATION.fullmatch(word)):
        return None  # "--" is a pass, which no game has
    raise ValueError("no move")


def _without_number(word: str) -> str:
    """A word without the move number, or a glyph of the move before, at its front."""
    at = 0
    while (number := _BEFORE_MOVE.match(word, at)) is not None:
        at = number.end()
    return word[at:]


def _fault(board: chess.Board, word: str, error: ValueError) -> str:
    bare = word if len(word) <= _MOST_OF_A_WORD else word[:_MOST_OF_A_WORD] + "…"
    label = f"{board.fullmove_number}{'.' if board.turn else '…'}{bare}"
    if isinstance(error, chess.AmbiguousMoveError):
        return f"{label} is ambiguous: more than one man can go there"
    if isinstance(error, chess.IllegalMoveError):
        return f"{label} is not legal"
    return f"at move {board.fullmove_number} stands {bare!r}, which is no move"
