"""The journal of a harvest: what has been written, so that it can go on after any interruption.

Beside the output lies a folder with the journal and the keys of what was met.  A step counts
once its line stands in the journal; whatever was written after the last such line is cut off
when the harvest goes on.  So nothing is lost and nothing comes twice, whether the process was
interrupted, killed, or lost its power.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from flightless.errors import FileError, UsageError
from flightless.folders import locked
from flightless.harvest.records import Limits, Progress
from flightless.harvest.run import Mark, Step

if TYPE_CHECKING:
    from flightless.harvest.known import Known

__all__ = ["Journal", "State"]

_FORMAT = "flightless harvest journal"
_VERSION = 1
_ENDS = 1 << 16
"""Bytes at both ends of a file by which it is known again, besides its size."""

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class State:
    """How far a harvest has got: its mark and progress, and whether any file had a fault."""

    mark: Mark
    progress: Progress
    fault: str | None = None


class Journal:
    """The output of one harvest and the folder beside it, held by this process alone.

    `finds` is the file of JSON Lines.  Use it as a context manager.  Raises `UsageError` if
    another harvest writes there, or if an unfinished one of other files or limits lies there,
    and `FileError` if something cannot be written.
    """

    def __init__(self, finds: Path, folder: Path, paths: Sequence[str], limits: Limits) -> None:
        self._finds_path = finds
        self._folder = folder
        self._header = {
            "format": _FORMAT,
            "version": _VERSION,
            "limits": asdict(limits),
            "files": [_likeness(path) for path in paths],
        }
        self._files: list[BinaryIO] = []
        self._lock: BinaryIO | None = None

    def __enter__(self) -> Journal:
        with _written(self._finds_path):
            self._finds_path.parent.mkdir(parents=True, exist_ok=True)
            self._folder.mkdir(parents=True, exist_ok=True)
            self._lock = (self._folder / "lock").open("ab")
        if not locked(self._lock):
            self._lock.close()
            raise UsageError(f"another harvest is writing to {self._finds_path}")
        return self

    def __exit__(self, *error: object) -> None:
        for file in self._files:
            with contextlib.suppress(OSError):  # a full disk has been reported already
                file.close()
        if self._lock is not None:
            self._lock.close()

    # --- beginning and going on -----------------------------------------------------------

    def open(self, *, fresh: bool) -> State | None:
        """Open the files; the state to go on from, or None at the beginning of a harvest.

        `fresh` forgets an unfinished harvest instead of going on with it.
        """
        lines = [] if fresh else list(self._lines())
        if not lines:
            self._open([0, 0, 0], "wb")
            with _written(self._folder):
                _append(self._journal, self._header)
                _synced(self._journal)
            return None
        self._check(lines[0])
        if len(lines) == 1:
            self._open([0, 0, 0], "ab")
            return None
        last = lines[-1]
        self._open(last["sizes"], "ab")
        return State(Mark(**last["mark"]), Progress(**last["progress"]), last["fault"])

    def known(self) -> tuple[Known, Known]:
        """The games and the finds that were met before."""
        import numpy as np

        from flightless.harvest.known import Known

        stores = []
        for name in ("games", "finds"):
            known = Known()
            pairs = np.fromfile(self._folder / name, np.uint64).reshape(-1, 2)
            known.first_seen(pairs[:, 0].copy(), pairs[:, 1].copy())
            stores.append(known)
        return stores[0], stores[1]

    def _lines(self) -> Iterator[Document]:
        """The lines of the journal, up to one that was cut short."""
        path = self._folder / "journal"
        if not path.exists():
            return
        with path.open("rb") as file:
            for line in file:
                if not line.endswith(b"\n"):
                    return
                try:
                    yield json.loads(line)
                except ValueError:
                    return

    def _check(self, header: Document) -> None:
        if header != self._header:
            what = "other limits" if header.get("files") == self._header["files"] else "other files"
            raise UsageError(
                f"an unfinished harvest of {what} lies in {self._folder}: go on with the command "
                "that began it, or start afresh and lose what it found"
            )

    def _open(self, sizes: Sequence[int], mode: str) -> None:
        with _written(self._finds_path):
            paths = (self._finds_path, self._folder / "games", self._folder / "finds")
            self._journal = (self._folder / "journal").open("r+b" if mode == "ab" else "w+b")
            for path in paths:
                self._files.append(_opened(path, mode))
            self._files.append(self._journal)
            for file, size in zip(self._files[:3], sizes, strict=True):
                if file.seek(0, os.SEEK_END) < size:
                    raise UsageError(
                        f"{file.name} is shorter than the unfinished harvest in {self._folder} "
                        "left it; start afresh"
                    )
                file.truncate(size)
                file.seek(size)
        self._cut_journal()

    def _cut_journal(self) -> None:
        """Cut off a line that was not written to its end."""
        data = self._journal.read()
        self._journal.truncate(data.rfind(b"\n") + 1)
        self._journal.seek(0, os.SEEK_END)

    # --- step by step ---------------------------------------------------------------------

    def write(self, documents: Sequence[Document], step: Step, fault: str | None) -> None:
        """Write the finds of a step, and then that they are written."""
        import numpy as np

        finds, games, met, journal = self._files
        with _written(self._finds_path):
            for document in documents:
                _append(finds, document)
            if step.games is not None and step.numbers is not None:
                games.write(np.column_stack((step.games, step.numbers)).tobytes())
            if step.finds is not None:
                first = step.progress.finds - len(step.finds)
                order = np.arange(first, step.progress.finds, dtype=np.uint64)
                met.write(np.column_stack((step.finds, order)).tobytes())
            for file in (finds, games, met):
                _synced(file)
            line = {
                "mark": asdict(step.mark),
                "progress": asdict(step.progress),
                "fault": fault,
                "sizes": [file.tell() for file in (finds, games, met)],
            }
            _append(journal, line)
            _synced(journal)

    def finish(self) -> None:
        """The harvest is complete: the folder is not needed any more."""
        self.__exit__()
        shutil.rmtree(self._folder, ignore_errors=True)


def _opened(path: Path, mode: str) -> BinaryIO:
    file: BinaryIO = path.open(mode)  # type: ignore[assignment]
    return file


def _append(file: BinaryIO, document: Document) -> None:
    file.write(json.dumps(document, ensure_ascii=False).encode() + b"\n")


def _synced(file: BinaryIO) -> None:
    file.flush()
    os.fsync(file.fileno())


@contextlib.contextmanager
def _written(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        more = "; what was found so far is kept, and the same command goes on from there"
        kept = more if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG) else ""
        reason = error.strerror or str(error)
        raise FileError(f"{path} cannot be written: {reason}{kept}") from None


def _likeness(path: str) -> Document:
    """What a file is known by: its name, its size, and a hash of both its ends."""
    with Path(path).open("rb") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(0)
        digest = hashlib.blake2b(file.read(_ENDS), digest_size=8)
        file.seek(max(size - _ENDS, 0))
        digest.update(file.read(_ENDS))
    return {"path": path, "size": size, "ends": digest.hexdigest()}
