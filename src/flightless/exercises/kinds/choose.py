"""Choose the man that does it: a square is given, and which man on it makes it mate?"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.cases.case import Man
from flightless.cases.changes import is_mate, removed
from flightless.exercises.boards import fresh
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.placing import contact_checker, kinds_of, men_fault, place_hints
from flightless.exercises.reasons import Unreadable, WrongChoice
from flightless.exercises.rendering import Choice, Diagram, Rendering, Space
from flightless.exercises.texts import kind_of, letter_of
from flightless.exercises.trials import gives_mate, trial_of, with_men

__all__ = ["ChooseMan"]

_MOST_RIGHT = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseMan(Exercise):
    """Which of `men` (letters), put on `square`, makes it mate?  Any that does is right."""

    kind: ClassVar[str] = "choose"
    square: str
    men: tuple[str, ...]

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate, with a needed man of the mating side taken off."""
        case = material.case
        squares = [s for s in case.needed if case.board.color_at(s) == case.mating]
        chance.shuffle(squares)
        for square in squares:
            left = fresh(removed(case.board, square).applied(case.board))
            kinds = _kinds_on(square)
            right = [k for k in kinds if _is_mate_with(left, k, square)]
            if 1 <= len(right) <= _MOST_RIGHT and not left.was_into_check():
                return cls(
                    position=left.fen(),
                    square=chess.square_name(square),
                    men=tuple(letter_of(k) for k in kinds),
                    answers=tuple(letter_of(k) for k in right),
                    about=About(pattern=material.pattern, source=material.source),
                )
        return NotFit("nearly every man would do on each square")

    @property
    def at(self) -> chess.Square:
        """The square."""
        return chess.parse_square(self.square)

    def solve(self) -> tuple[str, ...]:
        """The letters of the men that do it, as `men` has them."""
        board = self.board
        return tuple(
            letter
            for letter, kind in zip(self.men, kinds_of(self.men), strict=True)
            if _is_mate_with(board, kind, self.at)
        )

    def canonical(self, answer: str) -> str | None:
        """The letter."""
        kind = kind_of(answer)
        letter = None if kind is None else letter_of(kind)
        return letter if letter in self.men else None

    def mark(self, answer: str) -> Mark:
        """Puts the man there and looks."""
        kind = kind_of(answer.strip().removesuffix(self.square).strip() or answer)
        if kind is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "a kind of man"))
        if letter_of(kind) not in self.men:
            return Mark("unreadable", WrongChoice(letter_of(kind), self.men))
        board = self.board
        man = Man(self.at, chess.Piece(kind, not board.turn))
        if is_mate(with_men(board, [man])):
            return Mark("right", gives_mate(board, [man], len(self.answers) - 1))
        return Mark("wrong", trial_of(board, [man], contact_checker(board)))

    def hints(self) -> tuple[Hint, ...]:
        """The pattern, and the man or king to look at; the square is given."""
        kind = kind_of(self.answers[0])
        assert kind is not None
        man = Man(self.at, chess.Piece(kind, not self.board.turn))
        return place_hints(self.board, [man])[:-1]

    def rendering(self) -> Rendering:
        """One diagram with the square marked, and a box for each man."""
        board = self.board
        kinds = kinds_of(self.men)
        choices = tuple(Choice(m, kind=k) for m, k in zip(self.men, kinds, strict=True))
        first = kind_of(self.answers[0])
        assert first is not None
        final = with_men(board, [Man(self.at, chess.Piece(first, not board.turn))])
        diagram = Diagram(board.fen(), (("changed", (self.at,)),), side_mark=False)
        space = Space("choices", 1, choices)
        return Rendering((diagram,), space, final=final.fen(), mated=True)

    def expected(self) -> str:
        """A letter."""
        return f"one of {' '.join(self.men)}"

    def why_right(self, answer: str) -> str:
        """One more man that does it."""
        return f"a second answer is missing: {answer} on {self.square} makes it mate as well"

    def why_wrong(self, answer: str) -> str:
        """It is no mate."""
        return f"with {answer} on {self.square} it is not mate"

    def _malformed(self) -> Fault | None:
        if self.square not in chess.SQUARE_NAMES:
            return Fault("square", f"{self.square[:20]!r} is not a square")
        board = self.board
        if board.piece_at(self.at) is not None:
            return Fault("square", f"{self.square} is not empty")
        if chess.square_rank(self.at) in (0, 7) and "P" in self.men:
            return Fault("men", "a pawn cannot stand on an end rank")
        if board.is_checkmate():
            return Fault("position", "it is mate already")
        return men_fault(self.men, 2)

    def _unsound(self) -> Fault | None:
        if len(self.solve()) == len(self.men):
            return Fault("men", "every one of them would do")
        return None


def _kinds_on(square: chess.Square) -> list[chess.PieceType]:
    kinds = [chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN]
    return kinds[:-1] if chess.square_rank(square) in (0, 7) else kinds


def _is_mate_with(board: chess.Board, kind: chess.PieceType, square: chess.Square) -> bool:
    return is_mate(with_men(board, [Man(square, chess.Piece(kind, not board.turn))]))
