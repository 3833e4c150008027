"""Files that take their names when they are whole: a full disk leaves no half of one behind."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from flightless.errors import FileError

__all__ = ["write_text", "write_whole"]


def write_whole(path: Path, pieces: Iterable[bytes]) -> None:
    """Write the pieces to a file beside `path`, which then takes its place and makes its folder
    if need be.  `FileError`, with what was at `path` left as it is, if that cannot be done.
    What is there and no file (a pipe, a terminal) is written to as it is."""
    special = path.exists() and not path.is_file()
    part = path if special else path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as stream:
            for piece in pieces:
                stream.write(piece)
        if not special:
            part.replace(path)
    except BaseException as error:
        if not special:
            _drop(part)
        if isinstance(error, OSError):
            reason = error.strerror or error
            raise FileError(f"{path} cannot be written: {reason}") from None
        raise


def write_text(path: Path, text: str) -> None:
    """The same for a text, in UTF-8."""
    write_whole(path, [text.encode()])


def _drop(part: Path) -> None:
    try:
        part.unlink(missing_ok=True)
    except OSError:
        return  # it was never made
