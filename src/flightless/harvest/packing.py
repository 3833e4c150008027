"""Archives unpacked as a stream: gzip (RFC 1952) and Zstandard (RFC 8878).

Bytes in, bytes out, in pieces of bounded size.  What can be unpacked of a broken archive
comes before the error that says so; whose file it is, is left to `files`.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator

from flightless.errors import FileError

__all__ = ["GZIP", "ZSTANDARD", "is_zstandard", "unpack_gzip", "unpack_zstandard"]

GZIP = b"\x1f\x8b"
"""The first bytes of a gzip member."""

ZSTANDARD = b"\x28\xb5\x2f\xfd"
"""The first bytes of a Zstandard frame that holds data."""

_GZIP_WINDOW = 16 + zlib.MAX_WBITS
_PIECE = 1 << 20
_SPOONFUL = 1 << 11
"""Packed bytes given to Zstandard at a time; a block of 128 KB takes four bytes at the least,
so this bounds what a hostile archive can swell to in one go (64 MB)."""

_BREAKS_OFF = "the archive breaks off before its end"


def is_zstandard(head: bytes) -> bool:
    """Whether a file that begins so is a Zstandard archive (a frame to be skipped may lead)."""
    return head[:4] == ZSTANDARD or _is_skippable(head)


def _is_skippable(head: bytes) -> bool:
    return len(head) >= 4 and 0x50 <= head[0] <= 0x5F and head[1:4] == b"\x2a\x4d\x18"


def unpack_gzip(data: bytes, read: Callable[[], bytes]) -> Iterator[bytes]:
    """The text of an archive that begins with `data` and goes on with what `read` gives.

    Members may follow one another, and zeros may follow the last.
    """
    try:
        while data := data.lstrip(b"\x00") or read().lstrip(b"\x00"):
            member = zlib.decompressobj(_GZIP_WINDOW)
            while not member.eof:
                if text := member.decompress(data, _PIECE):
                    yield text
                data = member.unconsumed_tail
                if not data and not member.eof and not (data := read()):
                    raise FileError(_BREAKS_OFF)
            data = member.unused_data
    except zlib.error as error:
        raise FileError(f"the archive is damaged ({error})") from None


def unpack_zstandard(data: bytes, read: Callable[[], bytes]) -> Iterator[bytes]:
    """The same for Zstandard: frames one after the other, some perhaps to be skipped."""
    try:
        import zstandard
    except ImportError:
        raise FileError("reading .zst files needs the package 'zstandard'") from None
    try:
        while data := data or read():
            while len(data) < 8 and (more := read()):
                data += more
            if _is_skippable(data):
                data = _skip(data, read)
                continue
            frame = zstandard.ZstdDecompressor().decompressobj()
            at = 0
            while not frame.eof:
                if at >= len(data):
                    at = 0
                    if not (data := read()):
                        raise FileError(_BREAKS_OFF)
                if text := frame.decompress(data[at : at + _SPOONFUL]):
                    yield text
                at += _SPOONFUL
            data = frame.unused_data + data[at:]
    except zstandard.ZstdError as error:
        raise FileError(f"the archive is damaged ({error})") from None


def _skip(data: bytes, read: Callable[[], bytes]) -> bytes:
    if len(data) < 8:
        raise FileError(_BREAKS_OFF)
    size = 8 + int.from_bytes(data[4:8], "little")
    while len(data) < size:
        size -= len(data)
        if not (data := read()):
            raise FileError(_BREAKS_OFF)
    return data[size:]
