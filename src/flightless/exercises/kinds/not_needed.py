"""Which man is not needed?"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import ClassVar, Self

import chess

from flightless.cases.anatomy import field_of
from flightless.cases.case import Case, Man
from flightless.cases.changes import removed
from flightless.exercises.boards import fresh
from flightless.exercises.escapes import escape_of, man_on
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.proofs import case_at, names_at
from flightless.exercises.reasons import Removal, Unreadable, WrongChoice
from flightless.exercises.rendering import Choice, Diagram, Rendering, Space
from flightless.exercises.texts import Named, read_men

__all__ = ["NotNeeded"]

_CHOICES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class NotNeeded(Exercise):
    """Of the men on `choices`, which can be taken off and it is still mate?

    `answers` are the squares of all who can; naming one of them is enough.
    """

    kind: ClassVar[str] = "not-needed"
    choices: tuple[str, ...]

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From a mate in which one man seems to matter and does not, and others do."""
        case = material.case
        near = _who_seem_to_matter(case)
        spare = [s for s in near if s in case.not_needed and s not in case.shields_own_king]
        needed = [s for s in near if s in case.needed and s not in case.checkers]
        needed += [s for s in case.checkers if s in case.needed]
        if not spare:
            return NotFit("every man near the king is needed")
        if len(needed) < 2:
            return NotFit("hardly any man is needed")
        chosen = [chance.choice(spare)]
        chosen += chance.sample(needed, min(len(needed), _CHOICES - 1))
        chosen.sort(key=lambda s: (s % 8, s // 8))
        return cls(
            position=fresh(case.board).fen(),
            choices=tuple(chess.square_name(s) for s in chosen),
            answers=tuple(chess.square_name(s) for s in chosen if s in spare),
            about=About(pattern=material.pattern, source=material.source),
        )

    def solve(self) -> tuple[str, ...]:
        """The squares among the choices whose men are not needed."""
        case = case_at(self.board.fen())
        return tuple(n for n in self.choices if chess.parse_square(n) in case.not_needed)

    def canonical(self, answer: str) -> str | None:
        """The square."""
        man = self._read(answer)
        return None if man is None else chess.square_name(man.square)

    def mark(self, answer: str) -> Mark:
        """Takes the man away and looks."""
        man = self._read(answer)
        if man is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "a man"))
        name = chess.square_name(man.square)
        if name not in self.choices:
            return Mark("unreadable", WrongChoice(name, self.choices))
        reason = self._removal(man)
        right = reason.escape is None and not reason.check_gone
        return Mark("right" if right else "wrong", reason)

    def hints(self) -> tuple[Hint, ...]:
        """The pattern, who checks, a square that two men guard."""
        board = self.board
        ladder = []
        found = names_at(board.fen())
        if found:
            ladder.append(Hint("pattern", found[0].pattern.description, found[0].pattern.known_as))
        checker = chess.msb(board.checkers_mask())
        ladder.append(Hint("man", man=man_on(board, checker), role="checks"))
        duty = self._duty(chess.parse_square(self.answers[0]))
        if duty is not None:
            ladder.append(Hint("square", square=duty, role="look"))
        return tuple(ladder)

    def rendering(self) -> Rendering:
        """One diagram and a box for each man."""
        fen = self.board.fen()
        squares = [chess.parse_square(name) for name in self.choices]
        choices = tuple(Choice(n, square=s) for n, s in zip(self.choices, squares, strict=True))
        space = Space("choices", 1, choices)
        return Rendering((Diagram(fen, side_mark=False),), space, final=fen, mated=True)

    def expected(self) -> str:
        """A square."""
        return "the square of one of the choices"

    def why_right(self, answer: str) -> str:
        """It is still mate without him."""
        return f"a second answer is missing: without the man on {answer} it is still mate too"

    def why_wrong(self, answer: str) -> str:
        """Shows what the defender then does."""
        square = chess.parse_square(self.canonical(answer) or "a1")
        left = removed(self.board, square).applied(self.board)
        moves = list(left.legal_moves)
        shown = left.san(moves[0]) if moves and left.is_check() else "there is no check"
        return f"without the man on {answer} it is no mate: {shown}"

    def _read(self, answer: str) -> Man | None:
        named = read_men(answer)
        if named is None or len(named) != 1:
            return None
        board = self.board
        squares = self._squares(named[0], board)
        piece = board.piece_at(squares[0]) if len(squares) == 1 else None
        return None if piece is None else Man(squares[0], piece)

    def _squares(self, named: Named, board: chess.Board) -> list[chess.Square]:
        """The squares that are meant; a kind alone will do if one choice is of it."""
        if named.square is not None:
            kind = board.piece_type_at(named.square)
            return [named.square] if named.kind in (None, kind) else []
        choices = [chess.parse_square(name) for name in self.choices]
        return [s for s in choices if board.piece_type_at(s) == named.kind]

    def _removal(self, man: Man) -> Removal:
        board = self.board
        left = removed(board, man.square).applied(board)
        own = man.piece.color == board.turn
        if not left.is_check():
            return Removal(man, None, True, (), own)
        if any(left.legal_moves):
            return Removal(man, escape_of(left), False, (), own)
        before = [f for f in field_of(board, board.turn) if man.square in f.reasons]
        after = {f.square: f for f in field_of(left, board.turn)}
        held = tuple(
            (f.square, man_on(left, after[f.square].reasons[0]))
            for f in before
            if f.square is not None and after[f.square].reasons
        )
        return Removal(man, None, False, held, own)

    def _duty(self, man: chess.Square) -> chess.Square | None:
        board = self.board
        duties = (f.square for f in field_of(board, board.turn) if man in f.reasons)
        return next((s for s in duties if s is not None), None)

    def _malformed(self) -> Fault | None:
        board = self.board
        if not board.is_checkmate():
            return Fault("position", "the side to move is not mated")
        for name in self.choices:
            if name not in chess.SQUARE_NAMES:
                return Fault("choices", f"{name[:20]!r} is not a square")
            if board.piece_type_at(chess.parse_square(name)) in (None, chess.KING):
                return Fault("choices", f"no man but a king, or none, stands on {name}")
        if len(set(self.choices)) < 2:
            return Fault("choices", "there must be at least two different choices")
        return None

    def _unsound(self) -> Fault | None:
        if len(self.solve()) == len(self.choices):
            return Fault("choices", "none of the men is needed")
        return None


def _who_seem_to_matter(case: Case) -> list[chess.Square]:
    """The men who answer for a square of the field, stand on one, or give check."""
    seen = set(case.checkers)
    for field in case.field:
        seen.update(field.reasons)
    return sorted(seen - {case.king, case.mating_king})
