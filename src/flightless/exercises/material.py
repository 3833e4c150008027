"""What exercises are made from: a position with its proof, the case of the mate and its names.

Proves and names once, so that every kind of exercise can be tried on the same material.
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.errors import PositionError
from flightless.exercises.boards import fresh
from flightless.exercises.turns import Turned
from flightless.patterns.recognise import Name, names
from flightless.prove.proof import Proof

__all__ = ["BUDGET", "Material", "NotFit", "material_of"]

BUDGET = 2_000_000
"""Nodes for proving one position: a second at most.  What needs more is no exercise here."""


@dataclass(frozen=True, slots=True)
class NotFit:
    """Why no exercise of a kind can be made: a clause, for a report and not for a pupil."""

    reason: str


@dataclass(frozen=True, slots=True)
class Material:
    """A position that ends in mate.

    With a `proof` the side to move in `fen` mates in `proof.moves`, and `case` is of the
    position at the end of `proof.line`; without one `fen` is that mated position.  `names` are
    the patterns that fit the case, `source` is what is printed, `game` tells games apart,
    `turned` says what was exchanged or mirrored against the source.
    """

    fen: str
    proof: Proof | None
    case: Case
    names: tuple[Name, ...]
    source: str = ""
    game: str = ""
    turned: Turned = ""

    @property
    def board(self) -> chess.Board:
        """A fresh board of `fen`."""
        return chess.Board(self.fen)

    @property
    def pattern(self) -> str:
        """The most specific name, or empty."""
        return self.names[0].name if self.names else ""


def material_of(
    board: chess.Board, source: str = "", game: str = "", within: int = 5, budget: int = BUDGET
) -> Material | NotFit:
    """The material that a position gives.

    A position in which the side to move is mated in n by force is taken after its longest
    defence.  Not fit: no mate within `within`, not decided within `budget` nodes, or a second
    solution that may have been missed.  Never raises for a legal position.
    """
    if board.is_checkmate():
        try:
            case = case_of(board)
        except PositionError as error:
            return NotFit(str(error))
        return Material(fresh(board).fen(), None, case, names(case), source, game)
    from flightless.prove import prove

    board = fresh(board)
    try:
        proof = prove(board, within, budget)
        if proof.verdict == "mated" and proof.line:
            board.push(proof.line[0])
            board = fresh(board)
            proof = prove(board, within, budget)
    except PositionError as error:
        return NotFit(str(error))
    if proof.verdict != "mate":
        return NotFit(f"no mate for the side to move is proved within {within}: {board.fen()}")
    if not proof.keys_complete:
        return NotFit(f"not all first moves could be looked at within {budget:,} nodes")
    end = board.copy(stack=False)
    for move in proof.line:
        end.push(move)
    case = case_of(end)
    return Material(board.fen(), proof, case, names(case), source, game)
