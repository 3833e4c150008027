"""Where a coach's own things are kept on the machine.

Folders only; what is kept in them is the matter of the rooms.
"""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["data_folder"]


def data_folder() -> Path:
    """`flightless` in the user's data folder: `XDG_DATA_HOME` if it is set and absolute, else
    `~/.local/share` (XDG Base Directory Specification).  It need not exist."""
    home = os.environ.get("XDG_DATA_HOME", "")
    base = Path(home) if Path(home).is_absolute() else Path.home() / ".local" / "share"
    return base / "flightless"
