"""Where one game ends and the next begins, in bytes, without knowing any move.

The splitter follows comments, variations and escaped lines just far enough to find the
borders of games; tags and moves are left to `movetext`.  It holds one game at a time and
has no recursion, so that neither size nor nesting can hurt it.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

__all__ = ["EVENT", "MOST_OF_A_GAME", "TOO_LONG", "GameSplitter", "RawGame", "split_games"]

MOST_OF_A_GAME = 1 << 26
"""A game longer than this (64 MB of text) is not kept, only its borders are followed."""

TOO_LONG = f"the game has more than {MOST_OF_A_GAME >> 20} MB of text"

_MARK = re.compile(rb"[{();]")
EVENT = b'[Event "'
"""After an empty line, a line that begins so begins a game whatever comes before."""

_TAG = re.compile(rb'\[\s*([A-Za-z0-9][A-Za-z0-9_+#=:-]*)\s*"')
_RESULT_AT_END = re.compile(rb"(?:^|[\s.)}])(?:1-0|0-1|1/2-1/2|\*)$")
_FIRST_MOVE = re.compile(rb"\s*1\s*\.(?!\.)")


@dataclass(frozen=True, slots=True)
class RawGame:
    """The bytes of one game: its tags and its movetext.

    `number` counts the games of the file from 1 and `line` is the line that it begins on.
    `problem` says why the game cannot be read, with `problem_line`; it is None for most.
    """

    number: int
    line: int
    text: bytes
    problem: str | None = None
    problem_line: int = 0


def split_games(blocks: Iterable[bytes]) -> Iterator[RawGame]:
    """The games in blocks of whole lines, in order.

    A new game begins with a tag line after movetext, and also, for games without tags, after
    an empty line if the last movetext ended with a result or the next begins with move 1.
    A comment or variation that is still open at an empty line followed by a line that begins
    with `[Event "` ends there, and the game has a problem.  In a comment nothing else ends a
    game, whatever it holds: empty lines, tags, brackets.
    """
    splitter = GameSplitter()
    line = 1
    for block in blocks:
        for text in block.splitlines(keepends=True):
            game = splitter.take(line, text)
            if game is not None:
                yield game
            line += text.endswith(b"\n")
    game = splitter.end()
    if game is not None:
        yield game


class GameSplitter:
    """The same line by line, for callers that look at the lines themselves."""

    def __init__(self) -> None:
        self._number = 0
        self._start(0)

    def _start(self, line: int) -> None:
        self._line = line
        self._parts: list[bytes] = []
        self._size = 0
        self._in_comment = False
        self._depth = 0
        self._opened = 0  # line of the comment or outermost variation that is open
        self._tags: set[bytes] = set()
        self._has_moves = False
        self._has_result = False
        self._after_empty = False

    def take(self, line: int, text: bytes) -> RawGame | None:
        """Take the next line; the game that it ends, if it ends one."""
        done = None
        if self._size and self._begins_game(text):
            done = self._finish("where the next game begins")
            self._start(line)
        if text.isspace():
            self._after_empty = True
            if self._size:
                self._keep(text)
            return done
        if not self._size:
            text = text.removeprefix(codecs.BOM_UTF8)  # files are often put together from others
            self._line = line
        self._follow(line, text)
        self._keep(text)
        self._after_empty = False
        return done

    def end(self) -> RawGame | None:
        """The last game, at the end of the file."""
        return self._finish("at the end of the file")

    def _begins_game(self, text: bytes) -> bool:
        if self._after_empty and text.startswith(EVENT):
            return True
        if self._in_comment or self._depth:
            return False
        tag = _TAG.match(text)
        if tag is not None:
            # Tags alone, then the same tags again: the first game has no moves.
            return self._has_moves or (self._after_empty and tag[1] in self._tags)
        if not self._after_empty or not self._has_moves or text.isspace():
            return False
        return self._has_result or _FIRST_MOVE.match(text) is not None

    def _follow(self, line: int, text: bytes) -> None:
        if not self._in_comment:
            if text.startswith(b"%"):
                return
            if text.startswith(b"[") and not self._has_moves and not self._depth:
                tag = _TAG.match(text)
                if tag is not None:
                    if not self._tags:
                        # Remarks and spoilt lines before the first tag are not of the game.
                        self._line, self._parts = line, []
                    self._tags.add(tag[1])
                return
        if self._in_comment or self._depth or _MARK.search(text):
            self._follow_marks(line, text)
        else:
            self._has_moves = True
        if not self._in_comment and not self._depth and b";" not in text:
            self._has_result = _RESULT_AT_END.search(text.rstrip()[-9:]) is not None

    def _follow_marks(self, line: int, text: bytes) -> None:
        at = 0
        while True:
            if self._in_comment:
                close = text.find(b"}", at)
                if close < 0:
                    return
                self._in_comment = False
                at = close + 1
            mark = _MARK.search(text, at)
            between = text[at : mark.start() if mark else None]
            if not self._has_moves and not between.isspace():
                self._has_moves = bool(between)
            if mark is None:
                return
            at = mark.end()
            match mark[0]:
                case b"{":
                    self._opened = line if not self._depth else self._opened
                    self._in_comment = True
                case b"(":
                    self._opened = line if not self._depth else self._opened
                    self._depth += 1
                case b")":
                    self._depth = max(self._depth - 1, 0)
                case _:
                    return  # a semicolon: the rest of the line is comment

    def _keep(self, text: bytes) -> None:
        self._size += len(text)
        if self._size <= MOST_OF_A_GAME:
            self._parts.append(text)

    def _finish(self, where: str) -> RawGame | None:
        is_open = self._in_comment or self._depth > 0
        if not self._has_moves and not self._tags and not is_open:
            return None  # empty lines and comments between games
        self._number += 1
        problem, line = None, self._line
        if is_open:
            what = "a comment" if self._in_comment else "a variation"
            problem, line = f"{what} is still open {where}", self._opened
        elif self._size > MOST_OF_A_GAME:
            problem = TOO_LONG
        return RawGame(self._number, self._line, b"".join(self._parts), problem, line)
