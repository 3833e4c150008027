"""What every exercise is: a position, a question, the complete set of right answers.

The kinds are in `kinds/`, one class each.  This module holds what they share: the data, the
two looks at an exercise (can it be read, is it sound) and the comparing of answers.
"""

from __future__ import annotations

import random
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, Literal, Self, get_args

import chess

from flightless.errors import PositionError
from flightless.exercises.boards import fresh
from flightless.exercises.hints import Hint
from flightless.exercises.mark import Mark
from flightless.exercises.rendering import Rendering
from flightless.exercises.turns import Turned
from flightless.positions import read_position

if TYPE_CHECKING:
    from flightless.exercises.material import Material, NotFit

__all__ = ["ROLES", "About", "Exercise", "Fault", "Role"]

_SHOWN = 4
"""So many right answers are shown in place of wrong ones."""

Role = Literal["", "pattern", "look-alike", "no mate"]
"""What an exercise is for in its set: to train the pattern, to be told apart from it, or to
show that not every attack mates."""

ROLES: tuple[str, ...] = get_args(Role)[1:]


@dataclass(frozen=True, slots=True)
class About:
    """What is known of an exercise beside the question: the pattern's name in the catalogue,
    where the position comes from and how it was turned, its grade in a word and as a number
    (see `difficulty`), its role in the set, and the coach's note."""

    pattern: str = ""
    source: str = ""
    turned: Turned = ""
    level: str = ""
    difficulty: float | None = None
    role: Role = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with an exercise: the field to blame, and why, as a clause."""

    field: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise(ABC):
    """One exercise.

    `position` is a FEN, `answers` *every* right answer, written as `solve` writes them.  All
    methods expect an exercise that is not `malformed`.
    """

    kind: ClassVar[str]
    """The word for the kind in files and on the command line."""

    position: str
    answers: tuple[str, ...]
    about: About = field(default_factory=About)

    @property
    def board(self) -> chess.Board:
        """A fresh board of the position, its moves numbered from one."""
        return fresh(read_position(self.position).board)

    @classmethod
    @abstractmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """An exercise of this kind from the material, or why there is none.

        `chance` decides where several would do; the same material and chance, the same
        exercise.
        """

    @abstractmethod
    def solve(self) -> tuple[str, ...]:
        """Every right answer, computed from the position alone."""

    @abstractmethod
    def canonical(self, answer: str) -> str | None:
        """An answer as `solve` would write it; None if it is none."""

    @abstractmethod
    def mark(self, answer: str) -> Mark:
        """The mark for what a pupil wrote.  Never raises, whatever the text."""

    @abstractmethod
    def hints(self) -> tuple[Hint, ...]:
        """The ladder of hints, the vaguest first."""

    @abstractmethod
    def rendering(self) -> Rendering:
        """How it is to be shown."""

    def malformed(self) -> Fault | None:
        """The first thing that cannot be read or makes no sense, without any search."""
        try:
            read_position(self.position)
        except PositionError as error:
            return Fault("position", str(error))
        fault = self._malformed()
        if fault is not None:
            return fault
        if not self.answers:
            return Fault("answers", "an exercise needs at least one right answer")
        seen: set[str] = set()
        for answer in self.answers:
            plain = self.canonical(answer)
            if plain is None:
                return Fault("answers", f"{answer[:60]!r} is not {self.expected()}")
            if plain in seen:
                return Fault("answers", f"{answer[:60]!r} is there twice")
            seen.add(plain)
        return None

    def unsound(self) -> Fault | None:
        """The first thing that does not hold, everything computed from scratch."""
        fault = self._unsound()
        if fault is not None:
            return fault
        right = self.solve()
        written = {self.canonical(answer) for answer in self.answers}
        missing = [answer for answer in right if answer not in written]
        wrong = [answer for answer in self.answers if self.canonical(answer) not in right]
        if wrong:
            why = self.why_wrong(wrong[0])
            told = not missing or any(a.rstrip("+#") in why for a in missing)
            return Fault("answers", why if told else f"{why}; {self.instead(missing)}")
        return Fault("answers", self.why_right(missing[0])) if missing else None

    def instead(self, missing: Sequence[str]) -> str:
        """A clause that gives right answers which the exercise does not have."""
        more = ", …" if len(missing) > _SHOWN else ""
        return f"right is {', '.join(missing[:_SHOWN])}{more}"

    def mover(self) -> str:
        """'White' or 'Black', for refusals."""
        return "White" if self.board.turn else "Black"

    def why_right(self, answer: str) -> str:
        """A clause for a right answer that the exercise does not have."""
        return f"a second solution is missing: {answer}"

    def why_wrong(self, answer: str) -> str:
        """A clause for an answer that is not right."""
        return f"{answer!r} is not right"

    def expected(self) -> str:
        """What an answer is, as a clause: 'a legal move'."""
        return "an answer of this kind"

    def _malformed(self) -> Fault | None:
        """What this kind asks beside a position and answers."""
        return None

    def _unsound(self) -> Fault | None:
        """What this kind asks beside the right answers."""
        return None
