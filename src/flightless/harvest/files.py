"""Blocks of whole lines from a game file, whatever its size, packing and line ends.

This module opens plain and gzip files, refuses what is no text, and hands out bytes block
by block, so that memory stays flat.  What the lines mean is left to `splitter`.
"""

from __future__ import annotations

import codecs
import gzip
import io
import zlib
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import BinaryIO

from flightless.errors import FileError

__all__ = ["BLOCK", "MOST_OF_A_LINE", "GameFile", "file_size"]

BLOCK = 1 << 20
"""Bytes read at a time."""

MOST_OF_A_LINE = 1 << 25
"""A line longer than this (32 MB) comes in pieces: nobody typed it."""

_HEAD = 4096
"""Bytes at the start by which text is told from binary data."""

_CONTROLS = bytes(set(range(32)) - set(b"\t\n\v\f\r\x1a\x1b") | {127})
"""Control characters that no text has; 1A ended text files under DOS."""

_NO_GAMES = (
    (codecs.BOM_UTF16_LE, "is text in UTF-16; save it as UTF-8"),
    (codecs.BOM_UTF16_BE, "is text in UTF-16; save it as UTF-8"),
    (b"PK\x03\x04", "is a zip archive; unpack it first"),
    (b"BZh", "is a bzip2 archive; unpack it first"),
    (b"\xfd7zXZ", "is an xz archive; unpack it first"),
    (b"7z\xbc\xaf", "is a 7z archive; unpack it first"),
    (b"%PDF-", "is a PDF document, not a file of games"),
)


class GameFile:
    """A file of games, open for reading.  gzip is known by its first bytes, not by its name.

    Raises `FileError`, one sentence each: on opening, if the file is missing, a folder or
    closed to us; while reading, if it is empty, binary, or a damaged or truncated archive.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        self._packed = _open(path)
        self._stream: io.BufferedIOBase | BinaryIO = self._packed
        magic = self._packed.read(2)
        self._packed.seek(0)
        if magic == b"\x1f\x8b":
            self._stream = gzip.GzipFile(fileobj=self._packed, mode="rb")

    def close(self) -> None:
        """Close the file; blocks cannot be asked for any more."""
        if self._stream is not self._packed:
            self._stream.close()
        self._packed.close()

    def position(self) -> int:
        """How many bytes of the file, packed as it is, have been read."""
        return self._packed.tell()

    def blocks(self) -> Iterator[bytes]:
        """The text in blocks that end at line ends (but for the last); line ends are LF.

        Files may use LF, CRLF or CR.  A UTF-8 byte order mark is dropped.  A line longer
        than `MOST_OF_A_LINE` comes in several blocks.
        """
        rest = b""
        for data in self._unix_lines():
            end = data.rfind(b"\n") + 1
            if end:
                yield rest + data[:end]
                rest = data[end:]
            elif len(rest) + len(data) > MOST_OF_A_LINE:
                yield rest + data
                rest = b""
            else:
                rest += data
        if rest:
            yield rest

    def _unix_lines(self) -> Iterator[bytes]:
        data = self._read()
        _refuse_no_text(self.path, data)
        data = data.removeprefix(codecs.BOM_UTF8)
        held = b""
        while data:
            data = held + data
            # A CR at the end may be half of a CRLF: it waits for the next bytes.
            held = b"\r" if data.endswith(b"\r") else b""
            data = data[:-1] if held else data
            if b"\r" in data:
                data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
            yield data
            data = self._read()
        if held:
            yield b"\n"

    def _read(self) -> bytes:
        try:
            return self._stream.read(BLOCK)
        except EOFError:
            raise FileError(f"{self.path}: the archive breaks off before its end") from None
        except (gzip.BadGzipFile, zlib.error) as error:
            raise FileError(f"{self.path}: the archive is damaged ({error})") from None
        except OSError as error:
            raise FileError(f"{self.path} cannot be read: {error.strerror or error}") from None


def file_size(path: str) -> int:
    """Size of a file in bytes; `FileError` if it is missing, a folder, or closed to us."""
    with closing(_open(path)) as stream:
        return stream.seek(0, io.SEEK_END)


def _open(path: str) -> BinaryIO:
    try:
        if Path(path).is_dir():
            raise FileError(f"{path} is a folder, and a file of games is wanted")
        return Path(path).open("rb")
    except FileNotFoundError:
        raise FileError(f"there is no file {path!r}") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise FileError(f"{path!r} cannot be opened: {reason}") from None


def _refuse_no_text(path: str, data: bytes) -> None:
    if not data or data.isspace():
        raise FileError(f"{path} is empty")
    for magic, what in _NO_GAMES:
        if data.startswith(magic):
            raise FileError(f"{path} {what}")
    head = data[:_HEAD]
    controls = len(head) - len(head.translate(None, _CONTROLS))
    # One stray control character is a flaw in some game; a NUL or many of them are no text.
    if b"\x00" in head or controls * 50 > len(head):
        raise FileError(f"{path} is a binary file, not a file of games")
