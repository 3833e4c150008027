"""One chunk harvested: the whole work, from bytes to finds, as a function of the chunk alone.

It runs in the calling process, in a pool of processes, or on another machine; what only the
whole harvest knows (numbers in the file, what was seen before) is added by `run`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import chess
import numpy as np

from flightless.core.games import Scanned, scan_text
from flightless.core.pgnscan import (
    ERROR,
    FIRST,
    OPEN_COMMENT,
    OPEN_VARIATION,
    PLIES,
    RESULT,
    TAG_RESULT,
)
from flightless.harvest.chunks import Chunk
from flightless.harvest.files import with_line_feeds
from flightless.harvest.known import Keys, game_key, position_key
from flightless.harvest.movetext import Game, GameError, decoded, read_game, read_tags
from flightless.harvest.records import BadGame, Limits, Record
from flightless.harvest.search import Verdicts, numbers_of, position
from flightless.harvest.seek import Seeker
from flightless.harvest.splitter import MOST_OF_A_GAME, TOO_LONG, RawGame

__all__ = ["Harvested", "harvest_chunk"]

_DRAWN = np.uint64(3)
"""The scanner's number of a draw: less is won by White (1) or Black (2), or not known (0)."""

_NAMED = re.compile(r'^\[(White|Black|Date)\s+"([^"]*)"', re.MULTILINE)
"""The tags by which games are told apart; names with quotes in them are cut short alike."""

_TOGETHER = 64
"""Games searched in one compiled call."""

_OPEN = {int(OPEN_COMMENT): "a comment", int(OPEN_VARIATION): "a variation"}


Bools = np.ndarray[tuple[int], np.dtype[np.bool_]]


@dataclass(frozen=True, slots=True)
class Harvested:
    """What a chunk gave.

    `items` are finds and bad games in order; their game numbers and lines count from the
    chunk's beginning.  `keys` has the key of each game read, `numbers` its number; `finds` has
    the position key of each find.
    """

    items: tuple[Record | BadGame, ...]
    games: int
    bad: int
    cut_short: int
    lines: int
    keys: Keys
    numbers: Keys
    finds: Keys


def harvest_chunk(chunk: Chunk, file: str, limits: Limits) -> Harvested:
    """Harvest a chunk of `file`."""
    work = _Work(file, _seeker(limits))
    lines = chunk.lines
    if chunk.text is None:
        for raw in chunk.games:
            work.doubtful(raw)
    else:
        text = with_line_feeds(chunk.text)
        lines = text.count(b"\n")
        for scanned in scan_text(text):
            work.scanned(scanned, is_last=chunk.is_last)
    return work.result(lines)


@lru_cache(maxsize=2)
def _seeker(limits: Limits) -> Seeker:
    return Seeker(limits)


class _Work:
    def __init__(self, file: str, seeker: Seeker) -> None:
        self._file = file
        self._seeker = seeker
        self._items: list[Record | BadGame] = []
        self._keys: list[int] = []
        self._numbers: list[int] = []
        self._cut_short = 0
        self._number = 0
        self._counted = (0, 1)  # a place in the text and the line it is on

    def result(self, lines: int) -> Harvested:
        finds = [position_key(i.fen, i.kind) for i in self._items if isinstance(i, Record)]
        return Harvested(
            items=tuple(self._items),
            games=len(self._keys),
            bad=sum(isinstance(item, BadGame) for item in self._items),
            cut_short=self._cut_short,
            lines=lines,
            keys=np.array(self._keys, np.uint64),
            numbers=np.array(self._numbers, np.uint64),
            finds=np.array(finds, np.uint64),
        )

    def doubtful(self, raw: RawGame) -> None:
        """A game that python-chess is to judge."""
        try:
            game = read_game(raw)
        except GameError as error:
            self._items.append(BadGame(self._file, raw.number, error.line, str(error)))
            return
        finds, cut = self._seeker.finds(game, self._file)
        moves = numbers_of(game.moves)
        usual = game.start.fen() == chess.STARTING_FEN
        self._read(game.number, "" if usual else game.start.fen(), moves.tobytes(), game.tags)
        self._items.extend(finds)
        self._cut_short += cut

    def scanned(self, scanned: Scanned, *, is_last: bool) -> None:
        """The games of a scanned text, searched all together and told in order."""
        table = scanned.table
        sound = (table[:, ERROR] == 0) & (table[:, PLIES] > 0)
        verdicts = self._verdicts(scanned, sound)
        for row in range(len(table)):
            self._number += 1
            if not sound[row]:
                self.doubtful(self._raw(scanned, row, is_last=is_last))
                continue
            head = decoded(scanned.tags(row))
            self._read(self._number, "", scanned.numbers(row).tobytes(), dict(_NAMED.findall(head)))
            told = next(verdicts)
            if told is not None:
                game = self._game(scanned, row, read_tags(head)[0])
                self._items.extend(self._seeker.describe(game, self._file, told[0]))
                self._cut_short += told[1]

    def _read(self, number: int, start: str, moves: bytes, tags: Mapping[str, str]) -> None:
        self._numbers.append(number)
        self._keys.append(game_key(start, moves, tags))

    def _verdicts(self, scanned: Scanned, sound: Bools) -> Iterator[tuple[Verdicts, bool] | None]:
        """The verdicts of the sound games, some games at a time, so that an interruption need
        not wait for all of them."""
        table = scanned.table[sound]
        tagged, moved = table[:, TAG_RESULT], table[:, RESULT]
        results = np.where((tagged > 0) & (tagged <= _DRAWN), tagged, moved)
        winners = np.where(results < _DRAWN, results, np.uint64(0))
        together = _TOGETHER if self._seeker.search.limits.full <= 2 else 1
        for at in range(0, len(table), together):
            some = table[at : at + together]
            first = int(some[0, FIRST])
            last = int(some[-1, FIRST] + some[-1, PLIES])
            yield from self._seeker.search.games(
                scanned.moves[first:last],
                some[:, FIRST] - np.uint64(first),
                some[:, PLIES].copy(),
                winners[at : at + together],
            )

    def _game(self, scanned: Scanned, row: int, tags: Mapping[str, str]) -> Game:
        """A scanned game with its moves and positions as python-chess objects."""
        start = chess.Board()
        final = position(start, scanned.numbers(row), scanned.plies(row))
        moves = tuple(scanned.chess_moves(row))
        by_moves, by_tag = scanned.results(row)
        result = by_tag if by_tag not in (None, "*") else by_moves
        line = self._line(scanned.text, scanned.span(row)[0])
        return Game(self._number, line, tags, start, moves, final, result or "*")

    def _raw(self, scanned: Scanned, row: int, *, is_last: bool) -> RawGame:
        """A game that the scanner does not decide, as the splitter would give it."""
        start, end = scanned.span(row)
        line = self._line(scanned.text, start)
        error, place = scanned.error(row)
        problem, problem_line = None, line
        if error in _OPEN:
            at_end = is_last and end == len(scanned.text)
            where = "at the end of the file" if at_end else "where the next game begins"
            problem = f"{_OPEN[error]} is still open {where}"
            problem_line = self._line(scanned.text, place)
        elif end - start > MOST_OF_A_GAME:
            problem = TOO_LONG
        return RawGame(self._number, line, scanned.whole(row), problem, problem_line)

    def _line(self, text: bytes, place: int) -> int:
        """The line of a place; places are asked for in order, so lines are counted once."""
        at, line = self._counted
        if place >= at:
            line += text.count(b"\n", at, place)
            self._counted = (place, line)
            return line
        return line - text.count(b"\n", place, at)
