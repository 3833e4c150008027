"""What-if questions as two diagrams: the mate, and what becomes of it when one thing changes.

The answers are those of the case; here the second position is set up and marked.  Sentences
under the diagrams come from outside.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import chess

from flightless.cases.case import Case, Luft, Man, Removal, Saviour, Substitute
from flightless.draw.marks import FIELD_ROLES, Marks, Role, marks_of

__all__ = ["Pair", "luft_pair", "removal_pair", "saviour_pair", "substitute_pair"]

_BEFORE = FIELD_ROLES - {Role.ONE_ONLY}


@dataclass(frozen=True, slots=True)
class Pair:
    """Two positions that differ in one thing, each with its marks."""

    before: chess.Board
    before_marks: Marks
    after: chess.Board
    after_marks: Marks

    @property
    def roles(self) -> tuple[Role, ...]:
        """The roles that either diagram shows."""
        shown = {*self.before_marks.roles(), *self.after_marks.roles()}
        return tuple(role for role in Role if role in shown)


def removal_pair(case: Case, removal: Removal) -> Pair:
    """The mate, and the same without one man: his place and what the defender does then.

    Where it is still mate, the second diagram shows who holds the squares now.
    """
    after = case.board
    man = _lift(after, removal.square)
    return _pair(case, after, (removal.square,), (man,), removal.answers)


def saviour_pair(case: Case, saviour: Saviour) -> Pair:
    """The mate, and the same with one more defender, who ends it."""
    after = case.board
    after.set_piece_at(saviour.square, chess.Piece(saviour.kind, case.mated))
    return _pair(case, after, (saviour.square,), (), saviour.answers)


def luft_pair(case: Case, luft: Luft) -> Pair:
    """The mate, and the same had the pawn moved in time."""
    after = case.board
    man = _lift(after, luft.move.from_square)
    after.set_piece_at(luft.move.to_square, man.piece)
    changed = (luft.move.from_square, luft.move.to_square)
    return _pair(case, after, changed, (man,), luft.answers)


def substitute_pair(case: Case, substitute: Substitute) -> Pair:
    """The mate, and the same mate with another man, or the same one elsewhere."""
    after = case.board
    man = _lift(after, substitute.instead_of)
    after.set_piece_at(substitute.square, chess.Piece(substitute.kind, case.mating))
    changed = {substitute.instead_of, substitute.square}
    gone = (man,) if len(changed) == 2 else ()
    return _pair(case, after, changed, gone, ())


def _lift(board: chess.Board, square: chess.Square) -> Man:
    """Take the man on `square` off; an en-passant right goes too, for the pawn may be he."""
    piece = board.remove_piece_at(square)
    assert piece is not None, f"the case names {chess.square_name(square)}, which is empty"
    board.ep_square = None
    return Man(square, piece)


def _pair(
    case: Case,
    after: chess.Board,
    changed: Iterable[chess.Square],
    gone: tuple[Man, ...],
    answers: tuple[chess.Move, ...],
) -> Pair:
    touched = tuple(sorted(changed))
    there = tuple(square for square in touched if case.board.piece_type_at(square))
    before = replace(marks_of(case, _BEFORE), changed=there)
    after_marks = Marks(
        king=case.king,
        checks=tuple(sorted(after.checkers())),
        changed=touched,
        gone=gone,
        free=tuple(sorted({m.to_square for m in answers if m.from_square == case.king})),
        defended=tuple(sorted({m.to_square for m in answers if m.from_square != case.king})),
    )
    return Pair(case.board, before, after, after_marks)
