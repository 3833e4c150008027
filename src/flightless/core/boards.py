"""The compiled rules for callers with a `chess.Board`: one compiled call for each question.

For rooms that ask about one position at a time, and for the tests.  Searches and loops
belong in compiled functions of their own, on states.
"""

from __future__ import annotations

import chess
import numpy as np

from flightless.core import mate, moves, perft
from flightless.core.attacks import in_check
from flightless.core.bits import ZERO
from flightless.core.compiled import MOVES, STATE, U64, entry, jit
from flightless.core.state import (
    MOST_MOVES,
    Moves,
    State,
    decode,
    encode,
    move_from_chess,
    move_to_chess,
)

__all__ = [
    "ALL_MOVES",
    "CHECKS",
    "MATES",
    "after",
    "checking_moves",
    "count_positions",
    "legal_moves",
    "mating_moves",
    "play",
    "standing",
]

ALL_MOVES, CHECKS, MATES = (np.uint64(n) for n in range(3))
"""What `list_moves` is asked for."""

_STANDING = ("mated", "stalemated", "in check", "free")


@entry(STATE, U64, MOVES)
@jit
def list_moves(state: State, which: np.uint64, out: Moves) -> np.uint64:
    """Write the legal, checking or mating moves to `out`; returns their number."""
    if which == ALL_MOVES:
        return moves.generate(state, out, ZERO)
    if which == CHECKS:
        return moves.generate_checks(state, out, ZERO)
    return mate.find_mates(state, out, ZERO)


@entry(STATE)
@jit
def judge(state: State) -> int:
    """0 mated, 1 stalemated, 2 in check, 3 none of these (the side to move)."""
    if mate.is_checkmate(state):
        return 0
    if mate.is_stalemate(state):
        return 1
    return 2 if in_check(state) else 3


@entry(STATE, U64)
@jit
def _play(state: State, move: np.uint64) -> State:
    return moves.make(state, move)


def _moves(board: chess.Board, which: np.uint64) -> list[chess.Move]:
    out = np.empty(MOST_MOVES * 2, np.uint64)
    count = int(list_moves(encode(board), which, out))
    return [move_to_chess(number) for number in out[:count].tolist()]


def play(state: State, move: np.uint64) -> State:
    """The state after a legal move."""
    # Words come out of compiled code as plain integers, and would not fit back in.
    return State(*map(np.uint64, _play(state, move)))


def legal_moves(board: chess.Board) -> list[chess.Move]:
    """All legal moves, in the fixed order of the generator."""
    return _moves(board, ALL_MOVES)


def checking_moves(board: chess.Board) -> list[chess.Move]:
    """The legal moves that give check; the side not to move must not be in check."""
    return _moves(board, CHECKS)


def mating_moves(board: chess.Board) -> list[chess.Move]:
    """The legal moves that mate at once."""
    return _moves(board, MATES)


def standing(board: chess.Board) -> str:
    """One of "mated", "stalemated", "in check" or "free": how the side to move stands."""
    return _STANDING[judge(encode(board))]


def after(board: chess.Board, move: chess.Move) -> chess.Board:
    """The board after a legal move, clocks not kept."""
    return decode(play(encode(board), move_from_chess(move)))


def count_positions(board: chess.Board, depth: int) -> int:
    """Perft: the number of move sequences of `depth` plies."""
    if depth == 0:
        return 1
    scratch = np.empty(MOST_MOVES * (depth + 1), np.uint64)
    return int(perft.perft(encode(board), np.uint64(depth), scratch, ZERO))
