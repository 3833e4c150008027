"""Where a casebook is: the user's data folder, a path, or the URL of a database.

This module reads the environment and makes the folder; it opens nothing and loads no database
library.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from flightless.errors import FileError, UsageError
from flightless.folders import data_folder

__all__ = ["Place", "default_path", "find_place"]

VARIABLE = "FLIGHTLESS_CASEBOOK"

_SERVER_SCHEMES = ("postgresql", "postgres", "postgresql+psycopg")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a casebook is.  `path` is None for a server; `url` is what SQLAlchemy opens.

    `name` is fit for messages: a path, or a URL without its password.
    """

    url: str
    path: Path | None
    name: str


def default_path() -> Path:
    """`casebook.sqlite` in the user's data folder."""
    return data_folder() / "casebook.sqlite"


def find_place(target: str | os.PathLike[str] | None = None) -> Place:
    """The casebook meant by a path, a URL, or nothing: then FLIGHTLESS_CASEBOOK or the default.

    `UsageError` for a URL of a kind that casebooks are not kept in.
    """
    text = os.fspath(target) if target is not None else os.environ.get(VARIABLE, "")
    if not text:
        return _file(default_path())
    scheme, separator, rest = text.partition("://")
    if not separator:
        return _file(Path(text).expanduser())
    if scheme == "sqlite":
        if not rest.startswith("/") or rest == "/":
            raise UsageError(f"the URL {text!r} names no file: write sqlite:///casebook.sqlite")
        return _file(Path(rest[1:]))
    if scheme in _SERVER_SCHEMES:
        return Place(f"postgresql+psycopg://{rest}", None, _without_password(scheme, rest))
    raise UsageError(
        f"a casebook is a file or a postgresql:// URL, and {scheme + '://'!r} is neither"
    )


def make_folder(path: Path) -> None:
    """Make the folder that `path` stands in, readable by its owner alone if it is new."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(
            f"the folder {str(path.parent)!r} cannot be made: {error.strerror or error}"
        ) from None


def _file(path: Path) -> Place:
    # The three slashes of sqlite:/// are followed by the path as it is; a '?' in a file's name
    # must not begin options, so the engine is given the path by a creator function instead.
    return Place("sqlite+pysqlite://", path, str(path))


def _without_password(scheme: str, rest: str) -> str:
    authority, slash, tail = rest.partition("/")
    user, at, host = authority.rpartition("@")
    if at and ":" in user:
        user = user.partition(":")[0] + ":***"
    return f"{scheme}://{user}{at}{host}{slash}{tail.partition('?')[0]}"
