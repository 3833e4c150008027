"""A file of games cut into chunks that can be harvested apart, in any order, anywhere.

Every cut is made where a game begins whatever comes before: at a line that begins with
`[Event "` and follows an empty line.  Text without such lines (games without tags, or one
monstrous game) goes through the splitter line by line instead.  Memory holds one chunk.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace

from flightless.errors import FileError
from flightless.harvest.files import MOST_OF_A_LINE, with_line_feeds
from flightless.harvest.splitter import EVENT, GameSplitter, RawGame

__all__ = ["CHUNK", "Chunk", "cut"]

CHUNK = 1 << 20
"""Bytes that a chunk has at most, unless a game is longer."""

_PATIENCE = 8
"""After so many chunks' worth of text without a place to cut, it is read line by line."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """A piece of a file that begins and ends between games.

    `start` and `end` are places in the unpacked text.  The games are those in `text`, or, if
    that is None, the `games` that the splitter has already found; numbers and lines in them
    count from the chunk's own beginning, and `lines` is the number of lines the chunk has.
    `is_last` says that the file ends with it.
    """

    start: int
    end: int
    text: bytes | None
    games: tuple[RawGame, ...] = ()
    lines: int = 0
    is_last: bool = False


def cut(blocks: Iterable[bytes], start: int = 0, size: int = CHUNK) -> Iterator[Chunk]:
    """The chunks of a text that comes in blocks, the first of which begins at byte `start`.

    If the text breaks off with `FileError`, the games that are surely whole come before it: all
    but the one that it breaks off in.
    """
    return _Cutter(iter(blocks), start, size).chunks()


class _Cutter:
    def __init__(self, blocks: Iterator[bytes], start: int, size: int) -> None:
        self._blocks = blocks
        self._start = start
        self._size = size
        self._held = b""
        self._fault: FileError | None = None

    def chunks(self) -> Iterator[Chunk]:
        while self._fill(self._size):
            more = True
            at = _border(self._held, self._size)
            while not at and more and len(self._held) < _PATIENCE * self._size:
                more = self._fill(len(self._held) + self._size)
                at = _border(self._held, self._size)
            if at:
                yield self._take(at)
            elif more:
                yield from self._line_by_line()
            else:
                break
        if self._fault is not None:
            if at := _border_before(self._held, len(self._held)):
                yield self._take(at)
            raise self._fault
        if self._held:
            yield replace(self._take(len(self._held)), is_last=True)

    def _fill(self, size: int) -> bool:
        """Hold at least so many bytes; False if the text ends before."""
        if len(self._held) >= size:
            return True
        parts = [self._held]
        held = len(self._held)
        try:
            for block in self._blocks:
                parts.append(block)
                held += len(block)
                if held >= size:
                    break
        except FileError as error:
            self._fault = error  # what came before it is read first
        self._held = b"".join(parts)
        return held >= size

    def _take(self, size: int) -> Chunk:
        text, self._held = self._held[:size], self._held[size:]
        chunk = Chunk(self._start, self._start + size, text)
        self._start = chunk.end
        return chunk

    def _line_by_line(self) -> Iterator[Chunk]:
        """Chunks of games that the splitter finds, until there is a place to cut again."""
        splitter = GameSplitter()
        games: list[RawGame] = []
        begun = at = self._start
        number, first_line, line = 0, 1, 1
        after_empty = False
        with closing(self._lines()) as lines:
            for raw in lines:
                is_border = after_empty and raw.startswith(EVENT)
                text = with_line_feeds(raw)
                game = splitter.take(line, text)
                if game is not None:
                    games.append(_counted_from(game, number, first_line))
                if is_border or (game is not None and at - begun >= self._size):
                    yield Chunk(begun, at, None, tuple(games), line - first_line)
                    begun, games = at, []
                    number, first_line = number if game is None else game.number, line
                if is_border:
                    self._start = at
                    return
                at += len(raw)
                line += text.endswith(b"\n")
                after_empty = text.isspace()
        game = splitter.end()
        if game is not None and self._fault is None:
            games.append(_counted_from(game, number, first_line))
        yield Chunk(begun, at, None, tuple(games), line - first_line)
        self._start = at

    def _lines(self) -> Generator[bytes, None, None]:
        """The lines that are held and to come; when the caller stops, the line that was given
        last and all behind it are held again."""
        more = True
        while more:
            more = self._fill(len(self._held) + 1)
            lines = self._held.splitlines(keepends=True)
            # The last line may go on, were it only with the other half of a CRLF.
            rest = lines.pop() if more and len(self._held) < MOST_OF_A_LINE else b""
            for i, line in enumerate(lines):
                try:
                    yield line
                except GeneratorExit:
                    self._held = b"".join(lines[i:]) + rest
                    raise
            self._held = rest


def _counted_from(game: RawGame, number: int, line: int) -> RawGame:
    return replace(
        game,
        number=game.number - number,
        line=game.line - line + 1,
        problem_line=game.problem_line - line + 1,
    )


def _border(text: bytes, size: int) -> int:
    """The last place before `size` where a game begins whatever comes before, or else the first
    after it; 0 if there is none."""
    if at := _border_before(text, size):
        return at
    at = size - len(EVENT) - 1
    while (at := text.find(b"\n" + EVENT, max(at + 1, 0))) > 0:
        if _is_after_empty(text, at):
            return at + 1
    return 0


def _border_before(text: bytes, end: int) -> int:
    """The last place before `end` where a game begins whatever comes before; 0 if there is
    none."""
    while (at := text.rfind(b"\n" + EVENT, 0, end)) > 0:
        if _is_after_empty(text, at):
            return at + 1
        end = at
    return 0


def _is_after_empty(text: bytes, at: int) -> bool:
    """Whether the line that ends at a place is empty."""
    return not text[text.rfind(b"\n", 0, at) + 1 : at].strip()
