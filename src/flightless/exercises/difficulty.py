"""How hard an exercise is, as one number, and the words for it.

The number is on the scale of the logistic models of testing (Rasch): 0 is the average
exercise, one more makes the odds of solving it 2.7 times smaller.  `prior` is a first guess
from what is on the page; a grade learnt from pupils' answers is another function of the same
shape.
"""

from __future__ import annotations

from typing import Protocol

import chess

from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.find_mate import NONE, FindMate
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.levels import LEVELS, level_of

__all__ = ["LEVELS", "Difficulty", "level_of", "prior"]


class Difficulty(Protocol):
    """A grade: a number that grows with difficulty, 0 for the average exercise."""

    def __call__(self, exercise: Exercise) -> float:
        """The grade of one exercise."""


_BY_KIND = {
    "verdict": -1.7,
    "choose": -1.1,
    "name": -0.9,
    "supporter": -0.7,
    "luft": -0.6,
    "ledger": -0.5,
    "two-positions": -0.3,
    "not-needed": -0.2,
    "threat": 0.0,
    "save": 0.4,
    "net": 0.8,
}
_BY_MOVES = (0.0, -1.4, 0.0, 1.0, 1.8, 2.4)


def prior(exercise: Exercise) -> float:
    """The first guess, from the kind, the length, the first move and the board.

    A mate in 1, 2, 3, 4, 5 begins at -1.4, 0, 1, 1.8, 2.4, each other kind at a number of its
    own, a second way 0.5 and a mate that is not there 0.3 above a mate of its length.  A quiet
    first move adds 0.8, each check that fails 0.1 (six at most), each man above twelve 0.03
    (below, the other way; 0.5 at most).  All of it common practice, no source.
    """
    board = exercise.board
    grade = _BY_KIND.get(exercise.kind, 0.0)
    if isinstance(exercise, FindMate | SecondWay):
        grade = _BY_MOVES[exercise.moves] + _first_move(exercise, board)
    men = chess.popcount(board.occupied)
    return round(grade + max(-0.3, min(0.5, 0.03 * (men - 12))), 2)


def _first_move(exercise: FindMate | SecondWay, board: chess.Board) -> float:
    checks = sum(1 for move in board.legal_moves if board.gives_check(move))
    if exercise.answers == (NONE,):
        return 0.3 + 0.1 * min(checks, 6)
    extra = 0.5 if isinstance(exercise, SecondWay) else 0.0
    keys = [board.parse_san(answer) for answer in exercise.answers]
    quiet = not any(board.gives_check(key) for key in keys)
    failing = checks - sum(board.gives_check(key) for key in keys)
    return extra + (0.8 if quiet else 0.0) + 0.1 * min(failing, 6)
