"""Where men stand in real games, counted by phase: the data that composing draws from.

The counts are kept in `compose_squares.json`, which this module wrote:
`python -m flightless.exercises.compose_squares NAME FILE > compose_squares.json` counts the
games of a PGN anew.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import Any, TextIO

import chess
import chess.pgn

__all__ = ["PHASES", "count_games", "phase_of", "weights"]

PHASES = ("opening", "middlegame", "ending")
_EVERY, _FROM = 4, 16


def phase_of(board: chess.Board) -> str:
    """The phase by the pieces on the board, kings and pawns apart: eleven or more are an
    opening, six to ten a middlegame, fewer an ending (common practice, no source)."""
    pieces = chess.popcount(board.occupied & ~board.pawns & ~board.kings)
    return PHASES[(pieces < 11) + (pieces < 6)]


def weights(phase: str, kind: chess.PieceType, colour: chess.Color) -> tuple[int, ...]:
    """How often a man of this kind and colour stood on each square in this phase."""
    counts = _counts()[phase][chess.piece_symbol(kind)]
    return tuple(counts[square if colour else square ^ 56] for square in chess.SQUARES)


@lru_cache(maxsize=1)
def _counts() -> Mapping[str, Mapping[str, list[int]]]:
    text = (files("flightless.exercises") / "compose_squares.json").read_text("utf-8")
    counts: Mapping[str, Mapping[str, list[int]]] = json.loads(text)["squares"]
    return counts


def count_games(stream: TextIO, source: str) -> dict[str, Any]:
    """The counts of all games of a PGN, every fourth half-move from the sixteenth, Black's men
    mirrored to White's side of the board."""
    squares = {p: {chess.piece_symbol(k): [0] * 64 for k in chess.PIECE_TYPES} for p in PHASES}
    games = positions = 0
    while (game := chess.pgn.read_game(stream)) is not None:
        games += 1
        board = game.board()
        for ply, move in enumerate(game.mainline_moves(), 1):
            board.push(move)
            if ply < _FROM or ply % _EVERY:
                continue
            positions += 1
            counts = squares[phase_of(board)]
            for square, piece in board.piece_map().items():
                counts[chess.piece_symbol(piece.piece_type)][
                    square if piece.color else square ^ 56
                ] += 1
    return {"source": source, "games": games, "positions": positions, "squares": squares}


if __name__ == "__main__":
    with open(sys.argv[2], encoding="utf-8", errors="replace") as pgn:
        print(json.dumps(count_games(pgn, sys.argv[1]), separators=(",", ":")))
