"""Where a desk keeps what is no part of the casebook: harvests, exercises, its lock."""

from __future__ import annotations

import os
from pathlib import Path

from flightless.casebook.places import default_path, find_place

__all__ = ["desk_folder"]


def desk_folder(casebook: str | os.PathLike[str] | None) -> Path:
    """The folder beside a casebook, by its name, for its owner's eyes only; it is made.

    A casebook that is no file (a database server) has its desk beside the coach's own.
    """
    path = find_place(casebook).path or Path(default_path())
    folder = path.with_suffix(".desk")
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    return folder
