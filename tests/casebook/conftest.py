"""Casebooks to test on: SQLite files, and PostgreSQL databases if a server can be started."""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from flightless.casebook import Casebook

_NUMBERS = itertools.count(1)


def _programs() -> Path | None:
    """Where PostgreSQL's server programs are: on the path, or where Debian puts them."""
    found = shutil.which("pg_ctl")
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    for folder in ([Path(found).resolve().parent] if found else []) + folders:
        if (folder / "initdb").exists() and (folder / "pg_ctl").exists():
            return folder
    return None


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The socket folder of a PostgreSQL server that lives as long as the test run."""
    pytest.importorskip("psycopg", reason="psycopg is not installed: PostgreSQL is not tested")
    programs = _programs()
    if programs is None:
        pytest.skip("no PostgreSQL server on this machine: the casebook is tested on SQLite alone")
    folder = Path(tempfile.mkdtemp(prefix="flightless-pg-"))
    prefix: list[str] = []
    if os.getuid() == 0:
        # The server refuses to run as root; Debian's package makes a user for it.
        if shutil.which("runuser") is None or not _has_user("postgres"):
            pytest.skip("as root, PostgreSQL needs a user 'postgres', and there is none")
        shutil.chown(folder, "postgres")
        prefix = ["runuser", "-u", "postgres", "--"]
    data = folder / "data"
    options = f"-k {folder} -c listen_addresses= -c fsync=off -c full_page_writes=off"

    def run(program: str, *arguments: str) -> None:
        command = [*prefix, str(programs / program), "-D", str(data), *arguments]
        subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL)

    try:
        run("initdb", "-U", "flightless", "-A", "trust", "-E", "UTF8", "--locale=C")
        run("pg_ctl", "-w", "-l", str(folder / "log"), "-o", options, "start")
        try:
            yield str(folder)
        finally:
            run("pg_ctl", "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _has_user(name: str) -> bool:
    import pwd

    return any(entry.pw_name == name for entry in pwd.getpwall())


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty casebook file, to be copied: that is quicker than making one for each test."""
    path = tmp_path_factory.mktemp("empty") / "empty.sqlite"
    Casebook.open(path).close()
    assert [file.name for file in path.parent.iterdir()] == ["empty.sqlite"]
    return path


@pytest.fixture(scope="session")
def template(server: str) -> str:
    """A database with an empty casebook, to be copied."""
    import psycopg

    with psycopg.connect(_url(server, "postgres"), autocommit=True) as connection:
        connection.execute("CREATE DATABASE casebook_template")
    Casebook.open(_url(server, "casebook_template")).close()
    return "casebook_template"


@pytest.fixture(params=["sqlite", "postgresql"])
def target(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[], str]]:
    """Makes places for casebooks of either kind, each with an empty casebook in it."""
    if request.param == "sqlite":

        def new_file() -> str:
            path = tmp_path / f"casebook-{next(_NUMBERS)}.sqlite"
            shutil.copy(request.getfixturevalue("empty"), path)
            return str(path)

        yield new_file
        return
    import psycopg

    socket = request.getfixturevalue("server")
    model = request.getfixturevalue("template")
    names: list[str] = []

    def new_database() -> str:
        name = f"casebook_{next(_NUMBERS)}"
        with psycopg.connect(_url(socket, "postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {model}")
        names.append(name)
        return _url(socket, name)

    yield new_database
    with psycopg.connect(_url(socket, "postgres"), autocommit=True) as connection:
        for name in names:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


def _url(socket: str, database: str) -> str:
    return f"postgresql://flightless@/{database}?host={socket}"


@pytest.fixture
def new_book(target: Callable[[], str]) -> Iterator[Callable[[], Casebook]]:
    """Makes new, empty casebooks of either kind, and closes them."""
    books: list[Casebook] = []

    def make() -> Casebook:
        books.append(Casebook.open(target()))
        return books[-1]

    yield make
    for book in books:
        book.close()


@pytest.fixture
def book(new_book: Callable[[], Casebook]) -> Casebook:
    """One new, empty casebook of either kind."""
    return new_book()
