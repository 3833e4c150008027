"""Proofs and cases of positions, remembered for as long as a set is being marked.

The same position is proved again for its hints, its key and each answer; a small memory makes
that cost nothing.  What is remembered cannot change an answer.
"""

from __future__ import annotations

from functools import lru_cache

import chess

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.exercises.material import BUDGET
from flightless.patterns.recognise import Name, names
from flightless.prove.proof import Proof

__all__ = ["case_at", "case_at_end", "end_of", "names_at", "proof_of", "shown_line"]

_CHECK_BUDGET = 10 * BUDGET


@lru_cache(maxsize=256)
def proof_of(fen: str, within: int) -> Proof:
    """The proof of a position that is not over."""
    from flightless.prove import prove

    return prove(chess.Board(fen), within, _CHECK_BUDGET)


def end_of(fen: str, line: tuple[chess.Move, ...]) -> chess.Board:
    """The board after a line, with its moves."""
    board = chess.Board(fen)
    for move in line:
        board.push(move)
    return board


@lru_cache(maxsize=256)
def case_at_end(fen: str, line: tuple[chess.Move, ...]) -> Case:
    """The case of the mate at the end of a line."""
    return case_of(end_of(fen, line))


def case_at(fen: str) -> Case:
    """The case of a mated position."""
    return case_at_end(fen, ())


@lru_cache(maxsize=256)
def names_at(fen: str, line: tuple[chess.Move, ...] = ()) -> tuple[Name, ...]:
    """The names of the mate at the end of a line."""
    return names(case_at_end(fen, line))


def shown_line(board: chess.Board, line: tuple[chess.Move, ...]) -> str:
    """A line in SAN with move numbers, for refusals."""
    return board.variation_san(line)
