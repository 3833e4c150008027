"""Place the supporter so that it is mate: every square that does it is right."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.cases.case import Case, Man
from flightless.cases.changes import is_mate, removed
from flightless.exercises.boards import fresh
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.placing import contact_checker, kinds_of, men_fault, place_hints
from flightless.exercises.reasons import CannotPlace, Unreadable
from flightless.exercises.rendering import Diagram, Rendering, Space
from flightless.exercises.texts import letter_of, placed, read_men
from flightless.exercises.trials import (
    cannot_place,
    gives_mate,
    mating_squares,
    trial_of,
    with_men,
)

__all__ = ["Supporter"]

_MOST_ANSWERS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Supporter(Exercise):
    """The checker hangs: put one of `men` (letters) where he makes it mate."""

    kind: ClassVar[str] = "supporter"
    men: tuple[str, ...]

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate whose checker is protected by one man, who is taken off."""
        case = material.case
        supporter = _supporter(case)
        if supporter is None:
            return NotFit("no one man alone protects a checker next to the king")
        board = fresh(removed(case.board, supporter).applied(case.board))
        if board.was_into_check():
            return NotFit("without the supporter the mating side's own king is in check")
        kind = case.board.piece_type_at(supporter)
        assert kind is not None
        more = [k for k in (chess.BISHOP, chess.KNIGHT, chess.ROOK) if k != kind]
        for kinds in ((kind, chance.choice(more)), (kind,)):
            answers = tuple(placed(k, s) for k, s in mating_squares(board, sorted(kinds)))
            if len(answers) <= _MOST_ANSWERS:
                return cls(
                    position=board.fen(),
                    men=tuple(letter_of(k) for k in sorted(kinds)),
                    answers=answers,
                    about=About(pattern=material.pattern, source=material.source),
                )
        return NotFit(f"more than {_MOST_ANSWERS} squares would do")

    def solve(self) -> tuple[str, ...]:
        """Every man of the offered kinds on every square that makes it mate."""
        kinds = sorted(kinds_of(self.men))
        return tuple(placed(k, s) for k, s in mating_squares(self.board, kinds))

    def canonical(self, answer: str) -> str | None:
        """'Bf6'."""
        man = self._read(answer)
        return None if man is None else placed(man.piece.piece_type, man.square)

    def mark(self, answer: str) -> Mark:
        """Puts the man there and looks."""
        man = self._read(answer)
        if man is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "a man on a square"))
        if letter_of(man.piece.piece_type) not in self.men:
            return Mark("unreadable", CannotPlace(man, "not offered"))
        board = self.board
        refused = cannot_place(board, man)
        if refused is not None:
            return Mark("unreadable", refused)
        if is_mate(with_men(board, [man])):
            return Mark("right", gives_mate(board, [man], len(self.answers) - 1))
        return Mark("wrong", trial_of(board, [man], contact_checker(board)))

    def hints(self) -> tuple[Hint, ...]:
        """The pattern, the man who hangs, where the supporter might stand."""
        return place_hints(self.board, self._first())

    def rendering(self) -> Rendering:
        """One diagram to draw into, with the men to choose from."""
        board = self.board
        men = tuple(chess.Piece(k, not board.turn) for k in sorted(kinds_of(self.men)))
        final = with_men(board, self._first()).fen()
        diagram = Diagram(board.fen(), side_mark=False)
        return Rendering((diagram,), Space("men", 1, men=men), final=final, mated=True)

    def expected(self) -> str:
        """A man on a square."""
        return "one of the men on a square, like 'Bf6'"

    def why_right(self, answer: str) -> str:
        """One more square that does it."""
        return f"a second answer is missing: {answer} makes it mate as well"

    def why_wrong(self, answer: str) -> str:
        """Shows the answer to the check."""
        man = self._read(answer)
        assert man is not None
        after = with_men(self.board, [man])
        moves = [after.san(m) for m in after.legal_moves]
        return f"with {answer} it is not mate{f': {moves[0]}' if moves else ''}"

    def _first(self) -> list[Man]:
        man = self._read(self.answers[0])
        return [] if man is None else [man]

    def _read(self, answer: str) -> Man | None:
        named = read_men(answer)
        if named is None or len(named) != 1 or named[0].square is None:
            return None
        kinds = kinds_of(self.men)
        kind = named[0].kind or (kinds[0] if len(kinds) == 1 else None)
        if kind is None:
            return None
        return Man(named[0].square, chess.Piece(kind, not self.board.turn))

    def _malformed(self) -> Fault | None:
        return men_fault(self.men, 1) or _not_over(self.board)


def _not_over(board: chess.Board) -> Fault | None:
    return Fault("position", "it is mate already") if board.is_checkmate() else None


def _supporter(case: Case) -> chess.Square | None:
    """The one man, no king, who alone protects the only checker next to the king."""
    if len(case.checkers) != 1:
        return None
    (checker,) = case.checkers
    protectors = case.checker_protectors[checker]
    if chess.square_distance(checker, case.king) != 1 or len(protectors) != 1:
        return None
    (supporter,) = protectors
    return supporter if supporter in case.needed else None
