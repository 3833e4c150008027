"""Games from the bytes of PGN files, through the compiled scanner.

The front of `pgnscan`: it hands out blocks of text, keeps the tables, and gives back games
as python-chess objects where asked.  Tags are only located here; reading them, and judging
games marked with an error, is left to the callers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import chess
import numpy as np

from flightless.core import pgnscan
from flightless.core.pgnscan import (
    COLUMNS,
    END,
    ERROR,
    ERROR_AT,
    FIRST,
    MATED,
    MOVETEXT,
    PLIES,
    RESULT,
    START,
    TAG_RESULT,
)
from flightless.core.state import State, decode, move_to_chess

__all__ = ["REASONS", "Scanned", "borders", "scan_blocks", "scan_text"]

RESULTS: Final = (None, "1-0", "0-1", "1/2-1/2", "*")

REASONS: Final = (
    None,
    "illegal move",
    "ambiguous move",
    "no move that the scanner knows",
    "a comment is still open",
    "a variation is still open",
    "a FEN tag",
    "a Variant tag",
    "tags that share a line",
    "moves after the result",
    "no room for the moves",
)
"""What each error of a game means.  Only the open comment and the open variation make a game
bad by themselves; with the others python-chess decides."""

_EVENT = b'[Event "'
_ROOM_FOR_GAMES = 1 << 14
_BYTES_A_MOVE = 3
_MOST_TAGS = 64


@dataclass(frozen=True, slots=True)
class Scanned:
    """Games of one text: tables with a row for each game, and the moves of all.

    `text` are the bytes, `base` their place in the file.  The columns of `table` are those of
    `pgnscan`; offsets are within `text`.
    """

    text: bytes
    base: int
    table: pgnscan.Table
    finals: pgnscan.Table
    moves: pgnscan.Small

    def __len__(self) -> int:
        return len(self.table)

    def _cell(self, game: int, column: np.uint64) -> int:
        return int(self.table[game, column])

    def span(self, game: int) -> tuple[int, int]:
        """Where the game begins and where the next one does, in `text`."""
        return self._cell(game, START), self._cell(game, END)

    def tags(self, game: int) -> bytes:
        """The tag pairs of the game as they stand."""
        return self.text[self._cell(game, START) : self._cell(game, MOVETEXT)]

    def whole(self, game: int) -> bytes:
        """The whole game as it stands."""
        return self.text[slice(*self.span(game))]

    def error(self, game: int) -> tuple[int, int]:
        """The error (an index of `REASONS`, 0 for none) and its place in `text`."""
        return self._cell(game, ERROR), self._cell(game, ERROR_AT)

    def results(self, game: int) -> tuple[str | None, str | None]:
        """The result by the movetext and by the tag."""
        return RESULTS[self._cell(game, RESULT)], RESULTS[self._cell(game, TAG_RESULT)]

    def is_mate(self, game: int) -> bool:
        """Whether the game ends with mate on the board (False with an error)."""
        return bool(self._cell(game, MATED))

    def plies(self, game: int) -> int:
        """The number of moves played, up to an error if there is one."""
        return self._cell(game, PLIES)

    def numbers(self, game: int) -> pgnscan.Small:
        """The moves played, as numbers of the core."""
        first = self._cell(game, FIRST)
        return self.moves[first : first + self.plies(game)]

    def chess_moves(self, game: int) -> list[chess.Move]:
        """The moves played."""
        return [move_to_chess(number) for number in self.numbers(game).tolist()]

    def state(self, game: int) -> State:
        """The final position."""
        return State(*self.finals[game])

    def board(self, game: int) -> chess.Board:
        """The final position as a board, clocks not kept."""
        return decode(self.state(game))


def scan_text(text: bytes, base: int = 0, *, final: bool = True) -> Iterator[Scanned]:
    """All games of a text, in tables of moderate size.

    Without `final` the last game is left, because more may follow; see `scan_blocks`.  The
    interpreter lock is released while a table is filled.
    """
    data = np.frombuffer(_with_newlines(text), np.uint8)
    data.flags.writeable = False
    end = np.uint64(len(data))
    at = np.uint64(0)
    moves = np.empty(len(data) // _BYTES_A_MOVE + 1, np.uint16)
    seen = np.empty(_MOST_TAGS, np.uint64)
    while at < end:
        table = np.empty((_ROOM_FOR_GAMES, COLUMNS), np.uint64)
        finals = np.empty((_ROOM_FOR_GAMES, 6), np.uint64)
        count, used, after = pgnscan.scan(
            data, at, end, np.uint64(final), table, finals, moves, seen
        )
        games, plies = int(count), int(used)
        at = np.uint64(after)
        if games:
            yield Scanned(
                text, base, table[:games].copy(), finals[:games].copy(), moves[:plies].copy()
            )
        if games < _ROOM_FOR_GAMES:
            return


def _with_newlines(text: bytes) -> bytes:
    """The text of a file whose lines end with carriage returns alone, at the same places."""
    return text.replace(b"\r", b"\n") if b"\n" not in text and b"\r" in text else text


def scan_blocks(blocks: Iterable[bytes]) -> Iterator[Scanned]:
    """All games of a file that comes in blocks, whatever their borders.

    A game that goes on in the next block is read when it is complete, so memory holds one
    block and one game.
    """
    rest = b""
    base = 0
    for block in blocks:
        text = rest + block
        done = 0
        for scanned in scan_text(text, base, final=False):
            done = scanned.span(len(scanned) - 1)[1]
            yield scanned
        rest = text[done:]
        base += done
    yield from scan_text(rest, base)


def borders(text: bytes, parts: int) -> list[int]:
    """Places at which a text can be cut into about so many equal parts, between games.

    A cut is made before a line that begins with an Event tag and follows a blank line: there
    a game begins whatever comes before.
    """
    cuts = [0]
    for part in range(1, parts):
        at = max(part * len(text) // parts, cuts[-1])
        while (at := text.find(_EVENT, at)) > 0:
            before = text[max(at - 64, 0) : at]
            lines = before.splitlines(keepends=True)
            if before.endswith(b"\n") and len(lines) > 1 and lines[-1].isspace():
                cuts.append(at)
                break
            at += 1
    cuts.append(len(text))
    return sorted(set(cuts))
