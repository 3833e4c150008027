"""The coach's own patterns: files of the catalogue's format in a folder of the coach's.

Finds the folder and reads it beside the built-in catalogue; `learn` writes there.
"""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path

from flightless.folders import data_folder
from flightless.patterns.recognise import Catalogue, catalogue, load_catalogue

__all__ = ["VARIABLE", "own_catalogue", "own_folder"]

VARIABLE = "FLIGHTLESS_PATTERNS"


def own_folder() -> Path:
    """`$FLIGHTLESS_PATTERNS`, else `patterns` in the data folder.  It need not exist."""
    chosen = os.environ.get(VARIABLE)
    return Path(chosen).expanduser() if chosen else data_folder() / "patterns"


def own_catalogue() -> Catalogue:
    """The built-in catalogue and the coach's own patterns.

    Raises `FileError` for a file of the coach's with an error, naming file and field.
    """
    folder = own_folder()
    files = tuple(sorted(folder.glob("*.toml"))) if folder.is_dir() else ()
    if not files:
        return catalogue()
    return _read(folder, tuple((path.name, path.stat().st_mtime_ns) for path in files))


@lru_cache(maxsize=4)
def _read(folder: Path, files: tuple[tuple[str, int], ...]) -> Catalogue:
    """Read again only when a file has come, gone or changed."""
    del files
    return load_catalogue(folder)
