"""Finish the net: two men are to be placed so that it is mate."""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import combinations
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
from flightless.exercises.reasons import CannotPlace, Unreadable
from flightless.exercises.rendering import Diagram, Rendering, Space
from flightless.exercises.texts import letter_of, placed, read_men
from flightless.exercises.trials import cannot_place, gives_mate, mating_pairs, trial_of, with_men

__all__ = ["FinishNet"]

_MOST_ANSWERS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishNet(Exercise):
    """Put both of `men` (two letters) on the board so that it is mate."""

    kind: ClassVar[str] = "net"
    men: tuple[str, ...]

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate, with two needed men of the mating side taken off."""
        case = material.case
        needed = [s for s in case.needed if case.board.color_at(s) == case.mating]
        pairs = list(combinations(needed, 2))
        chance.shuffle(pairs)
        for pair in pairs[:3]:
            board = case.board
            kinds = sorted((board.piece_type_at(s) or chess.PAWN for s in pair), reverse=True)
            for square in pair:
                board = removed(board, square).applied(board)
            board = fresh(board)
            if board.was_into_check() or board.is_checkmate():
                continue
            answers = mating_pairs(board, (kinds[0], kinds[1]))
            if 1 <= len(answers) <= _MOST_ANSWERS:
                return cls(
                    position=board.fen(),
                    men=tuple(letter_of(k) for k in kinds),
                    answers=tuple(answers),
                    about=About(pattern=material.pattern, source=material.source),
                )
        return NotFit("too many squares would do for two of the needed men")

    def solve(self) -> tuple[str, ...]:
        """Every pair of squares that makes it mate."""
        first, second = kinds_of(self.men)
        return tuple(mating_pairs(self.board, (first, second)))

    def canonical(self, answer: str) -> str | None:
        """'Qg7 Nf5': the men in the order of `men`, two of a kind by square."""
        men = self._read(answer)
        if men is None:
            return None
        return " ".join(placed(man.piece.piece_type, man.square) for man in men)

    def mark(self, answer: str) -> Mark:
        """Puts both there and looks."""
        men = self._read(answer)
        if men is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "two men on squares"))
        board = self.board
        if men[0].square == men[1].square:
            return Mark("unreadable", CannotPlace(men[1], "taken", men[0]))
        for man in men:
            refused = cannot_place(board, man)
            if refused is not None:
                return Mark("unreadable", refused)
        if is_mate(with_men(board, men)):
            return Mark("right", gives_mate(board, men, len(self.answers) - 1))
        after = with_men(board, men)
        checker = contact_checker(after)
        order = sorted(men, key=lambda man: man.square == checker)
        return Mark("wrong", trial_of(board, order, checker))

    def hints(self) -> tuple[Hint, ...]:
        """The pattern, the king, a right square."""
        men = self._read(self.answers[0])
        return place_hints(self.board, men or [])

    def rendering(self) -> Rendering:
        """One diagram to draw into, with the two men."""
        board = self.board
        pieces = tuple(chess.Piece(k, not board.turn) for k in kinds_of(self.men))
        final = with_men(board, self._read(self.answers[0]) or []).fen()
        diagram = Diagram(board.fen(), side_mark=False)
        return Rendering((diagram,), Space("men", 1, men=pieces), final=final, mated=True)

    def expected(self) -> str:
        """Two men on squares."""
        return f"both men on squares, like '{self.men[0]}g7 {self.men[1]}f5'"

    def why_right(self, answer: str) -> str:
        """One more way."""
        return f"a second answer is missing: {answer} makes it mate as well"

    def why_wrong(self, answer: str) -> str:
        """It is no mate."""
        return f"with {answer} it is not mate"

    def _read(self, answer: str) -> list[Man] | None:
        """Both men, in the order of `men`; None if other men, or not two, are named."""
        named = read_men(answer)
        if named is None or len(named) != 2 or any(n.square is None for n in named):
            return None
        colour = not self.board.turn
        left = list(kinds_of(self.men))
        men: list[Man] = []
        for one in sorted(named, key=lambda n: n.kind is None):
            kind = one.kind or (left[0] if left else None)
            if kind not in left or kind is None or one.square is None:
                return None
            left.remove(kind)
            men.append(Man(one.square, chess.Piece(kind, colour)))
        order = list(kinds_of(self.men))
        return sorted(men, key=lambda m: (order.index(m.piece.piece_type), m.square))

    def _malformed(self) -> Fault | None:
        if len(self.men) != 2:
            return Fault("men", "there must be two of them")
        if self.board.is_checkmate():
            return Fault("position", "it is mate already")
        return men_fault(self.men, 2, distinct=False)
