"""Old sheets read: what each position or game of a file claims to be.

A claim is compared with the truth by `prove.proofread`; lines and games that cannot be read come
as faults of their own, in their places.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from dataclasses import dataclass

import chess
import chess.pgn

from flightless.errors import FileError
from flightless.harvest.files import GameFile
from flightless.harvest.inputs import asked_positions, kind_of
from flightless.harvest.movetext import GameError, read_game
from flightless.harvest.splitter import split_games
from flightless.positions import Position
from flightless.prove.proofread import Claim, Fault

__all__ = ["Sheet", "sheets_of"]

_WHOLE_GAME = "there is no FEN tag, so this is a whole game and not the solution of a position"


@dataclass(frozen=True, slots=True)
class Sheet:
    """One claim and where it stands, or the fault that kept it from being read."""

    place: str
    fen: str
    claim: Claim | None
    fault: Fault | None = None


def sheets_of(source: str) -> Iterator[Sheet]:
    """Every claim of an EPD file (`dm`, `bm`), or of a file of games whose moves are solutions.

    Raises `FileError` for a file that cannot be read or holds nothing.
    """
    return _from_games(source) if kind_of(source) == "games" else _from_lines(source)


def _from_lines(source: str) -> Iterator[Sheet]:
    for asked in asked_positions(source):
        if asked.position is None:
            yield Sheet(asked.place, asked.text, None, Fault("illegal", reason=asked.refusal or ""))
            continue
        fen = asked.position.board.fen()
        try:
            claim = _claim(asked.position)
        except ValueError as error:
            yield Sheet(asked.place, fen, None, Fault("illegal", reason=str(error)))
        else:
            yield Sheet(asked.place or "the position", fen, claim)


def _claim(position: Position) -> Claim:
    """The claim of an EPD line: `dm` (direct mate in so many moves) and `bm` (best moves)."""
    board = position.board
    moves = None
    if operands := position.operations.get("dm"):
        try:
            moves = int(operands[0])
        except ValueError:
            raise ValueError(f"dm must be a number of moves, not {operands[0]!r}") from None
        if moves == 0 or abs(moves) > 200:
            raise ValueError(f"dm must be from 1 to 200 moves, not {moves}")
    keys = []
    for text in position.operations.get("bm", ()):
        try:
            keys.append(board.parse_san(text))
        except ValueError:
            raise ValueError(f"{text!r} is not a legal move here") from None
    return Claim(board, moves, tuple(keys))


def _from_games(source: str) -> Iterator[Sheet]:
    """Games with a FEN tag: the moves are the solution, root variations are further keys."""
    logging.getLogger("chess.pgn").setLevel(logging.CRITICAL)  # its complaints are in .errors
    found = False
    file = GameFile(source)
    try:
        for raw in split_games(file.blocks()):
            found = True
            place = f"{source}, game {raw.number}"
            try:
                game = read_game(raw)
            except GameError as error:
                where = f"{place}, line {error.line}"
                yield Sheet(where, "", None, Fault("illegal", reason=str(error)))
                continue
            if game.start.fen() == chess.STARTING_FEN:
                yield Sheet(place, "", None, Fault("illegal", reason=_WHOLE_GAME))
            else:
                keys = _root_moves(raw.text)
                claim = Claim(game.start, None, keys or game.moves[:1], game.moves)
                yield Sheet(place, game.start.fen(), claim)
    finally:
        file.close()
    if not found:
        raise FileError(f"there is no game in {source}")


def _root_moves(text: bytes) -> tuple[chess.Move, ...]:
    """The first move of the solution and of each variation that stands beside it."""
    game = chess.pgn.read_game(io.StringIO(text.decode("utf-8", "replace")))
    return tuple(node.move for node in game.variations) if game is not None else ()
