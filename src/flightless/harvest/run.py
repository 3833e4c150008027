"""A harvest of files: read, search, and report one find after the other.

This is the room's front: `harvest` yields finds, bad games and bad files in the order of the
files.  Compiled code is loaded only when the first game is searched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

from flightless.errors import FileError, UsageError
from flightless.harvest.files import GameFile, file_size
from flightless.harvest.movetext import GameError, read_game
from flightless.harvest.records import BadFile, BadGame, Limits, Progress, Record
from flightless.harvest.splitter import split_games

if TYPE_CHECKING:
    from flightless.harvest.seek import Seeker

__all__ = ["harvest"]

Item = Record | BadGame | BadFile

_LONGEST = 30


def harvest(
    paths: Sequence[str],
    limits: Limits | None = None,
    on_progress: Callable[[Progress], None] | None = None,
) -> Iterator[Item]:
    """Collect from files of games: every find, every bad game, every bad file, in order.

    Files are `.pgn` or `.pgn.gz` (known by their contents).  `on_progress` is called after
    every game.  A game that cannot be read costs that game alone, a file that cannot be read
    on costs the rest of it.  Raises `FileError` before anything else if a file is missing, and
    at the end, with the first file's reason, if no file held any game, good or bad;
    `UsageError` for limits that make no sense.
    """
    limits = limits or Limits()
    _check(limits)
    progress = Progress(0, 0, 0, 0, 0, sum(file_size(path) for path in paths), "")
    return _Run(limits, progress, on_progress).items(paths)


def _check(limits: Limits) -> None:
    for name, value in (("full", limits.full), ("checks", limits.checks)):
        if not 0 <= value <= _LONGEST:
            raise UsageError(f"{name} must be from 0 to {_LONGEST} moves, and is {value}")
    if limits.nodes < 1:
        raise UsageError(f"the limit of nodes must be at least 1, and is {limits.nodes}")


class _Run:
    def __init__(
        self,
        limits: Limits,
        progress: Progress,
        on_progress: Callable[[Progress], None] | None,
    ) -> None:
        self._limits = limits
        self._progress = progress
        self._report = on_progress
        self._made: Seeker | None = None

    def items(self, paths: Sequence[str]) -> Iterator[Item]:
        first_fault: FileError | None = None
        for path in paths:
            try:
                yield from self._file(path)
            except FileError as error:
                first_fault = first_fault or error
                yield BadFile(path, str(error))
        if first_fault is not None and not self._progress.games + self._progress.bad:
            raise first_fault

    def _file(self, path: str) -> Iterator[Item]:
        before = self._progress.bytes_done
        number = 0
        with closing(GameFile(path)) as file:
            for raw in split_games(file.blocks()):
                number = raw.number
                items: list[Item]
                try:
                    items = [*self._seeker.finds(read_game(raw), path)]
                except GameError as error:
                    items = [BadGame(path, raw.number, error.line, str(error))]
                    self._step(before + file.position(), path, bad=1)
                else:
                    self._step(before + file.position(), path, games=1, finds=len(items))
                yield from items
        if not number:
            raise FileError(f"there is no game in {path}")

    @property
    def _seeker(self) -> Seeker:
        """Made when first needed: it loads the compiled core."""
        if self._made is None:
            from flightless.harvest.seek import Seeker

            self._made = Seeker(self._limits)
        return self._made

    def _step(self, done: int, path: str, *, games: int = 0, bad: int = 0, finds: int = 0) -> None:
        now = self._progress
        self._progress = replace(
            now,
            games=now.games + games,
            bad=now.bad + bad,
            finds=now.finds + finds,
            cut_short=self._made.cut_short if self._made else 0,
            bytes_done=done,
            file=path,
        )
        if self._report is not None:
            self._report(self._progress)
