"""The file of results: who answered which exercise, right, late or wrong.

CSV (RFC 4180) that a spreadsheet opens and a coach can write by hand; docs/exercises.md names
the columns.  It holds as little of a pupil as will do: a nickname or nothing, and a day.
What is learnt from it is the matter of `calibrating`.
"""

from __future__ import annotations

import contextlib
import csv
import datetime
import io
import os
import re
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, NoReturn, get_args

from flightless.errors import FileError, UsageError
from flightless.folders import data_folder

__all__ = [
    "COLUMNS",
    "Outcome",
    "Result",
    "append_results",
    "forget",
    "own_results",
    "read_results",
]

Outcome = Literal["right", "late", "wrong"]

COLUMNS = ("nickname", "exercise", "kind", "grade", "outcome", "seconds", "date")
"""The columns in the order in which they are written.  Only `exercise` and `outcome` must be
there; they may stand in any order."""

_NEEDED = ("exercise", "outcome")
_NAME = re.compile(r"[^\W_][\w .'-]{0,39}")
_EXERCISE = re.compile(r"[0-9a-f]{12}")
_KIND = re.compile(r"[a-z][a-z-]{0,30}(?: [1-9])?")
_LARGEST = 50_000_000


@dataclass(frozen=True, slots=True)
class Result:
    """One answer.

    `nickname` is empty for a pupil who is not named; `exercise` is `grade.name_of`, `kind`
    `grade.group_of` and `grade` the exercise's grade before any results; `seconds` and `date`
    (a day) are None where they are not known.
    """

    exercise: str
    outcome: Outcome
    nickname: str = ""
    kind: str = ""
    grade: float = 0.0
    seconds: float | None = None
    date: datetime.date | None = None

    def __post_init__(self) -> None:
        if self.nickname and not _NAME.fullmatch(self.nickname):
            raise UsageError(
                f"a nickname has letters, figures, spaces, dots, hyphens and apostrophes, forty "
                f"at most, not {self.nickname[:60]!r}"
            )


def own_results() -> Path:
    """`results.csv` in the data folder.  It need not exist."""
    return data_folder() / "results.csv"


def read_results(paths: Iterable[Path]) -> tuple[Result, ...]:
    """The results of all files, by day; those without a day come first, and within a day the
    order is that of the files.

    Raises `FileError` with file, line and column for the first thing that cannot be read.
    """
    found = [result for path in paths for _, result in _read(path)]
    return tuple(sorted(found, key=lambda r: r.date or datetime.date.min))


def append_results(path: Path, results: Sequence[Result]) -> None:
    """Write results at the end of a file, which is made if need be, for its owner's eyes only.

    Raises `FileError` if the file there is not one of results.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    order = _order(path)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    with open(descriptor, "a", encoding="utf-8", newline="") as stream:
        text = _text(results, order or COLUMNS, header=order is None)
        stream.write("\n" + text if _breaks_off(path) else text)


def _order(path: Path) -> tuple[str, ...] | None:
    """The columns of the file that is there; None if there is none, or an empty one."""
    if not path.exists() or not path.stat().st_size:
        return None
    text = _content(path)
    if _delimiter(text) != ",":
        raise FileError(f"{path}: only a file with commas between its columns can be added to")
    columns = tuple(next(csv.reader([text.splitlines()[0]])))
    for name in columns:
        if name not in COLUMNS:
            _refuse(path, 1, name, f"there is no such column; there are {', '.join(COLUMNS)}")
    missing = [c for c in COLUMNS if c not in columns]
    if missing:
        raise FileError(f"{path}: the file has no column {missing[0]!r}, so nothing can be added")
    return columns


def _breaks_off(path: Path) -> bool:
    """Whether the last line has no end: a spreadsheet or a crash may leave it so."""
    if not path.stat().st_size:
        return False
    with path.open("rb") as stream:
        stream.seek(-1, os.SEEK_END)
        return stream.read(1) != b"\n"


def forget(path: Path, nickname: str) -> int:
    """Erase every line of a nickname (large and small letters alike) from a file, and say how
    many there were.  The other lines stay as they are."""
    kept, gone = [], 0
    for raw, result in _read(path):
        if result.nickname.casefold() == nickname.strip().casefold():
            gone += 1
        else:
            kept.append(raw)
    if not gone:
        return 0
    text = _content(path)
    head = text.splitlines()[0]
    separator = _delimiter(text)
    body = io.StringIO()
    csv.writer(body, delimiter=separator, lineterminator="\n").writerows(kept)
    _replace(path, f"{head}\n{body.getvalue()}")
    return gone


def _replace(path: Path, text: str) -> None:
    """Write the whole file anew; whoever reads it meanwhile sees the old one or the new."""
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}")
    try:
        with open(descriptor, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)
        raise


def _text(results: Sequence[Result], order: Sequence[str], *, header: bool) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, order, lineterminator="\n")
    if header:
        writer.writeheader()
    for r in results:
        writer.writerow(
            {
                "nickname": r.nickname,
                "exercise": r.exercise,
                "kind": r.kind,
                "grade": f"{r.grade:g}",
                "outcome": r.outcome,
                "seconds": "" if r.seconds is None else f"{r.seconds:g}",
                "date": "" if r.date is None else r.date.isoformat(),
            }
        )
    return text.getvalue()


# --- reading ---------------------------------------------------------------------------------


def _content(path: Path) -> str:
    try:
        with path.open("rb") as stream:
            raw = stream.read(_LARGEST + 1)
    except FileNotFoundError:
        raise FileError(f"there is no file {str(path)!r}") from None
    except OSError as error:
        raise FileError(f"{str(path)!r} cannot be read: {error.strerror or error}") from None
    if len(raw) > _LARGEST:
        raise FileError(f"{path}: the file has more than {_LARGEST:,} bytes")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise FileError(f"{path}, line {line}: the text is not UTF-8") from None
    if not text.strip():
        raise FileError(f"{path}: the file is empty")
    if "\x00" in text:
        raise FileError(f"{path}: this is a binary file, not a file of results")
    return text


def _delimiter(text: str) -> str:
    """A comma, or the semicolon of spreadsheets where the comma is in numbers."""
    head = text.splitlines()[0]
    return ";" if ";" in head and "," not in head else ","


def _read(path: Path) -> Iterator[tuple[list[str], Result]]:
    text = _content(path)
    reader = csv.reader(io.StringIO(text), delimiter=_delimiter(text), strict=True)
    try:
        columns = [name.strip() for name in next(reader)]
        _check_columns(path, columns)
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            if len(row) != len(columns):
                raise FileError(
                    f"{path}, line {reader.line_num}: expected {len(columns)} cells, as in the "
                    f"first line, found {len(row)}"
                )
            cells = {c: cell.strip() for c, cell in zip(columns, row, strict=True)}
            yield row, _result(path, reader.line_num, cells)
    except csv.Error as error:
        raise FileError(f"{path}, line {reader.line_num}: not readable as CSV: {error}") from None


def _check_columns(path: Path, columns: Sequence[str]) -> None:
    for name in columns:
        if name not in COLUMNS:
            _refuse(path, 1, name, f"there is no such column; there are {', '.join(COLUMNS)}")
        if columns.count(name) > 1:
            _refuse(path, 1, name, "the column is there twice")
    for name in _NEEDED:
        if name not in columns:
            raise FileError(f"{path}, line 1: the column {name!r} is missing")


def _result(path: Path, line: int, cells: Mapping[str, str]) -> Result:
    exercise, kind = cells["exercise"].lower(), cells.get("kind", "")
    if not _EXERCISE.fullmatch(exercise):
        _refuse(
            path,
            line,
            "exercise",
            f"expected the twelve figures that 'exercises record' writes, found {exercise[:40]!r}",
        )
    if kind and not _KIND.fullmatch(kind):
        _refuse(path, line, "kind", f"expected a kind like 'find-mate 2', found {kind[:40]!r}")
    outcome = cells["outcome"]
    if outcome not in get_args(Outcome):
        _refuse(path, line, "outcome", f"expected right, late or wrong, found {outcome[:40]!r}")
    grade = _number(path, line, "grade", cells, 20.0) or 0.0
    seconds = _number(path, line, "seconds", cells, 1e6)
    if seconds is not None and seconds < 0:
        _refuse(path, line, "seconds", f"expected no less than 0, found {cells['seconds']!r}")
    date: datetime.date | None = None
    if cells.get("date"):
        try:
            date = datetime.date.fromisoformat(cells["date"])
        except ValueError:
            _refuse(
                path, line, "date", f"expected a day like 2026-03-31, found {cells['date'][:40]!r}"
            )
    try:
        return Result(
            exercise,
            outcome,  # type: ignore[arg-type]
            cells.get("nickname", ""),
            kind,
            grade,
            seconds,
            date,
        )
    except UsageError as error:
        _refuse(path, line, "nickname", str(error))


def _number(
    path: Path, line: int, column: str, cells: Mapping[str, str], most: float
) -> float | None:
    text = cells.get(column, "")
    if not text:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        _refuse(path, line, column, f"expected a number, found {text[:40]!r}")
    if not abs(value) <= most:
        _refuse(path, line, column, f"expected a number up to {most:,.0f}, found {text[:40]!r}")
    return value


def _refuse(path: Path, line: int, column: str, why: str) -> NoReturn:
    raise FileError(f"{path}, line {line}, {column}: {why}")
