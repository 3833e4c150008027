"""Say the threat of a quiet move."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.errors import PositionError
from flightless.exercises.escapes import man_on
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.illegal import read_move
from flightless.exercises.lines import mark_line
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.proofs import end_of, names_at, proof_of, shown_line
from flightless.exercises.reasons import IsThreat, Mates
from flightless.exercises.rendering import Diagram, Rendering, Space
from flightless.exercises.texts import words_of

__all__ = ["SayThreat"]

_LONGEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SayThreat(Exercise):
    """`move` is played in the position and gives no check: what does it threaten?

    `moves` is the length of the threatened mate, counted from the threat; `answers` are the
    moves that carry it out.
    """

    kind: ClassVar[str] = "threat"
    move: str
    moves: int

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate whose first move is quiet and threatens."""
        del chance
        proof = material.proof
        if proof is None or not proof.moves:
            return NotFit("the position is mated already")
        board = material.board
        for key in proof.keys:
            threat = proof.threats.get(key)
            if threat is not None and threat.moves <= _LONGEST:
                passed = _passed(board, key)
                return cls(
                    position=material.fen,
                    move=board.san(key),
                    moves=threat.moves,
                    answers=tuple(passed.san(move) for move in threat.keys),
                    about=About(pattern=material.pattern, source=material.source),
                )
        return NotFit("no first move is quiet and threatens mate")

    @property
    def passed(self) -> chess.Board:
        """The position after the move and a pass of the defender."""
        return _passed(self.board, self._quiet())

    def solve(self) -> tuple[str, ...]:
        """Every move that mates in the threatened number of moves."""
        board = self.passed
        proof = proof_of(board.fen(), self.moves)
        if proof.verdict != "mate" or proof.moves != self.moves:
            return ()
        return tuple(board.san(key) for key in proof.keys)

    def canonical(self, answer: str) -> str | None:
        """SAN."""
        board = self.passed
        move = read_move(board, answer)
        return board.san(move) if isinstance(move, chess.Move) else None

    def mark(self, answer: str) -> Mark:
        """As a mate in the passed position; the threat right away, not after other moves."""
        board = self.passed
        text = words_of(answer).removesuffix("mate")
        keys = tuple(
            m for m in (read_move(board, a) for a in self.answers) if isinstance(m, chess.Move)
        )
        mark = mark_line(board, self.moves, keys, answer if text else "")
        if mark.right and isinstance(mark.reason, Mates):
            played = mark.reason.played
            rest = (*played[1:], *mark.reason.rest)
            fen = self.board.fen()
            reason = IsThreat(fen, self._quiet(), played[0], rest, self.moves)
            return Mark("right", reason)
        return mark

    def hints(self) -> tuple[Hint, ...]:
        """The pattern of the threatened mate, the man who carries it out, his square."""
        board = self.passed
        proof = proof_of(board.fen(), self.moves)
        found = names_at(board.fen(), proof.line)
        ladder = []
        if found:
            ladder.append(Hint("pattern", found[0].pattern.description, found[0].pattern.known_as))
        key = board.parse_san(self.answers[0])
        ladder.append(Hint("man", man=man_on(board, key.from_square), role="moves"))
        ladder.append(Hint("square", square=key.to_square, role="target"))
        return tuple(ladder)

    def rendering(self) -> Rendering:
        """The position before the quiet move, and a line."""
        fen = self.board.fen()
        passed = self.passed.fen()
        line = proof_of(passed, self.moves).line
        return Rendering(
            (Diagram(fen),), Space("lines", 2), line, passed, end_of(passed, line).fen(), mated=True
        )

    def expected(self) -> str:
        """A move."""
        return "a move that is legal if the other side passes"

    def why_right(self, answer: str) -> str:
        """Shows the other threat."""
        board = self.passed
        return f"a second solution is missing: {shown_line(board, (board.parse_san(answer),))}"

    def why_wrong(self, answer: str) -> str:
        """It is no threat."""
        return f"{answer} does not mate in {self.moves}"

    def _quiet(self) -> chess.Move:
        move = read_move(self.board, self.move)
        assert isinstance(move, chess.Move)
        return move

    def _malformed(self) -> Fault | None:
        board = self.board
        move = read_move(board, self.move)
        if not isinstance(move, chess.Move):
            return Fault("move", f"{self.move[:20]!r} is not a legal move in the position")
        if not 1 <= self.moves <= _LONGEST:
            return Fault("moves", f"the number of moves is 1 to {_LONGEST}, not {self.moves}")
        if board.gives_check(move):
            return Fault("move", f"{self.move} gives check, so that nobody can pass")
        after = board.copy(stack=False)
        after.push(move)
        if not any(after.legal_moves):
            return Fault("move", f"{self.move} is stalemate")
        return None

    def _unsound(self) -> Fault | None:
        board = self.passed
        try:
            proof = proof_of(board.fen(), self.moves)
        except PositionError as error:
            return Fault("move", str(error))
        if proof.verdict != "mate":
            return Fault("moves", f"{self.move} threatens no mate in {self.moves}")
        if proof.moves != self.moves:
            shorter = shown_line(board, proof.line)
            return Fault("moves", f"there is a shorter mate, in {proof.moves}: {shorter}")
        return None


def _passed(board: chess.Board, move: chess.Move) -> chess.Board:
    """The board after `move` and a null move, its number counted on."""
    after = board.copy(stack=False)
    after.push(move)
    after.push(chess.Move.null())
    return after.copy(stack=False)
