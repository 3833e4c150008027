"""Connections and transactions: how the database is opened, written by one at a time, and how
its complaints become sentences.

SQLite runs with a write-ahead log, so that readers and one writer do not hinder each other.
A writer holds the one write lock of the casebook from its first statement on, on PostgreSQL
too, so that two harvests into one casebook take turns batch by batch and cannot deadlock.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from flightless.casebook.places import Place, make_folder
from flightless.errors import FileError, UsageError

__all__ = [
    "APPLICATION_ID",
    "connect_file",
    "make_engine",
    "reading",
    "refuse_no_casebook",
    "said_plainly",
    "writing",
]

APPLICATION_ID = 0x464C4354
"""'FLCT' in the header of the file says that it is a casebook (SQLite's application_id)."""

_SQLITE_MAGIC = b"SQLite format 3\x00"

WAIT_SECONDS = 60
"""How long one program waits for another that is writing."""

_WRITE_LOCK = 0x464C4354
"""Number of the advisory lock that a writer on PostgreSQL holds."""


def make_engine(place: Place) -> Engine:
    """An engine for the casebook at `place`; connects to nothing yet."""
    if place.path is None:
        return _server_engine(place)
    path = place.path
    engine = create_engine(place.url, creator=lambda: connect_file(path), poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        mode = "IMMEDIATE" if connection.get_execution_options().get("writes") else "DEFERRED"
        connection.exec_driver_sql(f"BEGIN {mode}")

    return engine


def _server_engine(place: Place) -> Engine:
    try:
        import psycopg  # noqa: F401 - an optional part
    except ImportError:
        raise UsageError(
            f"{place.name} needs the part 'postgres': install flightless[postgres]"
        ) from None
    engine = create_engine(place.url, isolation_level="REPEATABLE READ", pool_pre_ping=True)

    @event.listens_for(engine, "connect")
    def connect(connection: Any, record: Any) -> None:
        del record
        # Compiling a query takes longer than any of ours runs.
        connection.execute("SET jit = off")
        connection.commit()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        if connection.get_execution_options().get("writes"):
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _WRITE_LOCK})

    return engine


def connect_file(path: Path) -> sqlite3.Connection:
    """A connection to a casebook file, made if it is missing, readable by its owner alone.

    Transactions are begun by hand (see `make_engine`), every commit is on the disk before it
    returns, and references are enforced.
    """
    if not path.exists():
        make_folder(path)
        _make_private(path)
    connection = sqlite3.connect(
        path, timeout=WAIT_SECONDS, isolation_level=None, check_same_thread=False
    )
    try:
        for pragma in (
            "foreign_keys = ON",
            "journal_mode = WAL",
            "synchronous = FULL",
            "cache_size = -65536",
            "temp_store = MEMORY",
        ):
            connection.execute(f"PRAGMA {pragma}").close()
    except BaseException:
        connection.close()
        raise
    return connection


def _make_private(path: Path) -> None:
    try:
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        raise FileError(
            f"the casebook {str(path)!r} cannot be made: {error.strerror or error}"
        ) from None


def refuse_no_casebook(path: Path, *, create: bool = True) -> None:
    """Refuse a file that is there and no casebook, before anything in it is touched.

    An empty file may become one.  With `create` false a missing file is refused too.
    """
    name = str(path)
    if path.is_dir():
        raise FileError(f"{name} is a folder, and the file of a casebook is wanted")
    if not path.exists():
        if create:
            return
        raise FileError(f"there is no casebook {name!r} yet")
    try:
        with path.open("rb") as stream:
            head = stream.read(len(_SQLITE_MAGIC))
    except OSError as error:
        raise FileError(f"the casebook {name} cannot be read: {error.strerror or error}") from None
    if head and head != _SQLITE_MAGIC:
        raise FileError(f"{name} is no casebook")
    with said_plainly(name), closing(sqlite3.connect(path, timeout=WAIT_SECONDS)) as connection:
        (mark,) = connection.execute("PRAGMA application_id").fetchone()
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if mark != APPLICATION_ID and tables:
        raise FileError(f"{name} is a database, but no casebook")


@contextmanager
def reading(engine: Engine, name: str) -> Iterator[Connection]:
    """A connection that sees the casebook as it stands now until it is left."""
    with said_plainly(name), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, name: str) -> Iterator[Connection]:
    """A connection with the write lock: all is kept when it is left, or nothing on an error."""
    with said_plainly(name), engine.connect() as raw:
        connection = raw.execution_options(writes=True)
        if engine.dialect.name == "postgresql":
            # The lock may be waited for; what the one before wrote must then be seen, which a
            # snapshot taken before the wait would not show.
            connection = connection.execution_options(isolation_level="READ COMMITTED")
        with connection.begin():
            yield connection


@contextmanager
def said_plainly(name: str) -> Iterator[None]:
    """Turn the database's complaints about the outside world into one sentence each.

    A complaint that is the program's own fault (a broken statement or constraint) stays.
    """
    try:
        yield
    except DBAPIError as error:
        sentence = _sentence(error.orig, name)
        if sentence is None:
            raise
        raise FileError(sentence) from error
    except sqlite3.Error as error:
        sentence = _sentence(error, name)
        if sentence is None:
            raise
        raise FileError(sentence) from error


_SQLITE_SENTENCES: dict[int, str] = {
    sqlite3.SQLITE_FULL: "the disk is full; the unfinished step was undone and what was kept "
    "before is whole",
    sqlite3.SQLITE_IOERR: "the disk does not read or write as it should; the unfinished step was "
    "undone",
    sqlite3.SQLITE_BUSY: f"another program has been writing to it for over {WAIT_SECONDS} seconds",
    sqlite3.SQLITE_LOCKED: "another part of this program is writing to it",
    sqlite3.SQLITE_READONLY: "it may be read but not written",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened",
    sqlite3.SQLITE_PERM: "it may not be opened",
    sqlite3.SQLITE_CORRUPT: "the file is damaged; restore a backup",
    sqlite3.SQLITE_NOTADB: "the file is no casebook",
}


def _sentence(error: BaseException | None, name: str) -> str | None:
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", None)
        known = _SQLITE_SENTENCES.get(code & 0xFF) if code is not None else None
        return f"the casebook {name}: {known}" if known else None
    if error is None or not type(error).__module__.startswith("psycopg"):
        return None
    return _server_sentence(error, name)


def _server_sentence(error: Any, name: str) -> str | None:
    state = getattr(error, "sqlstate", None)
    if state is None and type(error).__name__ in ("OperationalError", "ConnectionTimeout"):
        lines = str(error).strip().splitlines()
        return f"the casebook {name}: the server is not reached ({lines[-1] if lines else error})"
    if state is not None and (state[:2] in ("08", "28", "3D", "53", "57") or state == "42501"):
        # Classes of the SQL standard and PostgreSQL: connection, authorisation, no such
        # database, resources (disk full among them), stopped by the operator, no right to.
        return f"the casebook {name}: the server says {str(error).strip().splitlines()[0]!r}"
    return None
