"""Long work in the background: harvests that can be stopped, go on, and outlive their page.

Each harvest has a folder of its own beside the casebook, with the files that were sent, what
was found, and how far it is.  One worker does one harvest after the other; how a harvest goes
on after an interruption is the affair of `harvest.saving`.
"""

from __future__ import annotations

import json
import shutil
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from flightless.casebook.geometry import fill_geometry
from flightless.errors import FlightlessError, UsageError
from flightless.exercises.worth_keeping import ToWeigh
from flightless.harvest.crew import cores
from flightless.harvest.records import BadFile, BadGame, Limits, Progress
from flightless.harvest.saving import harvest_to

if TYPE_CHECKING:
    from flightless.casebook import Casebook

__all__ = ["MOST_READ", "Find", "Harvests", "State"]

Stage = Literal["waiting", "running", "stopped", "done", "failed"]
_MOST_BAD = 200
MOST_READ = 20_000
"""Finds of one harvest that its pages look through; a larger harvest is kept and looked through
in the casebook."""


_WORTH_A_CREW = 20_000_000
"""Bytes from which starting more processes is worth the seconds that it takes."""


class _Stopped(Exception):  # noqa: N818 - not an error: somebody asked for it
    """The coach stopped the harvest."""


@dataclass(frozen=True, slots=True)
class State:
    """How a harvest stands.  `kept` counts its positions that went into the casebook at once."""

    id: int
    title: str
    stage: Stage
    files: tuple[str, ...]
    games: int = 0
    skipped: int = 0
    finds: int = 0
    done: int = 0
    total: int = 0
    keep_all: bool = False
    kept: int | None = None
    said: str = ""
    bad: tuple[str, ...] = ()

    @property
    def part(self) -> float:
        """How much has been read, from 0 to 1."""
        return 1.0 if self.stage == "done" else self.done / self.total if self.total else 0.0


@dataclass(frozen=True, slots=True)
class Find:
    """One find of a harvest: its number there, and its document."""

    number: int
    document: dict[str, Any]


@dataclass(slots=True)
class _Job:
    state: State
    folder: Path
    stop: threading.Event = field(default_factory=threading.Event)
    weighing: bool = False
    weighed: threading.Lock = field(default_factory=threading.Lock)


class Harvests:
    """All harvests of a desk.  Safe to be asked from several pages at once."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "harvests"
        self._lock = threading.RLock()
        self._jobs: dict[int, _Job] = {}
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="harvest")
        self._load()

    def _load(self) -> None:
        for path in sorted(self._folder.glob("*/state.json")):
            document = json.loads(path.read_text(encoding="utf-8"))
            document["files"] = tuple(document["files"])
            document["bad"] = tuple(document["bad"])
            state = State(**document)
            if state.stage in ("waiting", "running"):  # the program ended meanwhile
                state = replace(state, stage="stopped")
            self._jobs[state.id] = _Job(state, path.parent)

    def close(self) -> None:
        """Stop what runs, so that it goes on another day."""
        for job in self._jobs.values():
            job.stop.set()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def all(self) -> list[State]:
        """Every harvest, the newest first."""
        with self._lock:
            return [self._jobs[number].state for number in sorted(self._jobs, reverse=True)]

    def get(self, number: int) -> State:
        """One harvest.  Raises `UsageError`."""
        return self._job(number).state

    def _job(self, number: int) -> _Job:
        with self._lock:
            if number not in self._jobs:
                raise UsageError(f"there is no harvest {number}")
            return self._jobs[number]

    def new_folder(self) -> tuple[int, Path]:
        """A number and a folder for the files of a new harvest."""
        with self._lock:
            number = max(self._jobs, default=0) + 1
            while (folder := self._folder / str(number)).exists():
                number += 1
            (folder / "files").mkdir(parents=True, mode=0o700)
            return number, folder

    def begin(
        self, number: int, folder: Path, title: str, *, book: Casebook | None = None
    ) -> State:
        """Begin the harvest of the files in `folder`; with `book` everything found is kept."""
        files = tuple(path.name for path in _files(folder))
        if not files:
            raise UsageError("no file of games was sent; choose at least one")
        state = State(number, title, "waiting", files, keep_all=book is not None)
        with self._lock:
            self._jobs[number] = _Job(state, folder)
        self.go_on(number, book)
        return state

    def stop(self, number: int) -> None:
        """Stop a harvest; what is found stays."""
        job = self._job(number)
        job.stop.set()
        with self._lock:
            if job.state.stage == "waiting":
                self._put(job, stage="stopped")

    def remove(self, number: int) -> None:
        """Erase a harvest that stands still: its files, its finds, everything.  What was kept in
        the casebook stays there.  What is being weighed is broken off.  Raises `UsageError`."""
        job = self._job(number)
        with self._lock:
            if job.state.stage in ("waiting", "running"):
                raise UsageError("the harvest is still at work; stop it first, or wait")
            del self._jobs[number]
            job.stop.set()
        with job.weighed:
            shutil.rmtree(job.folder)

    def go_on(self, number: int, book: Casebook | None) -> None:
        """Go on with a harvest that stands still; nothing happens if it runs."""
        job = self._job(number)
        with self._lock:
            if job.state.stage == "running" or job.state.stage == "done":
                return
            job.stop.clear()
            self._put(job, stage="waiting", said="")
            self._pool.submit(self._run, job, book)

    def _put(self, job: _Job, **changes: Any) -> None:
        with self._lock:
            job.state = replace(job.state, **changes)
            text = json.dumps(asdict(job.state), ensure_ascii=False)
            new = job.folder / "state.new"
            new.write_text(text, encoding="utf-8")
            new.replace(job.folder / "state.json")

    def _run(self, job: _Job, book: Casebook | None) -> None:
        with self._lock:
            if job.stop.is_set() or job.state.stage != "waiting":
                return
            self._put(job, stage="running")
        try:
            self._harvest(job)
            if job.state.keep_all and book is not None:
                self._keep_all(job, book)
        except _Stopped:
            self._put(job, stage="stopped")
        except (FlightlessError, OSError) as error:
            said = str(error).replace(f"{job.folder / 'files'}/", "")
            self._put(job, stage="failed", said=said)
        else:
            self._put(job, stage="done")

    def _harvest(self, job: _Job) -> None:
        def progress(now: Progress) -> None:
            self._put(
                job,
                games=now.games,
                skipped=now.bad,
                finds=now.finds,
                done=now.bytes_done,
                total=now.bytes_total,
            )
            if job.stop.is_set():
                raise _Stopped

        def bad(item: BadGame | BadFile) -> None:
            if len(job.state.bad) < _MOST_BAD:
                text = str(item).replace(f"{job.folder / 'files'}/", "")
                job.state = replace(job.state, bad=(*job.state.bad, text))

        paths = [str(path) for path in _files(job.folder)]
        large = sum(path.stat().st_size for path in _files(job.folder)) > _WORTH_A_CREW
        jobs = cores() if large else 1
        harvest_to(job.folder / "finds.jsonl", paths, Limits(), progress, bad, jobs=jobs)

    def _keep_all(self, job: _Job, book: Casebook) -> None:
        counts = book.add_records(find.document for find in self.finds(job.state.id))
        fill_geometry(book)
        self._put(job, kept=counts.positions)

    def weigh(self, number: int) -> None:
        """Weigh what a finished harvest has found, in the background; the harvests that wait
        come first."""
        job = self._job(number)
        with self._lock:
            if job.weighing or job.state.stage != "done":
                return
            job.weighing = True
            job.stop.clear()
            self._pool.submit(self._weigh, job)

    def _weigh(self, job: _Job) -> None:
        try:
            with job.weighed:
                self._weigh_all(job)
        finally:
            job.weighing = False

    def _weigh_all(self, job: _Job) -> None:
        if job.stop.is_set():  # stopped, or erased while it waited
            return
        known = _worths_in(job.folder)
        with (job.folder / "worth.jsonl").open("a", encoding="utf-8") as out:
            for find in _finds_in(job.folder):
                if job.stop.is_set():
                    return
                if find.number not in known:
                    document = _weighed(find)
                    out.write(json.dumps({"number": find.number, "worth": document}) + "\n")
                    out.flush()

    def worths(self, number: int) -> dict[int, dict[str, Any]]:
        """What the finds are worth in class, by their numbers; those weighed so far."""
        return _worths_in(self._job(number).folder)

    def finds(self, number: int) -> Iterator[Find]:
        """What has been found so far, in the order of the files."""
        yield from _finds_in(self._job(number).folder)

    def patterns(self, number: int) -> list[tuple[str, int]]:
        """The names among the finds, the commonest first."""
        counted: Counter[str] = Counter()
        for find in self.finds(number):
            counted.update(find.document.get("patterns", [])[:1])
        return sorted(counted.items(), key=lambda item: (-item[1], item[0]))


def _worths_in(folder: Path) -> dict[int, dict[str, Any]]:
    path = folder / "worth.jsonl"
    if not path.exists():
        return {}
    with path.open(encoding="utf-8") as lines:
        read = [json.loads(line) for line in lines if line.endswith("\n")]
    return {int(one["number"]): one["worth"] for one in read}


def _finds_in(folder: Path) -> Iterator[Find]:
    path = folder / "finds.jsonl"
    if not path.exists():
        return
    with path.open(encoding="utf-8") as lines:
        for index, line in enumerate(lines, start=1):
            if index > MOST_READ or not line.endswith("\n"):
                return
            yield Find(index, json.loads(line))


def _weighed(find: Find) -> dict[str, Any]:
    """The worth of the position that a find asks about: where its mate becomes forced."""
    asked = find.document.get("way_in") or find.document
    return ToWeigh(asked["fen"], int(asked.get("moves") or 0), from_game=True).document()


def _files(folder: Path) -> list[Path]:
    return sorted((folder / "files").iterdir())
