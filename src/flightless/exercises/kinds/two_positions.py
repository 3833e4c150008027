"""Two positions that differ by one man: in which does the move mate, and why not in the other?"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.errors import PositionError
from flightless.exercises.boards import fresh
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.illegal import Refused, read_move
from flightless.exercises.judging import Question, distance, holding_replies, judge
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.nomate import without_mate
from flightless.exercises.proofs import end_of, names_at, proof_of
from flightless.exercises.reasons import Unreadable, WorksIn
from flightless.exercises.rendering import Choice, Diagram, Rendering, Space
from flightless.positions import read_position

__all__ = ["TwoPositions"]

_LETTER = re.compile(r"\s*(?:the\s+)?\(?([aAbB]|left|right|first|second)\b\)?[\s,.:;]*", re.I)
_LETTERS = {"a": "A", "left": "A", "first": "A", "b": "B", "right": "B", "second": "B"}
_LONGEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPositions(Exercise):
    """`position` is A, `other` is B; `move` mates in `moves` in one of them.

    The answer is A or B, and may go on with the reply that refutes the move in the other.
    """

    kind: ClassVar[str] = "two-positions"
    other: str
    move: str
    moves: int

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate with one first move, and the same with one man moved."""
        proof = material.proof
        if proof is None or not proof.moves:
            return NotFit("the position is mated already")
        if proof.moves > _LONGEST:
            return NotFit(f"the mate takes {proof.moves} moves")
        if len(proof.keys) > 1:
            return NotFit(f"{len(proof.keys)} first moves do it")
        variants = [v for v in without_mate(material) if v.key_legal]
        if not variants:
            return NotFit("no small change takes the mate away and leaves the move")
        spoilt = variants[chance.randrange(min(len(variants), 3))].board.fen()
        first = chance.random() < 0.5
        fens = (material.fen, spoilt) if first else (spoilt, material.fen)
        return cls(
            position=fens[0],
            other=fens[1],
            move=material.board.san(proof.keys[0]).rstrip("+#"),
            moves=proof.moves,
            answers=("A" if first else "B",),
            about=About(pattern=material.pattern, source=material.source),
        )

    @property
    def boards(self) -> tuple[chess.Board, chess.Board]:
        """Both positions, A first."""
        return self.board, fresh(read_position(self.other).board)

    def solve(self) -> tuple[str, ...]:
        """The letters of the positions in which the move mates in time."""
        return tuple(
            letter for letter, board in zip("AB", self.boards, strict=True) if self._works(board)
        )

    def canonical(self, answer: str) -> str | None:
        """A or B."""
        found = _LETTER.match(answer[:40])
        return None if found is None else _LETTERS[found[1].lower()]

    def mark(self, answer: str) -> Mark:
        """The letter decides; a reply named with it is tried too."""
        said = self.canonical(answer)
        if said is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "A or B"))
        works = self.answers[0]
        fails = "B" if works == "A" else "A"
        good, bad = self.boards if works == "A" else self.boards[::-1]
        move = self._move(good)
        why = judge(Question(bad, self.moves), self._move(bad)).reason
        reply = self._reply(bad, answer)
        if reply is not None and not isinstance(reply, chess.Move):
            return Mark("unreadable", reply)
        holds = None if reply is None else self._holds(bad, reply)
        reason = WorksIn(works, fails, said, good.fen(), move, self.moves, why, reply, holds)
        if said != works:
            return Mark("wrong", reason)
        return Mark("partly" if holds is False else "right", reason)

    def hints(self) -> tuple[Hint, ...]:
        """The pattern, then the square where the positions differ."""
        good = self.boards[0] if self.answers[0] == "A" else self.boards[1]
        ladder = []
        proof = proof_of(good.fen(), self.moves)
        found = names_at(good.fen(), proof.line)
        if found:
            ladder.append(Hint("pattern", found[0].pattern.description, found[0].pattern.known_as))
        differing = self._differ()
        if differing:
            ladder.append(Hint("square", square=differing[0], role="look"))
        return tuple(ladder)

    def rendering(self) -> Rendering:
        """Two diagrams, two boxes, lines for the reason."""
        a, b = (board.fen() for board in self.boards)
        space = Space("choices", 2, (Choice("A", word="A"), Choice("B", word="B")))
        good = a if self.answers[0] == "A" else b
        line = proof_of(good, self.moves).line
        diagrams = (Diagram(a, letter="A"), Diagram(b, letter="B"))
        return Rendering(diagrams, space, line, good, end_of(good, line).fen(), mated=True)

    def expected(self) -> str:
        """A letter."""
        return "A or B"

    def why_right(self, answer: str) -> str:
        """The move mates there too."""
        return f"in {answer}, {self.move} mates in {self.moves}"

    def why_wrong(self, answer: str) -> str:
        """It does not mate there."""
        return f"in {answer}, {self.move} does not mate in {self.moves}"

    def _move(self, board: chess.Board) -> chess.Move:
        move = read_move(board, self.move)
        if not isinstance(move, chess.Move):
            raise ValueError(f"{self.move} is not a legal move in {board.fen()}")
        return move

    def _works(self, board: chess.Board) -> bool:
        after = board.copy(stack=False)
        after.push(self._move(board))
        return distance(after, self.moves)[0] is not None

    def _reply(self, bad: chess.Board, answer: str) -> chess.Move | Refused | None:
        """The defence that the pupil names after the letter, read after the move."""
        found = _LETTER.match(answer[:40])
        assert found is not None
        rest = re.sub(
            r"^(?:because|since|for)?\s*(?:in\s+[ab]\b)?[\s,:]*",
            "",
            answer[found.end() :],
            flags=re.I,
        )
        if not re.search(r"[a-h][1-8]|[0O]-[0O]", rest):
            return None
        after = bad.copy(stack=False)
        after.push(self._move(bad))
        texts = [
            t
            for t in re.findall(r"[KQRBNDTLSa-h0O][A-Za-z0-9=\-+#]*", rest)
            if re.search(r"\d|-", t)
        ]
        return read_move(after, texts[-1]) if texts else None

    def _holds(self, bad: chess.Board, reply: chess.Move) -> bool:
        after = bad.copy(stack=False)
        after.push(self._move(bad))
        return reply in holding_replies(after, self.moves - 1, 300)

    def _differ(self) -> tuple[chess.Square, ...]:
        a, b = self.boards
        return tuple(s for s in chess.SQUARES if a.piece_at(s) != b.piece_at(s))

    def _malformed(self) -> Fault | None:
        try:
            other = read_position(self.other).board
        except PositionError as error:
            return Fault("other", str(error))
        if other.turn != self.board.turn:
            return Fault("other", "the same side must be to move in both positions")
        if not 1 <= self.moves <= _LONGEST:
            return Fault("moves", f"the number of moves is 1 to {_LONGEST}, not {self.moves}")
        for field, board in (("position", self.board), ("other", other)):
            if not isinstance(read_move(board, self.move), chess.Move):
                return Fault("move", f"{self.move[:20]!r} is not legal in {field}")
        if not self._differ():
            return Fault("other", "the two positions are the same")
        return None

    def _unsound(self) -> Fault | None:
        right = self.solve()
        if not right:
            return Fault("move", f"{self.move} mates in {self.moves} in neither position")
        if len(right) > 1:
            return Fault("move", f"{self.move} mates in {self.moves} in both positions")
        return None
