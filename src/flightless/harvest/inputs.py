"""What a command was pointed at: one FEN, a file of positions or games, or standard input.

Positions come out one by one with the place they came from; a line that is refused comes
out too, with its reason, so that a file of ten thousand loses that line alone.
"""

from __future__ import annotations

import codecs
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Literal

from flightless.errors import FileError, PositionError
from flightless.positions import MAX_LINE, Position, looks_like_fen, read_position

__all__ = ["Asked", "asked_games", "asked_positions", "is_single", "kind_of", "open_bytes"]

Kind = Literal["positions", "games", "finds"]

_NOT_TEXT = (b"%PDF-", b"\x89PNG", b"\xff\xd8\xff", b"PK\x03\x04", b"\x1f\x8b")
"""How files begin that are no lines of text: PDF, PNG, JPEG, ZIP, gzip (their standards)."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One position that was asked about.

    `place` names file and line ('positions.epd, line 3') and is empty for a FEN given on the
    command line; `position` is None when `refusal` says why.
    """

    text: str
    place: str
    position: Position | None
    refusal: str | None = None


def is_single(source: str) -> bool:
    """Whether `source` is one FEN rather than a file or standard input."""
    return looks_like_fen(source)


def kind_of(source: str) -> Kind:
    """What a file holds, by its first characters: games (PGN, packed or not), the finds of a
    harvest (JSON Lines), else lines of positions; so does standard input, and a FEN."""
    if source == "-" or is_single(source):
        return "positions"
    with open_bytes(source) as stream:
        head = stream.read(4096)
    if head.startswith((b"\x1f\x8b", b"\x28\xb5\x2f\xfd")):
        return "games"  # packed by gzip or zstd: games are the only packed input
    text = head.decode("utf-8-sig", "replace").lstrip()
    while text.startswith(("#", ";", "%")):
        text = text.partition("\n")[2].lstrip()
    if text.startswith("{"):
        return "finds"
    return "games" if text.startswith(("[", "1.")) else "positions"


def asked_games(source: str) -> Iterator[Asked]:
    """The final position of every game of a file, with its moves; a bad game as a refusal.

    Raises `FileError` for a file that cannot be read or holds no game.
    """
    from flightless.harvest.files import GameFile
    from flightless.harvest.movetext import GameError, read_game
    from flightless.harvest.splitter import split_games

    found = False
    file = GameFile(source)
    try:
        for raw in split_games(file.blocks()):
            found = True
            place = f"{source}, game {raw.number}"
            try:
                game = read_game(raw)
            except GameError as error:
                yield Asked("", f"{place}, line {error.line}", None, str(error))
            else:
                yield Asked(game.final.fen(), place, Position(game.final))
    finally:
        file.close()
    if not found:
        raise FileError(f"there is no game in {source}")


def asked_positions(source: str) -> Iterator[Asked]:
    """Every position of `source`: a FEN, a file of FEN or EPD lines, or '-'.

    Empty lines and lines that begin with '#' are passed over.  Raises `PositionError` for a
    refused FEN given directly and `FileError` for a file that cannot be read, or holds no
    position or something else.
    """
    if is_single(source):
        yield Asked(source.strip(), "", read_position(source))
        return
    name = "standard input" if source == "-" else source
    if (kind := kind_of(source)) != "positions":
        held = "games" if kind == "games" else "JSON documents"
        raise FileError(f"{name}: FEN or EPD lines are wanted, and there are {held} in it")
    found = False
    with open_bytes(source) as stream:
        for number, text in _lines(stream, name):
            found = True
            yield _asked(text, f"{name}, line {number}")
    if not found:
        raise FileError(f"{name}: there is no position in it")


def open_bytes(source: str) -> BinaryIO:
    """The bytes of a file, or of standard input for '-'; `FileError` if it cannot be opened."""
    if source == "-":
        return sys.stdin.buffer
    if not source.strip():
        raise FileError("the position is empty: a FEN or the name of a file is wanted")
    path = Path(source)
    try:
        if path.is_dir():
            raise FileError(f"{source} is a folder, and a file is wanted")
        return path.open("rb")
    except FileNotFoundError:
        raise FileError(f"there is no file {source!r} (a FEN has seven slashes)") from None
    except FileError:
        raise
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise FileError(f"{source!r} cannot be opened: {reason}") from None


def _asked(text: str | PositionError, place: str) -> Asked:
    if isinstance(text, PositionError):
        return Asked("", place, None, str(text))
    try:
        return Asked(text, place, read_position(text))
    except PositionError as error:
        return Asked(text[:MAX_LINE], place, None, str(error))


def _lines(stream: BinaryIO, name: str) -> Iterator[tuple[int, str | PositionError]]:
    """Numbered lines that may hold a position; one that is not text comes as its error."""
    number = 0
    while raw := stream.readline(8 * MAX_LINE):
        number += 1
        if number == 1 and raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            raise FileError(f"{name}: this is text in UTF-16; save it as UTF-8")
        if number == 1 and (b"\x00" in raw or raw.startswith(_NOT_TEXT)):
            raise FileError(f"{name}: this is a binary file, not lines of text")
        if not raw.endswith(b"\n") and len(raw) == 8 * MAX_LINE:
            _skip_line(stream)
            yield number, PositionError(f"the line has more than {8 * MAX_LINE} characters")
            continue
        try:
            text = raw.decode("utf-8-sig" if number == 1 else "utf-8").strip()
        except UnicodeDecodeError:
            yield number, PositionError("the line is not text in UTF-8")
            continue
        if text and not text.startswith("#"):
            yield number, text


def _skip_line(stream: BinaryIO) -> None:
    while (rest := stream.readline(8 * MAX_LINE)) and not rest.endswith(b"\n"):
        pass
