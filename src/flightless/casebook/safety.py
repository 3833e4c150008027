"""Backups and restores: copies that are checked before they take anything's place.

A backup is always one SQLite file, also of a casebook on a server, so that it can be put away,
opened by itself, and restored into either.  A restore goes through the database's own
transaction and not through the files, so that programs that have it open are never misled.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine, func, insert, select

from flightless.casebook.data import Restored
from flightless.casebook.engine import (
    APPLICATION_ID,
    WAIT_SECONDS,
    connect_file,
    make_engine,
    reading,
    refuse_no_casebook,
    said_plainly,
    writing,
)
from flightless.casebook.models import Base, PositionRow
from flightless.casebook.places import Place, default_path, find_place, make_folder
from flightless.casebook.schema import bring_up_to_date
from flightless.errors import FileError

__all__ = ["restore_backup", "restore_damaged", "write_backup"]

_ROWS = 2000


def write_backup(engine: Engine, place: Place, path: Path, *, overwrite: bool) -> Path:
    """Copy the casebook, as it stands at one moment, into the file `path`."""
    if path.is_dir():
        raise FileError(f"{path} is a folder, and a name for the backup is wanted")
    if place.path is not None and path.exists() and path.samefile(place.path):
        raise FileError(f"{path} is the casebook itself")
    if path.exists() and not overwrite:
        raise FileError(f"there is a file {str(path)!r} already")
    make_folder(path)
    unfinished = path.with_name(path.name + ".unfinished")
    try:
        with said_plainly(f"backup {path}"):
            _discard(unfinished)
            if place.path is None:
                _copy_rows_out(engine, place, unfinished)
            else:
                _copy_file(place.path, unfinished)
            _check(unfinished, f"the backup {path}", thoroughly=False)
        _sync(unfinished)
        os.replace(unfinished, path)
    except OSError as error:
        raise FileError(f"{path} cannot be written: {error.strerror or error}") from None
    finally:
        _discard(unfinished)
    return path


def restore_backup(engine: Engine, place: Place, path: Path) -> Restored:
    """Put the contents of the backup in place of the casebook's."""
    ready = _ready_copy(path, _beside(place))
    try:
        aside = _free_name(_beside(place))
        write_backup(engine, place, aside, overwrite=False)
        with said_plainly(place.name):
            if place.path is None:
                _copy_rows_in(engine, place, ready)
            else:
                engine.dispose()
                _copy_into(ready, place.path)
    finally:
        _discard(ready)
    return Restored(_positions(engine, place), str(aside))


def restore_damaged(path: Path, target: Path) -> Restored:
    """Put a backup in the place of a casebook file that cannot be opened or is not there.

    Only for a file that no other program has open: the damaged one is put aside as it is.
    """
    place = find_place(target)
    ready = _ready_copy(path, target)
    aside: Path | None = None
    try:
        if target.exists():
            aside = _free_name(target)
            for ending in ("", "-wal", "-shm"):
                damaged = target.with_name(target.name + ending)
                if damaged.exists():
                    os.replace(damaged, aside.with_name(aside.name + ending))
        _sync(ready)
        os.replace(ready, target)
    except OSError as error:
        raise FileError(f"{target} cannot be replaced: {error.strerror or error}") from None
    finally:
        _discard(ready)
    engine = make_engine(place)
    try:
        return Restored(_positions(engine, place), None if aside is None else str(aside))
    finally:
        engine.dispose()


def _ready_copy(path: Path, beside: Path) -> Path:
    """A checked copy of the backup in today's format, next to where it is wanted."""
    refuse_no_casebook(path, create=False)
    make_folder(beside)
    copy = beside.with_name(beside.name + ".restoring")
    _discard(copy)
    name = f"backup {path}"
    try:
        with said_plainly(name):
            _copy_file(path, copy)
            _check(copy, f"the {name}")
        engine = make_engine(Place("sqlite+pysqlite://", copy, name))
        try:
            bring_up_to_date(engine, name)
        finally:
            engine.dispose()
        _single_file(copy)
    except BaseException:
        _discard(copy)
        raise
    return copy


def _copy_file(source: Path, target: Path) -> None:
    """A consistent copy of a SQLite file that others may be writing to."""
    with (
        closing(sqlite3.connect(source, timeout=WAIT_SECONDS)) as old,
        closing(connect_file(target)) as new,
    ):
        old.backup(new)
    _single_file(target)


def _copy_into(source: Path, target: Path) -> None:
    """The same into a casebook in use, as one transaction of its own."""
    with closing(sqlite3.connect(source)) as old, closing(connect_file(target)) as new:
        old.backup(new)


def _single_file(path: Path) -> None:
    """End the write-ahead log, so that the file is all there is of it."""
    with closing(sqlite3.connect(path, timeout=WAIT_SECONDS)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")


def _check(path: Path, name: str, *, thoroughly: bool = True) -> None:
    """Refuse a copy that is not whole; thoroughly: whose indexes and references are not."""
    how = "integrity_check" if thoroughly else "quick_check"
    with closing(sqlite3.connect(path)) as connection:
        found = [str(row[0]) for row in connection.execute(f"PRAGMA {how}(5)")]
        if found != ["ok"]:
            raise FileError(f"{name} is damaged: {found[0]}")
        check = "PRAGMA foreign_key_check"
        broken = connection.execute(check).fetchone() if thoroughly else None
        if broken is not None:
            raise FileError(f"{name} is damaged: a row of {broken[0]!r} belongs to nothing")
        (mark,) = connection.execute("PRAGMA application_id").fetchone()
        if mark != APPLICATION_ID:
            raise FileError(f"{name} is a database, but no casebook")


def _copy_rows_out(engine: Engine, place: Place, path: Path) -> None:
    copy = make_engine(Place("sqlite+pysqlite://", path, str(path)))
    try:
        bring_up_to_date(copy, str(path))
        with reading(engine, place.name) as source, writing(copy, str(path)) as target:
            _copy_rows(source, target)
    finally:
        copy.dispose()
    _single_file(path)


def _copy_rows_in(engine: Engine, place: Place, path: Path) -> None:
    copy = make_engine(Place("sqlite+pysqlite://", path, str(path)))
    try:
        with reading(copy, str(path)) as source, writing(engine, place.name) as target:
            for table in reversed(Base.metadata.sorted_tables):
                target.execute(table.delete())
            _copy_rows(source, target)
    finally:
        copy.dispose()


def _copy_rows(source: Connection, target: Connection) -> None:
    """All rows of all tables, tables that others refer to first."""
    for table in Base.metadata.sorted_tables:
        rows = source.execution_options(yield_per=_ROWS).execute(select(table))
        for some in rows.mappings().partitions(_ROWS):
            target.execute(insert(table), [dict(row) for row in some])


def _positions(engine: Engine, place: Place) -> int:
    with reading(engine, place.name) as connection:
        return connection.execute(select(func.count()).select_from(PositionRow)).scalar_one()


def _beside(place: Place) -> Path:
    """Where copies are put: beside the file, or in the user's data folder for a server."""
    return place.path if place.path is not None else default_path()


def _free_name(path: Path) -> Path:
    number = 1
    while True:
        name = path.with_name(f"{path.stem}.before-restore-{number}{path.suffix}")
        if not name.exists():
            return name
        number += 1


def _sync(path: Path) -> None:
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def _discard(path: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
