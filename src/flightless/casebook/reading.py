"""Items of a file, one by one: positions in PGN, in EPD, or in JSON Lines.

Each item is handed on unread, with its number; reading it may refuse it without hurting the
next.  Text is UTF-8; a line that is not is taken as Latin-1, as old PGN files are.
"""

from __future__ import annotations

import codecs
import json
import os
import re
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO, TextIO

import chess
import chess.pgn

from flightless.casebook.data import Format, Game, NewPosition
from flightless.casebook.documents import item_of
from flightless.casebook.export import KEYS_TAG, PATTERNS_TAG, SEPARATOR, TAGS_TAG
from flightless.casebook.incoming import Incoming, items_of_record, of_position
from flightless.errors import FileError, PositionError, UsageError
from flightless.positions import read_position

__all__ = ["items_of"]

_ESCAPED = re.compile(r'\\(["\\])')
"""A quote or backslash in a PGN tag, as the PGN standard (section 7) has it."""

Items = Iterator[tuple[int, Callable[[], Incoming]]]

MOST_OF_A_LINE = 1 << 26
"""A longer line (64 MB) is refused; a proof of many moves is well under it."""

_ENDINGS: dict[str, Format] = {
    ".pgn": "pgn",
    ".epd": "epd",
    ".fen": "epd",
    ".jsonl": "jsonl",
    ".ndjson": "jsonl",
}


def items_of(lines: str | os.PathLike[str] | TextIO, format: Format | None) -> Items:
    """The items of a file or of open text.

    `FileError` if it cannot be read, is empty, or is no text; `UsageError` if the format is
    neither given nor told by the name.
    """
    if isinstance(lines, str | os.PathLike):
        path = Path(lines)
        chosen = format or _ENDINGS.get(path.suffix.lower())
        if chosen is None and not path.is_file():
            return _of_file(path, chosen)  # refused there: it is not there, or a folder
        _check(chosen, f"the name of {path}")
        return _of_file(path, chosen)
    _check(format, "text without a name")
    return _items(iter(lines), "", format)


def _check(format: str | None, name: str) -> None:
    if format is None:
        raise UsageError(f"{name} does not say whether it is pgn, epd or jsonl")
    if format not in ("pgn", "epd", "jsonl"):
        raise UsageError(f"a casebook reads pgn, epd and jsonl, not {format!r}")


def _of_file(path: Path, format: Format | None) -> Items:
    try:
        if path.is_dir():
            raise FileError(f"{path} is a folder, and a file is wanted")
        stream = path.open("rb")
    except FileNotFoundError:
        raise FileError(f"there is no file {str(path)!r}") from None
    except FileError:
        raise
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise FileError(f"{str(path)!r} cannot be opened: {reason}") from None
    with stream:
        head = stream.read(4096)
        if not head.strip():
            raise FileError(f"{path} is empty")
        if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            raise FileError(f"{path} is text in UTF-16; save it as UTF-8")
        if b"\x00" in head:
            raise FileError(f"{path} is a binary file, not lines of text")
        stream.seek(0)
        yield from _items(_decoded(stream), path.name, format)


def _items(lines: Iterator[str], file: str, format: Format | None) -> Items:
    readers = {"pgn": _of_pgn, "epd": _of_epd, "jsonl": _of_json_lines}
    return readers[str(format)](lines, file)


def _decoded(stream: BinaryIO) -> Iterator[str]:
    first = True
    while raw := stream.readline(MOST_OF_A_LINE):
        if first:
            raw = raw.removeprefix(b"\xef\xbb\xbf")
            first = False
        try:
            yield raw.decode("utf-8")
        except UnicodeDecodeError:
            yield raw.decode("latin-1")
        if len(raw) == MOST_OF_A_LINE and not raw.endswith(b"\n"):
            while (rest := stream.readline(MOST_OF_A_LINE)) and not rest.endswith(b"\n"):
                pass


def _of_json_lines(lines: Iterator[str], file: str) -> Items:
    for number, line in enumerate(lines, start=1):
        if line.strip():
            yield from ((number, item) for item in _json_items(line, file))


def _json_items(line: str, file: str) -> list[Callable[[], Incoming]]:
    try:
        document = _json_object(line)
    except FileError as error:
        return [partial(_refused, error)]
    if "casebook" in document:
        return [partial(item_of, document)]
    return items_of_record(document, file)


def _refused(error: FileError) -> Incoming:
    raise error


def _json_object(line: str) -> dict[str, Any]:
    if len(line) >= MOST_OF_A_LINE:
        raise FileError(f"the line has more than {MOST_OF_A_LINE >> 20} million characters")
    try:
        document = json.loads(line, parse_constant=_no_constant)
    except RecursionError:
        raise FileError("the line is nested too deeply") from None
    except ValueError as error:
        raise FileError(f"the line is not JSON: {error!s:.160}") from None
    if not isinstance(document, dict):
        raise FileError("the line is not a JSON object")
    return document


def _no_constant(name: str) -> Any:
    raise FileError(f"{name} is no number in JSON")


def _of_epd(lines: Iterator[str], file: str) -> Items:
    for number, line in enumerate(lines, start=1):
        text = line.strip()
        if text and not text.startswith("#"):
            yield number, partial(_epd_item, text, file, number)


def _epd_item(line: str, file: str, number: int) -> Incoming:
    read = read_position(line)
    operations = read.operations
    keys = tuple(_san_key(read.board, san) for san in operations.get("bm", ()))
    patterns: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    notes: list[str] = []
    for opcode in ("c0", "c1", "c2", "c3", "c4", "c5", "c6", "c7", "c8", "c9"):
        text = " ".join(operations.get(opcode, ()))
        if opcode == "c0" and text.startswith("patterns: "):
            patterns = _names(text.removeprefix("patterns: "))
        elif opcode == "c1" and text.startswith("tags: "):
            tags = _names(text.removeprefix("tags: "))
        elif text:
            notes.append(text)
    name = " ".join(operations.get("id", ()))
    return of_position(
        NewPosition(
            fen=read.board.fen(),
            moves=_dm(operations.get("dm", ())),
            keys=keys,
            patterns=patterns,
            tags=tags,
            note="\n".join(notes),
            game=Game({"Event": name} if name else {}, file, number) if file or name else None,
        )
    )


def _dm(operands: tuple[str, ...]) -> int | None:
    if not operands:
        return None
    try:
        return int(operands[0])
    except ValueError:
        raise PositionError(f"'dm' must be a number of moves, and is {operands[0]!r:.60}") from None


def _san_key(board: chess.Board, san: str) -> str:
    try:
        return board.parse_san(san).uci()
    except ValueError:
        raise PositionError(f"the key {san!r:.60} is not a legal move: {board.fen()}") from None


class _Lines:
    """What python-chess's reader wants of a file: the next line, or an empty text at the end."""

    def __init__(self, lines: Iterable[str]) -> None:
        self._lines = iter(lines)

    def readline(self) -> str:
        return next(self._lines, "")


class _MainLine(chess.pgn.GameBuilder[chess.pgn.Game]):
    """Builds the main line alone, and keeps the first error instead of logging it."""

    def begin_variation(self) -> Any:
        return chess.pgn.SKIP

    def end_variation(self) -> None:
        """Nothing to go back to: the variation was not begun."""

    def visit_comment(self, comment: str | list[str]) -> None:
        del comment

    def handle_error(self, error: Exception) -> None:
        self.game.errors.append(error)


def _of_pgn(lines: Iterator[str], file: str) -> Items:
    stream: Any = _Lines(lines)
    number = 0
    while True:
        game = chess.pgn.read_game(stream, Visitor=_MainLine)
        if game is None:
            return
        number += 1
        yield number, partial(_pgn_item, game, file, number)


def _pgn_item(game: chess.pgn.Game, file: str, number: int) -> Incoming:
    tags = {name: _ESCAPED.sub(r"\1", value) for name, value in game.headers.items()}
    fen = tags.get("FEN")
    if game.errors:
        raise FileError(f"the game cannot be read: {game.errors[0]!s:.200}")
    if not fen:
        raise FileError("the game has no FEN tag and so no position to keep; harvest reads games")
    board = read_position(fen).board
    if tags.get("Variant", "Standard").lower() not in ("standard", "chess", ""):
        raise FileError(f"the game is another kind of chess: {tags['Variant']!r:.60}")
    line, mates = _main_line(board, game)
    moves = (len(line) + 1) // 2 if mates and len(line) % 2 else None
    keys = tuple(tags.get(KEYS_TAG, "").split())
    if not keys and line:
        keys = (board.parse_san(line[0]).uci(),)
    own = ("SetUp", "FEN", PATTERNS_TAG, TAGS_TAG, KEYS_TAG)
    return of_position(
        NewPosition(
            fen=board.fen(),
            moves=moves,
            keys=keys,
            line=line,
            patterns=_names(tags.get(PATTERNS_TAG)),
            tags=_names(tags.get(TAGS_TAG)),
            game=Game({k: v for k, v in tags.items() if k not in own}, file, number),
        )
    )


def _names(text: str | None) -> tuple[str, ...]:
    return tuple(name.strip() for name in (text or "").split(SEPARATOR.strip()) if name.strip())


def _main_line(board: chess.Board, game: chess.pgn.Game) -> tuple[tuple[str, ...], bool]:
    """The main line in SAN, and whether it ends in mate."""
    board = board.copy(stack=False)
    line: list[str] = []
    for move in game.mainline_moves():
        if not board.is_legal(move):
            raise FileError(f"move {len(line) + 1}, {move.uci()}, is not legal: {board.fen()}")
        line.append(board.san_and_push(move))
    return tuple(line), board.is_checkmate()
