"""Shared duties: squares for which several men answer, and pairs of men of whom one suffices.

Read off a case and tried on the board; skeletons say which men ever take part.
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from flightless.cases.answers import legal_answers
from flightless.cases.case import Case
from flightless.cases.changes import removed

__all__ = ["EitherWouldDo", "SharedSquare", "either_would_do", "shared_squares", "sole_guards"]


@dataclass(frozen=True, slots=True)
class SharedSquare:
    """A square of the field for which more than one man answers (the mating king counts)."""

    square: chess.Square
    men: tuple[chess.Square, ...]


@dataclass(frozen=True, slots=True)
class EitherWouldDo:
    """Two men neither of whom is needed, but one of them is.

    Taking either away leaves it checkmate, taking both does not; `answers` are the legal moves
    then (none if the check is gone), `squares` the field squares that only these two shut.
    """

    men: tuple[chess.Square, chess.Square]
    squares: tuple[chess.Square, ...]
    answers: tuple[chess.Move, ...]


def shared_squares(case: Case) -> tuple[SharedSquare, ...]:
    """Every field square with two or more reasons, in square order."""
    found = [
        SharedSquare(f.square, tuple(sorted(f.reasons)))
        for f in case.field
        if f.square is not None and len(f.reasons) > 1
    ]
    return tuple(sorted(found, key=lambda s: s.square))


def sole_guards(case: Case) -> dict[chess.Square, tuple[chess.Square, ...]]:
    """For each man (kings too) the field squares for which he alone answers."""
    found: dict[chess.Square, list[chess.Square]] = {}
    for f in case.field:
        if f.square is not None and len(f.reasons) == 1:
            found.setdefault(f.reasons[0], []).append(f.square)
    return {man: tuple(sorted(squares)) for man, squares in sorted(found.items())}


def either_would_do(case: Case) -> tuple[EitherWouldDo, ...]:
    """Every pair of men who are not needed and whose joint removal ends `is_checkmate()`."""
    from flightless.cases.kernels import broken_pairs  # compiled, so loaded late

    board = case.board
    found = []
    men = chess.SquareSet(case.not_needed)
    for first, second in broken_pairs(board, int(men)):
        left = removed(board, first).applied(board)
        left = removed(left, second).applied(left)
        pair = {first, second}
        squares = tuple(
            sorted(f.square for f in case.field if f.square is not None and set(f.reasons) == pair)
        )
        found.append(EitherWouldDo((first, second), squares, legal_answers(left)))
    return tuple(found)
