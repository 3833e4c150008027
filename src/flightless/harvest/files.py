"""The text of a game file, whatever its size and packing.

This module opens plain, gzip and Zstandard files, refuses what is no text, and hands out
bytes block by block, so that memory stays flat.  What the bytes mean is left to `chunks` and
`splitter`.
"""

from __future__ import annotations

import codecs
import io
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import BinaryIO

from flightless.errors import FileError
from flightless.harvest.packing import GZIP, is_zstandard, unpack_gzip, unpack_zstandard

__all__ = ["BLOCK", "MOST_OF_A_LINE", "GameFile", "file_size", "with_line_feeds"]

BLOCK = 1 << 20
"""Bytes read at a time."""

MOST_OF_A_LINE = 1 << 25
"""A line longer than this (32 MB) is read in pieces: nobody typed it."""

_HEAD = 4096
"""Bytes at the start by which text is told from binary data."""

_CONTROLS = bytes(set(range(32)) - set(b"\t\n\v\f\r\x1a\x1b") | {127})
"""Control characters that no text has but those of DOS, which 1A ends."""

_NO_GAMES = (
    (codecs.BOM_UTF32_LE, "is text in UTF-32; save it as UTF-8"),
    (codecs.BOM_UTF32_BE, "is text in UTF-32; save it as UTF-8"),
    (codecs.BOM_UTF16_LE, "is text in UTF-16; save it as UTF-8"),
    (codecs.BOM_UTF16_BE, "is text in UTF-16; save it as UTF-8"),
    (b"PK\x03\x04", "is a zip archive; unpack it first"),
    (b"BZh", "is a bzip2 archive; unpack it first"),
    (b"\xfd7zXZ", "is an xz archive; unpack it first"),
    (b"7z\xbc\xaf", "is a 7z archive; unpack it first"),
    (b"%PDF-", "is a PDF document, not a file of games"),
)


class GameFile:
    """A file of games, open for reading.  The packing is known by its first bytes, not by the
    name.

    Raises `FileError`, one sentence each: on opening, if the file is missing, a folder or
    closed to us; while reading, if it is empty, binary, or a damaged or truncated archive.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        self.is_packed = False
        """Whether it is an archive; known when reading has begun."""
        self._file = _open(path)

    def close(self) -> None:
        """Close the file; text cannot be asked for any more."""
        self._file.close()

    def position(self) -> int:
        """How many bytes of the file, packed as it is, have been read."""
        return self._file.tell()

    def text(self, start: int = 0) -> Iterator[bytes]:
        """The text from byte `start` of the unpacked text on, in blocks of no particular kind.

        Where lines end with carriage returns alone, they come as line feeds.
        """
        lone_returns = blank = True
        for at, block in self._unpacked(start):
            if at == 0:
                _refuse_no_text(self.path, block)
                # A return at the end of the block may be half of a CRLF.
                lone_returns = b"\n" not in block and b"\r" in block[:-1]
            if at + len(block) <= start:
                continue
            data = block[max(start - at, 0) :]
            blank = blank and data.isspace()
            yield data.replace(b"\r", b"\n") if lone_returns else data
        if blank and not start:
            raise FileError(f"{self.path} is empty")

    def blocks(self) -> Iterator[bytes]:
        """The same in blocks of whole lines that end with line feeds, without byte order mark.

        A line longer than `MOST_OF_A_LINE` comes in several blocks.
        """
        rest = b""
        for more in self.text():
            data = rest + more
            end = data.rfind(b"\n") + 1
            if not end and len(data) > MOST_OF_A_LINE:
                end = len(data)
            if end:
                yield with_line_feeds(data[:end])
            rest = data[end:]
        if rest := with_line_feeds(rest):
            yield rest

    def _unpacked(self, start: int) -> Iterator[tuple[int, bytes]]:
        """Blocks with their places in the text: the first, and all from `start` on."""
        self._file.seek(0)
        data = self._read()
        if not data.startswith(GZIP) and not is_zstandard(data):
            at = 0
            while data:
                yield at, data
                at += len(data)
                if at < start:
                    at = self._file.seek(start)
                data = self._read()
            return
        self.is_packed = True
        unpack = unpack_gzip if data.startswith(GZIP) else unpack_zstandard
        at = 0
        try:
            for block in _gathered(unpack(data, self._read)):
                yield at, block
                at += len(block)
        except FileError as error:
            raise FileError(f"{self.path}: {error}") from None

    def _read(self) -> bytes:
        try:
            return self._file.read(BLOCK)
        except OSError as error:
            raise FileError(f"{self.path} cannot be read: {error.strerror or error}") from None


def _gathered(blocks: Iterator[bytes]) -> Iterator[bytes]:
    """Blocks put together until they have the usual size."""
    parts: list[bytes] = []
    size = 0
    try:
        for block in blocks:
            parts.append(block)
            size += len(block)
            if size >= BLOCK:
                yield b"".join(parts)
                parts, size = [], 0
    except FileError:
        if parts:
            yield b"".join(parts)
        raise
    if parts:
        yield b"".join(parts)


def with_line_feeds(data: bytes) -> bytes:
    """Text whose lines may end with CRLF or CR, with LF alone, and without the byte order mark of
    UTF-8 and the end mark of DOS."""
    data = data.removeprefix(codecs.BOM_UTF8)
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return data.rstrip(b"\x1a") if data.endswith(b"\x1a") else data


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
    except FileError:
        raise
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise FileError(f"{path!r} cannot be opened: {reason}") from None


def _refuse_no_text(path: str, data: bytes) -> None:
    for magic, what in _NO_GAMES:
        if data.startswith(magic):
            raise FileError(f"{path} {what}")
    head = data[:_HEAD]
    controls = len(head) - len(head.translate(None, _CONTROLS))
    if _is_wide(head):
        raise FileError(f"{path} is text in UTF-16; save it as UTF-8")
    # One stray control character is a flaw in some game; a NUL or many of them are no text.
    if b"\x00" in head or controls * 50 > len(head):
        raise FileError(f"{path} is a binary file, not a file of games")


def _is_wide(head: bytes) -> bool:
    """Whether it looks like Latin letters in two bytes each, without a byte order mark."""
    return any(
        len(head) >= 16 and not any(head[zeros::2]) and all(head[1 - zeros :: 2])
        for zeros in (0, 1)
    )
