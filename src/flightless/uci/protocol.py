"""Lines of the UCI protocol read and written, as plain data.

Reads what a program says to an engine (the protocol text of April 2006: commands, `position`,
`go`, `setoption`); what is done about it is decided in `server`.
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from flightless.errors import FlightlessError, PositionError
from flightless.positions import MAX_LINE, read_position

__all__ = [
    "COMMANDS",
    "Go",
    "ProtocolError",
    "command_of",
    "read_go",
    "read_option",
    "read_position_command",
]

_SET_UP = {"uci", "debug", "isready", "setoption", "register", "ucinewgame", "position"}
COMMANDS = frozenset(_SET_UP | {"go", "stop", "ponderhit", "quit"})
"""Every command of the protocol that a program may send to an engine."""

_NUMBERS = ("wtime", "btime", "winc", "binc", "movestogo", "depth", "nodes", "mate", "movetime")
_MOST = 1 << 62


class ProtocolError(FlightlessError, ValueError):
    """A command whose parts make no sense; the message goes back as an `info string`."""


@dataclass(frozen=True, slots=True)
class Go:
    """The parts of a `go` command.  Times are in milliseconds; None: not given.

    `depth` counts moves of the mating side here, as `mate` does.
    """

    searchmoves: tuple[str, ...] = ()
    ponder: bool = False
    infinite: bool = False
    wtime: int | None = None
    btime: int | None = None
    winc: int | None = None
    binc: int | None = None
    movestogo: int | None = None
    depth: int | None = None
    nodes: int | None = None
    mate: int | None = None
    movetime: int | None = None


def command_of(line: str) -> tuple[str, list[str]]:
    """The command of a line and what follows it; ("", []) if there is none.

    Unknown words before a command are passed over, as the protocol asks: "joho debug on"
    switches the debug mode on.

    >>> command_of("joho debug on")
    ('debug', ['on'])
    """
    words = line.split()
    for at, word in enumerate(words):
        if word in COMMANDS:
            return word, words[at + 1 :]
    return "", []


def read_go(words: list[str]) -> Go:
    """The parts of a `go` command; unknown words are passed over.

    Raises `ProtocolError` if a number is missing, is none, or is out of range.
    """
    found: dict[str, object] = {}
    moves: list[str] = []
    at = 0
    while at < len(words):
        word = words[at]
        at += 1
        if word in ("infinite", "ponder"):
            found[word] = True
        elif word in _NUMBERS:
            found[word] = _number(word, words[at] if at < len(words) else None)
            at += 1
        elif word == "searchmoves":
            while at < len(words) and _looks_like_move(words[at]):
                moves.append(words[at])
                at += 1
    return Go(searchmoves=tuple(moves), **found)  # type: ignore[arg-type]


def _number(name: str, text: str | None) -> int:
    """A number after its name; a clock may have run below nought, nothing else may."""
    least = -_MOST if name in ("wtime", "btime", "winc", "binc") else 1
    if name == "movestogo":
        least = 0
    try:
        number = int(text or "")
    except ValueError:
        shown = "nothing" if text is None else repr(text[:20])
        raise ProtocolError(f"expected a number after {name!r}, found {shown}") from None
    if not least <= number <= _MOST:
        raise ProtocolError(f"the number after {name!r} must be at least {least}, and is {number}")
    return number


def _looks_like_move(word: str) -> bool:
    try:
        chess.Move.from_uci(word.lower())
    except chess.InvalidMoveError:
        return False
    return True


def read_option(words: list[str]) -> tuple[str, str]:
    """Name and value of a `setoption` command; the name may have several words.

    Raises `ProtocolError` if there is no name.
    """
    if not words or words[0] != "name" or len(words) < 2:
        raise ProtocolError("expected 'setoption name NAME value VALUE'")
    rest = words[1:]
    cut = rest.index("value") if "value" in rest else len(rest)
    return " ".join(rest[:cut]), " ".join(rest[cut + 1 :])


def read_position_command(words: list[str]) -> tuple[chess.Board, tuple[str, ...]]:
    """The board of a `position` command after its moves, and what was mended in its FEN.

    Raises `ProtocolError` or `PositionError` if it cannot be a position, or at the first move
    that is not legal.
    """
    cut = words.index("moves") if "moves" in words else len(words)
    start, moves = words[:cut], words[cut + 1 :]
    notices: tuple[str, ...] = ()
    if start[:1] == ["startpos"]:
        board = chess.Board()
    elif start[:1] == ["fen"]:
        position = read_position(" ".join(start[1:])[: MAX_LINE + 1])
        board, notices = position.board, position.notices
    else:
        raise ProtocolError("expected 'startpos' or 'fen' after 'position'")
    for text in moves:
        _push(board, text)
    return board.copy(stack=False), notices


def _push(board: chess.Board, text: str) -> None:
    try:
        move = chess.Move.from_uci(text.lower())
    except chess.InvalidMoveError:
        raise ProtocolError(f"{text[:20]!r} is not a move in the protocol's notation") from None
    if not board.is_legal(move):
        raise PositionError(f"{text} is not a legal move in {board.fen()}")
    board.push(move)
