"""Defend: which pawn move gives the king luft in time?"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.exercises.defence import (
    LONGEST,
    best_parry,
    defence_hints,
    holding,
    mark_defence,
    threatened_positions,
)
from flightless.exercises.escapes import man_on
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.illegal import read_move, split_line
from flightless.exercises.judging import threat_line
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.reasons import NotPawn, Unreadable
from flightless.exercises.rendering import Diagram, Rendering, Space

__all__ = ["GiveLuft"]

_LEAST_PAWN_MOVES = 3
_MOST_RIGHT = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class GiveLuft(Exercise):
    """The side to move faces mate in `moves`; which pawn move prevents it?"""

    kind: ClassVar[str] = "luft"
    moves: int

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate, with the turn given to the defender, if one or two pawn moves hold and
        the king then has the square that the pawn left."""
        del chance
        if material.proof is None:
            return NotFit("the position is mated already")
        for board, moves in threatened_positions(material):
            if len(_pawn_moves(board)) < _LEAST_PAWN_MOVES:
                continue
            found = _holding_pawns(board, moves)
            if 1 <= len(found) <= _MOST_RIGHT and all(_is_luft(board, m, moves) for m in found):
                return cls(
                    position=board.fen(),
                    moves=moves,
                    answers=tuple(board.san(move) for move in found),
                    about=About(pattern=material.pattern, source=material.source),
                )
        return NotFit("no pawn move, or too many, would give the king a square in time")

    def solve(self) -> tuple[str, ...]:
        """Every pawn move after which there is no mate within `moves`."""
        board = self.board
        return tuple(board.san(move) for move in _holding_pawns(board, self.moves))

    def canonical(self, answer: str) -> str | None:
        """SAN."""
        board = self.board
        move = read_move(board, answer)
        return board.san(move) if isinstance(move, chess.Move) else None

    def mark(self, answer: str) -> Mark:
        """Plays the pawn move and looks for the mate."""
        board = self.board
        words = split_line(answer)
        if not words:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "a move"))
        move = read_move(board, words[0])
        if not isinstance(move, chess.Move):
            return Mark("unreadable", move)
        man = man_on(board, move.from_square)
        if man.piece.piece_type != chess.PAWN:
            return Mark("unreadable", NotPawn(man))
        return mark_defence(board, move, self.moves, only=len(self.answers) == 1)

    def hints(self) -> tuple[Hint, ...]:
        """The pattern that threatens, the pawn, its square."""
        board = self.board
        return defence_hints(board, self.moves, board.parse_san(self.answers[0]))

    def rendering(self) -> Rendering:
        """One diagram and two lines."""
        board = self.board
        move = board.parse_san(self.answers[0])
        after = board.copy(stack=False)
        after.push(move)
        fen = board.fen()
        return Rendering((Diagram(fen),), Space("lines", 2), (move,), fen, after.fen())

    def expected(self) -> str:
        """A pawn move."""
        return f"a legal move of one of {self.mover()}'s pawns"

    def why_right(self, answer: str) -> str:
        """Another pawn move that holds."""
        return f"a second solution is missing: {answer} holds too"

    def why_wrong(self, answer: str) -> str:
        """It does not hold."""
        return f"{answer} is no pawn move that prevents mate in {self.moves}"

    def _malformed(self) -> Fault | None:
        if not 1 <= self.moves <= LONGEST:
            return Fault("moves", f"the number of moves is 1 to {LONGEST}, not {self.moves}")
        if not _pawn_moves(self.board):
            return Fault("position", "no pawn of the side to move can move")
        return None

    def _unsound(self) -> Fault | None:
        board = self.board
        if board.is_check() or not threat_line(board, self.moves):
            return Fault("position", f"nothing is threatened within {self.moves}")
        return None


def _pawn_moves(board: chess.Board) -> list[chess.Move]:
    return list(board.generate_legal_moves(from_mask=board.pawns))


def _holding_pawns(board: chess.Board, moves: int) -> list[chess.Move]:
    pawns = set(_pawn_moves(board))
    return [move for move in holding(board, moves) if move in pawns]


def _is_luft(board: chess.Board, move: chess.Move, moves: int) -> bool:
    """Whether the king then goes to the square that the pawn has left."""
    parry = best_parry(board, move, moves)
    if parry is None or parry.how != "flight" or parry.answer is None:
        return False
    return parry.answer.to_square == move.from_square
