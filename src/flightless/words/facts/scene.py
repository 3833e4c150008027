"""A case with the look-ups that the tellers share.

It only reads: which man stands where, who answers for which square in the preferred
skeleton, who belongs to the cast.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import chess

from flightless.cases.case import Case, FieldSquare, HeldOff, Man, Removal
from flightless.words.facts.statements import Hindrance
from flightless.words.places import by_name

__all__ = ["Scene"]


@dataclass(frozen=True)
class Scene:
    """One case, looked at."""

    case: Case

    @cached_property
    def board(self) -> chess.Board:
        """The mated position."""
        return self.case.board

    @cached_property
    def king(self) -> Man:
        """The mated king."""
        return self.man(self.case.king)

    @cached_property
    def field(self) -> tuple[FieldSquare, ...]:
        """The field squares on the board, by file and rank."""
        squares = [f for f in self.case.field if f.square is not None]
        return tuple(sorted(squares, key=lambda f: by_name(f.square or 0)))

    @cached_property
    def blocked(self) -> tuple[FieldSquare, ...]:
        """The field squares held by the king's own men."""
        return tuple(f for f in self.field if f.state == "blocked")

    @cached_property
    def part(self) -> frozenset[chess.Square]:
        """Who does the work: the men of the preferred skeleton, and the mating king if some
        square or checker is answered for by no one else of them."""
        men = set(self.case.skeleton.men)
        answered = [set(f.reasons) for f in self.field]
        answered += [
            set(self.case.checker_protectors[c])
            for c in self.case.checkers
            if chess.square_distance(c, self.case.king) == 1
        ]
        alone = any(not reasons & men and self.case.mating_king in reasons for reasons in answered)
        return frozenset(men | {self.case.mating_king} if alone else men)

    @cached_property
    def uncounted(self) -> frozenset[chess.Square]:
        """Squares that no one counts when a line is called free: men stand there, or it is
        the king's field."""
        field = chess.SquareSet(chess.BB_KING_ATTACKS[self.case.king])
        return frozenset(field | chess.SquareSet(self.board.occupied))

    @cached_property
    def cast(self) -> tuple[Man, ...]:
        """The men that an account of the mate may name: checkers, guards, blockers and all others
        on the field, protectors, whoever is needed, and those who are held off."""
        squares = set(self.case.checkers) | set(self.case.needed)
        for f in self.field:
            squares.update(f.reasons)
            if f.square is not None and self.board.piece_at(f.square) is not None:
                squares.add(f.square)
        for protectors in self.case.checker_protectors.values():
            squares.update(protectors)
        for held in self.case.held_off:
            squares.update((held.man, *held.by))
        squares.discard(self.case.king)
        return self.men(squares)

    @cached_property
    def guard_of(self) -> dict[chess.Square, chess.Square]:
        """For each guarded field square the man who is said to answer for it: one of those who
        take part, and as few men in all as will do, so that no one is told of twice."""
        choices: dict[chess.Square, list[chess.Square]] = {}
        for f in self.field:
            if f.state == "guarded":
                assert f.square is not None
                choices[f.square] = [s for s in f.by if s in self.part] or list(f.by)
        chosen = {c[0] for c in choices.values() if len(c) == 1}
        given = {}
        for square, guards in choices.items():
            ready = [g for g in guards if g in chosen]
            ready.sort(key=lambda g: (g not in self.case.checkers, *by_name(g)))
            guard = ready[0] if ready else guards[0]
            chosen.add(guard)
            given[square] = guard
        return given

    @cached_property
    def hindrances(self) -> tuple[Hindrance, ...]:
        """Men who could answer the check but for something that is not their own side's man in
        the way.  Each is told of once: a capture before an interposition."""
        chosen: dict[chess.Square, Hindrance] = {}
        for held in sorted(self.case.held_off, key=lambda h: (h.action != "capture", h.target)):
            if held.why == "double check" or held.man in chosen:
                continue
            if held.why == "shut off" and (
                not self.is_shut_by_needed(held) or all(self.is_own(s) for s in held.by)
            ):
                continue
            chosen[held.man] = Hindrance(
                self.man(held.man), held.action, held.target, held.why, self.men(held.by)
            )
        return tuple(chosen[man] for man in sorted(chosen, key=by_name))

    def is_shut_by_needed(self, held: HeldOff) -> bool:
        """Whether taking the man in the way off would give just this answer."""
        return all(
            man in self.case.needed
            and any(
                a.from_square == held.man and a.to_square == held.target
                for a in self.removal(man).answers
            )
            for man in held.by
        )

    def man(self, square: chess.Square) -> Man:
        """The man on `square`."""
        piece = self.board.piece_at(square)
        assert piece is not None, chess.square_name(square)
        return Man(square, piece)

    def men(self, squares: Iterable[chess.Square]) -> tuple[Man, ...]:
        """The men on `squares`, by file and rank."""
        return tuple(self.man(square) for square in sorted(squares, key=by_name))

    def is_own(self, square: chess.Square) -> bool:
        """Whether a man of the mated side stands on `square`."""
        return self.board.color_at(square) == self.case.mated

    def next_to_king(self, square: chess.Square) -> bool:
        """Whether `square` is in the king's field."""
        return chess.square_distance(square, self.case.king) == 1

    def removal(self, square: chess.Square) -> Removal:
        """What happens without the man on `square`."""
        return next(r for r in self.case.removals if r.square == square)

    def protectors(self, checker: chess.Square) -> tuple[chess.Square, ...]:
        """Who protects a checker: those who take part, or else all who do."""
        all_of_them = self.case.checker_protectors[checker]
        chosen = tuple(s for s in all_of_them if s in self.part)
        return chosen or all_of_them

    @property
    def home_rank(self) -> int:
        """The first rank of the mated side, from 0."""
        return 7 if self.case.mated == chess.BLACK else 0
