"""The casebook's format: which version a database has, and bringing an older one up to date.

The version is Alembic's.  A casebook that is up to date is recognised by one query; Alembic
itself is loaded only when there is something to do.  Each migration runs in a transaction of
its own together with its record, under the write lock, so that two programs may open an old
casebook at once and a power cut leaves a whole one.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from sqlalchemy import Connection, Engine, inspect, text

from flightless.casebook.engine import APPLICATION_ID, reading, writing
from flightless.errors import FileError

if TYPE_CHECKING:
    from alembic.config import Config

__all__ = ["HEAD", "bring_up_to_date", "version_of"]

HEAD: Final = "0002"
"""The version that this program reads and writes; the last file in `migrations/versions`."""

MIGRATIONS: Final = Path(__file__).parent / "migrations"

_VERSION_TABLE = "alembic_version"


def bring_up_to_date(
    engine: Engine, name: str, migrations: Path = MIGRATIONS, head: str = HEAD
) -> None:
    """Make an empty database a casebook, and an older casebook one of today.

    `FileError` for a database that is something else and for a casebook that is newer than
    this program; neither is touched.
    """
    with reading(engine, name) as connection:
        version = version_of(connection, name)
    while version != head:
        with writing(engine, name) as connection:
            version = version_of(connection, name)  # somebody else may have been quicker
            if version == head:
                return
            _one_step(connection, name, version, migrations)
            _mark_as_casebook(connection)
            version = version_of(connection, name)


def version_of(connection: Connection, name: str) -> str | None:
    """The version of a casebook, None for an empty database; `FileError` for anything else."""
    tables = set(inspect(connection).get_table_names())
    if not tables:
        return None
    if _VERSION_TABLE not in tables or "positions" not in tables:
        raise FileError(f"{name} is a database, but no casebook")
    versions = connection.execute(text(f"SELECT version_num FROM {_VERSION_TABLE}")).scalars()
    return next(iter(versions), None)


def _mark_as_casebook(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))


def _one_step(connection: Connection, name: str, version: str | None, migrations: Path) -> None:
    from alembic import command
    from alembic.script import ScriptDirectory

    config = _config(migrations)
    script = ScriptDirectory.from_config(config)
    known = {revision.revision for revision in script.walk_revisions()}
    if version is not None and version not in known:
        raise FileError(
            f"the casebook {name} was written by a newer version of Flightless "
            f"(its format is {version!r}); install that version to open it"
        )
    config.attributes["connection"] = connection
    command.upgrade(config, "+1")


def _config(migrations: Path) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    return config
