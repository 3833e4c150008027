"""A harvest of files: cut, work, and report one find after the other.

This is the room's front: `harvest` yields finds, bad games and bad files in the order of the
files, whoever does the work.  What has to survive an interruption is in `saving`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from flightless.errors import FileError, UsageError
from flightless.harvest.chunks import CHUNK, Chunk, cut
from flightless.harvest.crew import Alone, Cluster, Crew, Pool, cores, in_order
from flightless.harvest.files import GameFile, file_size
from flightless.harvest.records import (
    BadFile,
    BadGame,
    Limits,
    Progress,
    Record,
    SameGame,
)

if TYPE_CHECKING:
    from flightless.harvest.known import Keys, Known
    from flightless.harvest.work import Harvested

__all__ = ["Item", "Mark", "Step", "crew_for", "harvest", "steps"]

Item = Record | BadGame | BadFile

_LONGEST = 30
_SMALLEST_CHUNK = 1 << 16
_SMALL = 2 << 20
"""Files of fewer bytes than this altogether are not worth starting processes for."""

_FILE_SHIFT = 40
_NUMBER = (1 << _FILE_SHIFT) - 1
"""A game is remembered as the number of its file, shifted, and its own number."""


@dataclass(frozen=True, slots=True)
class Mark:
    """How far a harvest has got: file (an index), place in its text, games and lines before it."""

    file: int = 0
    place: int = 0
    games: int = 0
    lines: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """One chunk's worth of a harvest: its items, and the state of the harvest after it.

    `games` and `finds` are the keys of the games read and of the finds, `numbers` the games'.
    """

    items: tuple[Item, ...]
    mark: Mark
    progress: Progress
    games: Keys | None = None
    numbers: Keys | None = None
    finds: Keys | None = None


def harvest(
    paths: Sequence[str],
    limits: Limits | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    *,
    jobs: int | None = 1,
    cluster: str | None = None,
) -> Iterator[Item]:
    """Collect from files of games: every find, every bad game, every bad file, in order.

    Files are plain, gzip or Zstandard (known by their contents).  `on_progress` is called
    after every chunk.  A game that cannot be read costs that game alone, a file that cannot be
    read on costs the rest of it.  The work is done by `jobs` processes (None: one for each
    core if the files are worth it; a script that asks for several needs the usual
    `if __name__ == "__main__"`), or by the Dask cluster at `cluster`; the finds are the same.

    Raises at once `FileError` if a file is missing and `UsageError` for limits that make no
    sense; at the end `FileError`, with the first file's reason, if no file held any game.
    """
    limits = limits or Limits()
    begin = first_progress(paths, limits)
    return _items(paths, limits, begin, on_progress, jobs, cluster)


def first_progress(paths: Sequence[str], limits: Limits) -> Progress:
    """The state before anything is read; refuses what can be refused now."""
    for name, value in (("full", limits.full), ("checks", limits.checks)):
        if not 0 <= value <= _LONGEST:
            raise UsageError(f"{name} must be from 0 to {_LONGEST} moves, and is {value}")
    if limits.nodes < 1:
        raise UsageError(f"the limit of nodes must be at least 1, and is {limits.nodes}")
    return Progress(0, 0, 0, 0, 0, sum(file_size(path) for path in paths), "")


def crew_for(total: int, jobs: int | None, cluster: str | None) -> Crew:
    """The crew for `total` bytes of files."""
    if cluster is not None:
        return Cluster(cluster)
    if jobs is None:
        jobs = cores() if total >= _SMALL else 1
    if jobs < 1:
        raise UsageError(f"there must be at least one job, not {jobs}")
    return Pool(jobs) if jobs > 1 else Alone()


def _items(
    paths: Sequence[str],
    limits: Limits,
    begin: Progress,
    on_progress: Callable[[Progress], None] | None,
    jobs: int | None,
    cluster: str | None,
) -> Iterator[Item]:
    fault = None
    progress = begin
    with closing(crew_for(begin.bytes_total, jobs, cluster)) as crew:
        for step in steps(paths, limits, crew, begin):
            progress = step.progress
            if on_progress is not None:
                on_progress(progress)
            for item in step.items:
                if isinstance(item, BadFile) and fault is None:
                    fault = item
                yield item
    if fault is not None and not progress.games + progress.bad:
        raise FileError(fault.reason)


def steps(
    paths: Sequence[str],
    limits: Limits,
    crew: Crew,
    progress: Progress,
    mark: Mark | None = None,
    known: tuple[Known, Known] | None = None,
) -> Iterator[Step]:
    """The steps of a harvest from `mark` on; `known` are the games and the finds before it."""
    return _Run(paths, limits, crew, progress, mark or Mark(), known).steps()


@dataclass(frozen=True, slots=True)
class _Task:
    """A chunk to be done, or (without one) the end of a file, perhaps before its time."""

    file: int
    chunk: Chunk | None
    done: int  # bytes of all files, packed as they are, that have been read so far
    fault: str | None = None


class _Run:
    def __init__(
        self,
        paths: Sequence[str],
        limits: Limits,
        crew: Crew,
        progress: Progress,
        mark: Mark,
        known: tuple[Known, Known] | None,
    ) -> None:
        from flightless.harvest.known import Known, counting

        self._paths = paths
        self._limits = limits
        self._crew = crew
        self._progress = progress
        self._mark = mark
        self._counting = counting
        self._games, self._finds = known or (Known(), Known())

    def steps(self) -> Iterator[Step]:
        for task, done in in_order(self._crew, self._tasks(), _work, self._order):
            yield self._end_of_file(task) if done is None else self._step(task, done)

    def _order(self, task: _Task) -> tuple[Chunk, str, Limits] | None:
        if task.chunk is None:
            return None
        return task.chunk, self._paths[task.file], self._limits

    def _tasks(self) -> Iterator[_Task]:
        """The chunks of all files, with the end of each file."""
        before = sum(file_size(path) for path in self._paths[: self._mark.file])
        for number in range(self._mark.file, len(self._paths)):
            path = self._paths[number]
            start = self._mark.place if number == self._mark.file else 0
            size = self._chunk_size()
            fault = None
            try:
                with closing(GameFile(path)) as file:
                    for chunk in cut(file.text(start), start, size):
                        done = file.position() if file.is_packed else chunk.end
                        yield _Task(number, chunk, before + done)
                before += file_size(path)
            except FileError as error:
                fault = str(error)
            yield _Task(number, None, before, fault)

    def _chunk_size(self) -> int:
        """Small enough that all hands have work and progress is seen."""
        share = self._progress.bytes_total // (8 * self._crew.hands)
        return min(max(share, _SMALLEST_CHUNK), CHUNK)

    def _step(self, task: _Task, done: Harvested) -> Step:
        assert task.chunk is not None
        before = self._mark_in(task.file)
        numbers = done.numbers + self._counting((task.file << _FILE_SHIFT) + before.games, 1)
        met = self._games.first_seen(done.keys, numbers)
        met_before = {
            int(number): int(first)
            for number, first in zip(numbers[met != numbers], met[met != numbers], strict=True)
        }
        order = self._counting(self._progress.finds, len(done.finds))
        repeated = (self._finds.first_seen(done.finds, order) != order).tolist()
        items = tuple(self._placed(item, task.file, before, met_before) for item in done.items)
        items = tuple(_with_repeats(items, repeated))
        games = before.games + done.games + done.bad
        self._mark = Mark(task.file, task.chunk.end, games, before.lines + done.lines)
        self._advance(task, done, len(met_before))
        return Step(items, self._mark, self._progress, done.keys, numbers, done.finds)

    def _mark_in(self, file: int) -> Mark:
        return self._mark if file == self._mark.file else Mark(file)

    def _placed(
        self, item: Record | BadGame, file: int, before: Mark, met_before: Mapping[int, int]
    ) -> Record | BadGame:
        """An item of a chunk with its number and lines in the file."""
        game = item.game + before.games
        if isinstance(item, BadGame):
            return replace(item, game=game, line=item.line + before.lines)
        source = replace(item.source, line=item.source.line + before.lines)
        first = met_before.get(file << _FILE_SHIFT | game)
        same = None
        if first is not None:
            same = SameGame(self._paths[first >> _FILE_SHIFT], first & _NUMBER)
        return replace(item, game=game, source=source, same_game=same)

    def _advance(self, task: _Task, done: Harvested, same_games: int) -> None:
        now = self._progress
        self._progress = replace(
            now,
            games=now.games + done.games,
            bad=now.bad + done.bad,
            finds=now.finds + len(done.finds),
            cut_short=now.cut_short + done.cut_short,
            bytes_done=task.done,
            file=self._paths[task.file],
            same_games=now.same_games + same_games,
        )

    def _end_of_file(self, task: _Task) -> Step:
        """After the last chunk of a file: whether there was any game in it."""
        path = self._paths[task.file]
        fault = task.fault
        if fault is None and not self._mark_in(task.file).games:
            fault = f"there is no game in {path}"
        self._mark = Mark(task.file + 1)
        self._progress = replace(self._progress, bytes_done=task.done, file=path)
        return Step(() if fault is None else (BadFile(path, fault),), self._mark, self._progress)


def _with_repeats(
    items: Iterable[Record | BadGame], repeated: Iterable[bool]
) -> Iterator[Record | BadGame]:
    """The items, with those finds marked that came before."""
    marks = iter(repeated)
    for item in items:
        if isinstance(item, Record) and next(marks):
            yield replace(item, repeated=True)
        else:
            yield item


def _work(argument: tuple[Chunk, str, Limits] | None) -> Harvested | None:
    """What the hands do; the compiled code is loaded only where it is needed."""
    if argument is None:
        return None
    from flightless.harvest.work import harvest_chunk

    return harvest_chunk(*argument)
