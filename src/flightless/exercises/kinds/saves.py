"""What saves him: the one move that holds against a threatened mate."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.exercises.boards import fresh
from flightless.exercises.defence import (
    LONGEST,
    defence_hints,
    holding,
    mark_defence,
    threatened_positions,
)
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.illegal import read_move, split_line
from flightless.exercises.judging import holding_replies, threat_line
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.reasons import Unreadable
from flightless.exercises.rendering import Diagram, Rendering, Space

__all__ = ["Saves"]

_LEAST_REPLIES = 3
_ENOUGH = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Saves(Exercise):
    """The side to move faces mate in `moves`; one move prevents it."""

    kind: ClassVar[str] = "save"
    moves: int

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate: after a first move that nearly works, or with the turn given to the
        defender, where one reply of several holds."""
        if material.proof is None or not material.proof.moves:
            return NotFit("the position is mated already")
        found = []
        for board, moves in (*_after_tries(material), *threatened_positions(material)):
            if board.legal_moves.count() < _LEAST_REPLIES:
                continue
            held = holding_replies(board, moves, 2)
            if len(held) == 1 and (board.is_check() or threat_line(board, moves)):
                found.append((board, moves, held[0]))
                if len(found) >= _ENOUGH:
                    break
        if not found:
            return NotFit("nowhere does exactly one reply of several hold")
        board, moves, move = chance.choice(found)
        return cls(
            position=board.fen(),
            moves=moves,
            answers=(board.san(move),),
            about=About(pattern=material.pattern, source=material.source),
        )

    def solve(self) -> tuple[str, ...]:
        """Every move after which there is no mate within `moves`."""
        board = self.board
        return tuple(board.san(move) for move in holding(board, self.moves))

    def canonical(self, answer: str) -> str | None:
        """SAN."""
        board = self.board
        move = read_move(board, answer)
        return board.san(move) if isinstance(move, chess.Move) else None

    def mark(self, answer: str) -> Mark:
        """Plays the move and looks for the mate."""
        board = self.board
        words = split_line(answer)
        if not words:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "a move"))
        move = read_move(board, words[0])
        if not isinstance(move, chess.Move):
            return Mark("unreadable", move)
        return mark_defence(board, move, self.moves, only=len(self.answers) == 1)

    def hints(self) -> tuple[Hint, ...]:
        """The pattern that threatens, the man who saves him, his square."""
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
        """A move."""
        return f"a legal move of {self.mover()}'s"

    def why_right(self, answer: str) -> str:
        """Another move that holds."""
        return f"a second solution is missing: {answer} holds too"

    def why_wrong(self, answer: str) -> str:
        """It does not hold."""
        return f"after {answer} there is a mate in {self.moves} all the same"

    def _malformed(self) -> Fault | None:
        if not 1 <= self.moves <= LONGEST:
            return Fault("moves", f"the number of moves is 1 to {LONGEST}, not {self.moves}")
        if not any(self.board.legal_moves):
            return Fault("position", "the game is over in it")
        return None

    def _unsound(self) -> Fault | None:
        board = self.board
        if not board.is_check() and not threat_line(board, self.moves):
            return Fault("position", f"nothing is threatened within {self.moves}")
        right = self.solve()
        if len(right) > 1 and len(self.answers) == 1:
            others = [a for a in right if a != self.canonical(self.answers[0])]
            return Fault("answers", f"a second solution is missing: {others[0]} holds too")
        return None


def _after_tries(material: Material) -> Iterator[tuple[chess.Board, int]]:
    """The positions after each first move that is no key, checks first."""
    proof = material.proof
    if proof is None or not proof.moves or proof.moves > LONGEST:
        return
    start = material.board
    tries = [m for m in sorted(start.legal_moves, key=chess.Move.uci) if m not in proof.keys]
    for move in sorted(tries, key=lambda m: not start.gives_check(m)):
        board = start.copy(stack=False)
        board.push(move)
        yield fresh(board), max(proof.moves - 1, 1)
