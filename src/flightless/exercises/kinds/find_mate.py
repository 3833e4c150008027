"""Find the mate: in one to five moves, or say that there is none."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.exercises.escapes import man_on, nearest_check
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.illegal import read_move
from flightless.exercises.judging import Question, judge
from flightless.exercises.lines import mark_line
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.nomate import without_mate
from flightless.exercises.proofs import end_of, names_at, proof_of, shown_line
from flightless.exercises.reasons import NoneThere, Reason, ThereIsOne
from flightless.exercises.rendering import Diagram, Rendering, Space
from flightless.exercises.texts import words_of

__all__ = ["NONE", "FindMate", "find_mate_hints"]

NONE = "none"
"""The answer that there is no mate."""

_NONE_WORDS = (
    "none",
    "no mate",
    "no",
    "there is none",
    "there is no mate",
    "not mate",
    "-",
    "–",
    "keins",
    "keines",
)
_LONGEST = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class FindMate(Exercise):
    """The side to move mates in `moves`; `perhaps` there is no mate, and then the right answer
    is 'none'.  An answer is a first move or a line as far as the pupil wrote it."""

    kind: ClassVar[str] = "find-mate"
    moves: int
    perhaps: bool = False

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate with one first move."""
        del chance
        proof = material.proof
        if proof is None or not proof.moves:
            return NotFit("the position is mated already")
        if not 1 <= proof.moves <= _LONGEST:
            return NotFit(f"the mate takes {proof.moves} moves")
        if len(proof.keys) > 1:
            return NotFit(f"{len(proof.keys)} first moves do it")
        return cls(
            position=material.fen,
            answers=(material.board.san(proof.keys[0]),),
            moves=proof.moves,
            about=About(pattern=material.pattern, source=material.source),
        )

    @classmethod
    def generate_none(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate, with one man moved so that there is none: the right answer is 'none'."""
        if material.proof is None or not material.proof.moves:
            return NotFit("the position is mated already")
        if material.proof.moves > 3:
            return NotFit("a mate of more than three moves is not worth denying")
        variants = without_mate(material)
        if not variants:
            return NotFit("no small change takes the mate away")
        chosen = variants[chance.randrange(min(len(variants), 4))]
        return cls(
            position=chosen.board.fen(),
            answers=(NONE,),
            moves=material.proof.moves,
            perhaps=True,
            about=About(pattern=material.pattern, source=material.source, role="no mate"),
        )

    def solve(self) -> tuple[str, ...]:
        """Every first move that mates in `moves`, as SAN; 'none' if there is none."""
        proof = proof_of(self.board.fen(), self.moves)
        if proof.verdict != "mate" or proof.moves != self.moves:
            return (NONE,)
        return tuple(self.board.san(key) for key in proof.keys)

    def canonical(self, answer: str) -> str | None:
        """SAN, or 'none'."""
        if words_of(answer) in _NONE_WORDS:
            return NONE
        board = self.board
        move = read_move(board, answer)
        return board.san(move) if isinstance(move, chess.Move) else None

    def mark(self, answer: str) -> Mark:
        """Move by move; the first one that is not right decides."""
        none = self.answers == (NONE,)
        if words_of(answer) in _NONE_WORDS:
            if none:
                return Mark("right", NoneThere(self.moves, self._nearest()))
            return Mark("wrong", ThereIsOne(self.board.turn, self.moves))
        return mark_line(self.board, self.moves, () if none else self.keys(), answer)

    def keys(self) -> tuple[chess.Move, ...]:
        """The right first moves."""
        board = self.board
        moves = (read_move(board, answer) for answer in self.answers if answer != NONE)
        return tuple(move for move in moves if isinstance(move, chess.Move))

    def _nearest(self) -> Reason | None:
        board = self.board
        found = nearest_check(board)
        if found is None:
            return None
        return judge(Question(board, self.moves), found[0]).reason

    def hints(self) -> tuple[Hint, ...]:
        """Pattern, the man who moves first, his square."""
        if self.answers == (NONE,):
            return (Hint("none"),)
        return find_mate_hints(self.board, self.moves, self.keys()[0])

    def rendering(self) -> Rendering:
        """One diagram and lines for the moves."""
        fen = self.board.fen()
        space = Space("lines", lines=min(self.moves, 3) + 1)
        if self.answers == (NONE,):
            return Rendering((Diagram(fen),), space)
        line = proof_of(fen, self.moves).line
        return Rendering((Diagram(fen),), space, line, fen, end_of(fen, line).fen(), mated=True)

    def expected(self) -> str:
        """A move or 'none'."""
        return f"a legal move of {self.mover()}'s or 'none'"

    def why_right(self, answer: str) -> str:
        """Shows the solution that is missing."""
        if answer == NONE:
            return f"there is no mate in {self.moves}"
        return f"a second solution is missing: {self._solution(answer)}"

    def _solution(self, answer: str) -> str:
        """A first move and how it goes on against the longest defence."""
        board = self.board
        move = board.parse_san(answer)
        after = board.copy(stack=False)
        after.push(move)
        rest = () if after.is_checkmate() else proof_of(after.fen(), max(self.moves - 1, 1)).line
        return shown_line(board, (move, *rest))

    def instead(self, missing: Sequence[str]) -> str:
        """The line of the first, or that there is none."""
        if missing[0] == NONE:
            return f"there is no mate in {self.moves}"
        return f"right is {self._solution(missing[0])}"

    def why_wrong(self, answer: str) -> str:
        """Shows what refutes it, or the mate that is there."""
        board = self.board
        if self.canonical(answer) == NONE:
            line = proof_of(board.fen(), self.moves).line
            return f"there is a mate: {shown_line(board, line)}"
        return f"{answer} does not mate in {self.moves}"

    def _malformed(self) -> Fault | None:
        if not 1 <= self.moves <= _LONGEST:
            return Fault("moves", f"the number of moves is 1 to {_LONGEST}, not {self.moves}")
        if not any(self.board.legal_moves):
            return Fault("position", "the game is over in it")
        if NONE in (self.canonical(a) for a in self.answers) and len(self.answers) > 1:
            return Fault("answers", "'none' stands alone")
        return None

    def _unsound(self) -> Fault | None:
        proof = proof_of(self.board.fen(), self.moves)
        if proof.verdict == "mate" and proof.moves is not None and proof.moves < self.moves:
            shorter = shown_line(self.board, proof.line)
            return Fault("moves", f"there is a shorter mate, in {proof.moves}: {shorter}")
        if proof.verdict == "undecided" or not proof.keys_complete:
            return Fault("position", f"not decided within {proof.budget:,} positions")
        return None


def find_mate_hints(board: chess.Board, moves: int, key: chess.Move) -> tuple[Hint, ...]:
    """The ladder for a move that mates: the pattern it ends in, the man who moves, his target."""
    fen = board.fen()
    proof = proof_of(fen, moves)
    found = names_at(fen, proof.line) if proof.line else ()
    ladder: list[Hint] = []
    if found:
        pattern = found[0].pattern
        ladder.append(Hint("pattern", pattern.description, pattern.known_as))
    ladder.append(Hint("man", man=man_on(board, key.from_square), role="moves"))
    ladder.append(Hint("square", square=key.to_square, role="target"))
    return tuple(ladder)
