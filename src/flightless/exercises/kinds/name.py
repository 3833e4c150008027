"""Name the pattern: which of several names fits the mate?"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar, Self

from flightless.cases.case import Man
from flightless.exercises.boards import fresh
from flightless.exercises.escapes import man_on, men_on
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.lookalikes import gap_of, nearest_names
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.proofs import case_at, names_at
from flightless.exercises.reasons import NameFits, NameMissing, WrongChoice
from flightless.exercises.rendering import Choice, Diagram, Rendering, Space
from flightless.exercises.texts import words_of
from flightless.patterns.describe import describe
from flightless.patterns.recognise import catalogue

__all__ = ["NamePattern"]

_CHOICES = 4
_NEAR = 6
_LETTERS = "abcdefgh"


@dataclass(frozen=True, slots=True, kw_only=True)
class NamePattern(Exercise):
    """Which of `choices` (names of the catalogue) is the mate?  Naming one that fits is enough;
    the letter of a choice (a, b, c …) will do."""

    kind: ClassVar[str] = "name"
    choices: tuple[str, ...]

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate with a name, with names that nearly fit beside it."""
        if not material.names:
            return NotFit("no name fits the mate")
        fits = [name.name for name in material.names]
        right = fits[0]
        related = set(fits) | set(material.names[0].pattern.parents)
        near = [p.name for p, _ in nearest_names(material.case) if p.name not in related]
        chosen = [right, *chance.sample(near[:_NEAR], min(_CHOICES - 1, len(near)))]
        chance.shuffle(chosen)
        return cls(
            position=fresh(material.case.board).fen(),
            choices=tuple(chosen),
            answers=tuple(name for name in chosen if name in fits),
            about=About(pattern=right, source=material.source),
        )

    def solve(self) -> tuple[str, ...]:
        """The choices that fit, in their order."""
        fits = {name.name for name in names_at(self.board.fen())}
        return tuple(name for name in self.choices if name in fits)

    def canonical(self, answer: str) -> str | None:
        """The name as the catalogue has it."""
        said = words_of(answer)
        if len(said) == 1 and said in _LETTERS[: len(self.choices)]:
            return self.choices[_LETTERS.index(said)]
        for pattern in catalogue().patterns:
            names = (pattern.name, pattern.known_as or "", pattern.description, pattern.shown)
            if said in map(words_of, filter(None, names)):
                return pattern.name
        return None

    def mark(self, answer: str) -> Mark:
        """Tries the pattern on the mate."""
        name = self.canonical(answer)
        if name is None or name not in self.choices:
            return Mark("unreadable", WrongChoice(answer.strip()[:80], self.choices))
        fen = self.board.fen()
        pattern = catalogue()[name]
        for found in names_at(fen):
            if found.name == name:
                roles = tuple((r, men_on(self.board, s)) for r, s in found.men.items() if s)
                return Mark("right", NameFits(pattern.description, pattern.known_as, roles))
        gap = gap_of(pattern, case_at(fen))
        assert gap is not None
        right = catalogue()[self.answers[0]]
        reason = NameMissing(
            pattern.description,
            pattern.known_as,
            gap.missing,
            gap.role,
            gap.kinds,
            gap.does,
            gap.found,
            fits=(right.description, right.known_as),
        )
        return Mark("wrong", reason)

    def hints(self) -> tuple[Hint, ...]:
        """Which men work together, who checks, where the king stands."""
        case = case_at(self.board.fen())
        checker: Man = man_on(case.board, case.checkers[0])
        return (
            Hint("tandem", kinds=describe(case).tandem),
            Hint("man", man=checker, role="checks"),
            Hint("square", square=case.king, role="from here"),
        )

    def rendering(self) -> Rendering:
        """One diagram and a box for each name."""
        fen = self.board.fen()
        space = Space("choices", 1, tuple(Choice(name, pattern=name) for name in self.choices))
        return Rendering((Diagram(fen, side_mark=False),), space, final=fen, mated=True)

    def expected(self) -> str:
        """A name."""
        return "one of the choices"

    def why_right(self, answer: str) -> str:
        """It fits too."""
        return f"a second answer is missing: {answer!r} fits as well"

    def why_wrong(self, answer: str) -> str:
        """It does not."""
        return f"{answer!r} does not fit"

    def _malformed(self) -> Fault | None:
        if not self.board.is_checkmate():
            return Fault("position", "the side to move is not mated")
        known = {pattern.name for pattern in catalogue().patterns}
        for name in self.choices:
            if name not in known:
                return Fault("choices", f"{name[:40]!r} is not a name of the catalogue")
        if not 2 <= len(set(self.choices)) == len(self.choices) <= len(_LETTERS):
            return Fault("choices", f"there must be 2 to {len(_LETTERS)} different choices")
        return None

    def _unsound(self) -> Fault | None:
        if len(self.solve()) == len(self.choices):
            return Fault("choices", "all of them fit")
        return None
