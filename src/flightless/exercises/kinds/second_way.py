"""Find the second way: one first move is given, and another mates as fast."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import ClassVar, Self

import chess

from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.illegal import read_move, split_line
from flightless.exercises.kinds.find_mate import find_mate_hints
from flightless.exercises.lines import mark_line
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.proofs import proof_of, shown_line
from flightless.exercises.reasons import AsGiven, Mates
from flightless.exercises.rendering import Diagram, Rendering, Space

__all__ = ["SecondWay"]

_LONGEST = 4
_MOST_WAYS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondWay(Exercise):
    """The side to move mates in `moves`, for instance by `given`; find another first move."""

    kind: ClassVar[str] = "second-way"
    given: str
    moves: int

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate with two or three first moves."""
        proof = material.proof
        if proof is None or not proof.moves:
            return NotFit("the position is mated already")
        if not 2 <= len(proof.keys) <= _MOST_WAYS or proof.moves > _LONGEST:
            return NotFit(f"{len(proof.keys)} first moves mate in {proof.moves}")
        board = material.board
        if len({(key.from_square, key.to_square) for key in proof.keys}) < len(proof.keys):
            return NotFit("two of the first moves are the same promotion to another man")
        given = chance.choice(proof.keys)
        return cls(
            position=material.fen,
            given=board.san(given),
            moves=proof.moves,
            answers=tuple(board.san(key) for key in proof.keys if key != given),
            about=About(pattern=material.pattern, source=material.source),
        )

    def solve(self) -> tuple[str, ...]:
        """Every other first move that mates in `moves`."""
        board = self.board
        proof = proof_of(board.fen(), self.moves)
        if proof.verdict != "mate" or proof.moves != self.moves:
            return ()
        given = self._given()
        return tuple(board.san(key) for key in proof.keys if key != given)

    def canonical(self, answer: str) -> str | None:
        """SAN."""
        board = self.board
        move = read_move(board, answer)
        return board.san(move) if isinstance(move, chess.Move) else None

    def mark(self, answer: str) -> Mark:
        """As a mate in so many moves, but not by the way that is given."""
        board = self.board
        words = split_line(answer)
        first = read_move(board, words[0]) if words else None
        if first == self._given():
            return Mark("wrong", AsGiven(board.fen(), self._given()))
        keys = tuple(board.parse_san(a) for a in self.answers)
        mark = mark_line(board, self.moves, keys, answer)
        if isinstance(mark.reason, Mates):
            reason = replace(mark.reason, ways=len(keys) + 1, another=False)
            return Mark(mark.verdict, reason)
        return mark

    def hints(self) -> tuple[Hint, ...]:
        """The man who moves first and his square; the pattern may be another."""
        board = self.board
        return find_mate_hints(board, self.moves, board.parse_san(self.answers[0]))[-2:]

    def rendering(self) -> Rendering:
        """One diagram and lines."""
        board = self.board
        fen = board.fen()
        line = self._line(board.parse_san(self.answers[0]))
        end = chess.Board(fen)
        for move in line:
            end.push(move)
        space = Space("lines", min(self.moves, 3) + 1)
        return Rendering((Diagram(fen),), space, line, fen, end.fen(), mated=True)

    def expected(self) -> str:
        """A move."""
        return f"a legal move of {self.mover()}'s"

    def why_right(self, answer: str) -> str:
        """Shows the way that is missing."""
        board = self.board
        line = self._line(board.parse_san(answer))
        return f"one more solution is missing: {shown_line(board, line)}"

    def why_wrong(self, answer: str) -> str:
        """It does not mate, or is the given one."""
        return f"{answer} is given, or does not mate in {self.moves}"

    def _given(self) -> chess.Move:
        move = read_move(self.board, self.given)
        assert isinstance(move, chess.Move)
        return move

    def _line(self, key: chess.Move) -> tuple[chess.Move, ...]:
        after = self.board
        after.push(key)
        if after.is_checkmate():
            return (key,)
        return (key, *proof_of(after.fen(), max(self.moves - 1, 1)).line)

    def _malformed(self) -> Fault | None:
        if not 1 <= self.moves <= _LONGEST:
            return Fault("moves", f"the number of moves is 1 to {_LONGEST}, not {self.moves}")
        if not isinstance(read_move(self.board, self.given), chess.Move):
            return Fault("given", f"{self.given[:20]!r} is not a legal move in the position")
        return None

    def _unsound(self) -> Fault | None:
        board = self.board
        proof = proof_of(board.fen(), self.moves)
        if proof.verdict == "mate" and proof.moves != self.moves:
            shorter = shown_line(board, proof.line)
            return Fault("moves", f"there is a shorter mate, in {proof.moves}: {shorter}")
        if proof.verdict != "mate" or self._given() not in proof.keys:
            return Fault("given", f"{self.given} does not mate in {self.moves}")
        return None
