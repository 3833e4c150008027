"""Blocks of whole lines from a game file, whatever its size, packing and line ends.

This module opens plain and gzip files, refuses what is no text, and hands out bytes block
by block, so that memory stays flat.  What the lines mean is left to `splitter`.
"""

from __future__ import annotations

import codecs
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
"""Control characters that no text has but those of DOS, which 1A ends."""

_GZIP = 16 + zlib.MAX_WBITS
"""What zlib wants to hear to expect a gzip header and check."""

_END_OF_TEXT = b"\x1a"

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
        self._file = _open(path)

    def close(self) -> None:
        """Close the file; blocks cannot be asked for any more."""
        self._file.close()

    def position(self) -> int:
        """How many bytes of the file, packed as it is, have been read."""
        return self._file.tell()

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
        rest = rest.rstrip(_END_OF_TEXT)
        if rest:
            yield rest

    def _unix_lines(self) -> Iterator[bytes]:
        held = b""
        first = True
        for data in self._text():
            if first:
                _refuse_no_text(self.path, data)
                data = data.removeprefix(codecs.BOM_UTF8)
                first = False
            data = held + data
            # A CR at the end may be half of a CRLF: it waits for the next bytes.
            held = b"\r" if data.endswith(b"\r") else b""
            data = data[:-1] if held else data
            if b"\r" in data:
                data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
            yield data
        if first:
            raise FileError(f"{self.path} is empty")
        if held:
            yield b"\n"

    def _text(self) -> Iterator[bytes]:
        """The unpacked bytes; what can be unpacked of a broken archive comes before the error."""
        data = self._read()
        if data.startswith(b"\x1f\x8b"):
            yield from self._unzip(data)
            return
        while data:
            yield data
            data = self._read()

    def _unzip(self, data: bytes) -> Iterator[bytes]:
        """gzip (RFC 1952): members one after the other, perhaps padded with zeros."""
        try:
            while data := data.lstrip(b"\x00") or self._read().lstrip(b"\x00"):
                member = zlib.decompressobj(_GZIP)
                while not member.eof:
                    if text := member.decompress(data, BLOCK):
                        yield text
                    data = member.unconsumed_tail
                    if not data and not member.eof and not (data := self._read()):
                        raise FileError(f"{self.path}: the archive breaks off before its end")
                data = member.unused_data
        except zlib.error as error:
            raise FileError(f"{self.path}: the archive is damaged ({error})") from None

    def _read(self) -> bytes:
        try:
            return self._file.read(BLOCK)
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
