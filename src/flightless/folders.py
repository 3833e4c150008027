"""Where a coach's own things are kept on the machine, and files held by one process alone.

What is kept in them is the matter of the rooms.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, BinaryIO

__all__ = ["data_folder", "locked"]


def data_folder() -> Path:
    """`flightless` in the user's data folder: `XDG_DATA_HOME` if it is set and absolute, else
    `~/.local/share` (XDG Base Directory Specification).  It need not exist."""
    home = os.environ.get("XDG_DATA_HOME", "")
    base = Path(home) if Path(home).is_absolute() else Path.home() / ".local" / "share"
    return base / "flightless"


def locked(file: BinaryIO) -> bool:
    """Whether the file is now ours alone; the lock ends with the process, however it ends."""
    try:
        import fcntl
    except ImportError:
        return _locked_on_windows(file)
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _locked_on_windows(file: BinaryIO) -> bool:
    import importlib

    system: Any = importlib.import_module("msvcrt")
    try:
        system.locking(file.fileno(), system.LK_NBLCK, 1)
    except OSError:
        return False
    return True
