"""Files that take their names when they are whole: a full disk leaves no half of one behind."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from flightless.errors import FileError

__all__ = ["write_whole"]


def write_whole(path: Path, pieces: Iterable[bytes]) -> None:
    """Write the pieces to a file beside `path`, which then takes its place and makes its folder
    if need be.  `FileError`, with what was at `path` left as it is, if that cannot be done."""
    part = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as stream:
            for piece in pieces:
                stream.write(piece)
        part.replace(path)
    except OSError as error:
        _drop(part)
        raise FileError(f"{path} cannot be written: {error.strerror or error}") from None
    except BaseException:
        _drop(part)
        raise


def _drop(part: Path) -> None:
    try:
        part.unlink(missing_ok=True)
    except OSError:
        return  # it was never made
