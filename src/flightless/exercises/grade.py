"""A prior grade from what is on the board, and grades that learn from pupils' answers.

The rating arithmetic is that of `openskill` (Bradley and Terry's model in the online form of
Weng and Lin, JMLR 12, 2011), on the scale of `difficulty`.  Nothing is kept on disk here, and
a pupil is any text: a nickname will do.  Files of results are `results`, and what is learnt
from them for exercises that nobody has tried yet is `calibrating`.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

import chess

from flightless.errors import UsageError
from flightless.exercises.difficulty import level_of, prior
from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.find_mate import NONE, FindMate
from flightless.exercises.proofs import case_at_end, proof_of

if TYPE_CHECKING:
    from openskill.models import BradleyTerryFull

__all__ = [
    "Answered",
    "Calibration",
    "Features",
    "Strength",
    "features_of",
    "group_of",
    "name_of",
    "prior_grade",
]

_BY_MOVES = (0.0, -1.4, 0.0, 1.0, 1.8, 2.4)
_QUIET, _REPLY, _REPLIES, _CHECK, _CHECKS = 0.8, 0.06, 6, 0.1, 6
_FAR, _COOPERATES, _BACKWARD, _PIN, _MAN, _RARE = 0.06, 0.12, 0.2, 0.15, 0.03, 0.4

_BETA = math.sqrt(0.5)
"""Makes openskill's scale that of logits: two settled men a point apart win e : 1."""
_PUPIL_SIGMA, _EXERCISE_SIGMA = 1.2, 0.7
_TAU = 0.02


@dataclass(frozen=True, slots=True)
class Features:
    """What a grade is made of, for a mate to be found.

    `replies` are all legal ones to the key; `failing_checks`
    the checks that are not keys; `distance` king's steps from the key's man to the mated king;
    `cooperating` the men of the mating side in the skeleton; `backward` his moves in the line
    that go back; `pins` the mated side's men pinned at the end; `men` all on the board;
    `rarity` 0 for a pattern met every day to 1 for one never met (0 if it is not known).
    """

    moves: int
    quiet: bool
    replies: int
    failing_checks: int
    distance: int
    cooperating: int
    backward: int
    pins: int
    men: int
    rarity: float = 0.0


def features_of(exercise: FindMate, shares: Mapping[str, float] | None = None) -> Features:
    """The features of a mate that is to be found.

    `shares` gives each pattern's share of the mates that a coach meets (0 to 1).  Raises
    `UsageError` if there is no mate in `exercise.moves` to be found.
    """
    board = exercise.board
    proof = proof_of(board.fen(), exercise.moves)
    if proof.verdict != "mate" or proof.moves is None:
        raise UsageError(f"there is no mate in {exercise.moves} to be found: {board.fen()}")
    key = proof.keys[0]
    case = case_at_end(board.fen(), proof.line)
    attacks = proof.line[::2]
    checks = [m for m in board.legal_moves if board.gives_check(m)]
    rank = 1 if board.turn else -1
    backward = sum(
        (chess.square_rank(m.to_square) - chess.square_rank(m.from_square)) * rank < 0
        for m in attacks
    )
    king = board.king(not board.turn)
    share = (shares or {}).get(exercise.about.pattern)
    after = board.copy(stack=False)
    after.push(key)
    return Features(
        proof.moves,
        not board.gives_check(key),
        after.legal_moves.count() if proof.moves > 1 else 0,
        len([m for m in checks if m not in proof.keys]),
        chess.square_distance(key.from_square, king if king is not None else key.from_square),
        sum(case.board.color_at(s) == case.mating for s in case.skeleton.men),
        backward,
        len({h.man for h in case.held_off if h.why == "pinned"}),
        chess.popcount(board.occupied),
        0.0 if share is None else (1.0 - share) ** 4,
    )


def prior_grade(features: Features) -> float:
    """The first guess in logits, 0 for the average exercise.

    A mate in 1, 2, 3, 4, 5 begins at -1.4, 0, 1, 1.8, 2.4.  Added: 0.8 for a quiet key; 0.06
    for each reply (six at most); 0.1 for each check that fails (six at most); 0.06 for each
    step of distance above three; 0.12 for each man above two who must work together; 0.2 for a
    move backwards; 0.15 for a pin; 0.03 for each man above twelve (-0.3 to 0.5); 0.4 times the
    rarity.  All weights are common practice, no source: results correct them.
    """
    f = features
    grade = _BY_MOVES[min(f.moves, 5)] + (_QUIET if f.quiet else 0.0)
    grade += _REPLY * min(f.replies, _REPLIES) + _CHECK * min(f.failing_checks, _CHECKS)
    grade += _FAR * (f.distance - 3) + _COOPERATES * (f.cooperating - 2)
    grade += _BACKWARD * f.backward + _PIN * f.pins + _RARE * f.rarity
    return round(grade + max(-0.3, min(0.5, _MAN * (f.men - 12))), 2)


@dataclass(frozen=True, slots=True)
class Strength:
    """What is known of a pupil or an exercise, in logits: the value and how unsure it is."""

    value: float
    unsure: float


@dataclass(frozen=True, slots=True)
class Answered:
    """One answer.  `seconds` and `allowed` may be left out; a right answer that took longer
    than `allowed`, or that is said to be `too_late`, counts half (common practice, no
    source)."""

    pupil: str
    exercise: str
    right: bool
    seconds: float | None = None
    allowed: float | None = None
    too_late: bool = False

    @property
    def late(self) -> bool:
        """Right, but after the time allowed."""
        timed = self.seconds is not None and self.allowed is not None
        return self.right and (
            self.too_late or (timed and (self.seconds or 0.0) > (self.allowed or 0.0))
        )


@lru_cache(maxsize=1)
def _model() -> BradleyTerryFull:
    from openskill.models import BradleyTerryFull

    return BradleyTerryFull(mu=0.0, sigma=_PUPIL_SIGMA, beta=_BETA, tau=_TAU)


def _nothing() -> Mapping[str, Strength]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Calibration:
    """Strengths of pupils and difficulties of exercises as the answers so far make them.

    An exercise is any text that tells it from others; unknown ones begin at the grade given as
    `first`, unknown pupils at 0.  It is a `Difficulty`: called with an exercise it
    gives the learnt grade, or the prior moved by what its group has in `shifts`.  `shares` are
    those of `features_of`.
    """

    pupils: Mapping[str, Strength] = field(default_factory=_nothing)
    exercises: Mapping[str, Strength] = field(default_factory=_nothing)
    shifts: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    shares: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))

    def __call__(self, exercise: Exercise) -> float:
        """The grade of an exercise, in logits."""
        learnt = self.exercises.get(name_of(exercise))
        if learnt is not None:
            return round(learnt.value, 2)
        return round(self.first(exercise) + self.shifts.get(group_of(exercise), 0.0), 2)

    def first(self, exercise: Exercise) -> float:
        """The grade before any results: from the features of a mate to be found, else
        `difficulty.prior`."""
        if isinstance(exercise, FindMate) and exercise.answers != (NONE,):
            return prior_grade(features_of(exercise, self.shares))
        return prior(exercise)

    def word_for(self, exercise: Exercise) -> str:
        """The grade as it is shown: one of `difficulty.LEVELS`."""
        return level_of(self(exercise))

    def pupil(self, pupil: str) -> Strength:
        """What is known of a pupil."""
        return self.pupils.get(pupil, Strength(0.0, _PUPIL_SIGMA))

    def exercise(self, exercise: str, first: float = 0.0) -> Strength:
        """What is known of an exercise; `first` is its prior grade."""
        return self.exercises.get(exercise, Strength(first, _EXERCISE_SIGMA))

    def chance(self, pupil: str, exercise: str, first: float = 0.0) -> float:
        """The chance of a right answer (the model's own formula, Weng and Lin 2011)."""
        one, other = self.pupil(pupil), self.exercise(exercise, first)
        spread = math.sqrt(one.unsure**2 + other.unsure**2 + 2 * _BETA**2)
        return 1 / (1 + math.exp((other.value - one.value) / spread))

    def after(
        self, answers: Iterable[Answered], first: Mapping[str, float] | None = None
    ) -> Calibration:
        """The calibration after these answers, in their order; both sides of each are updated.

        `first` gives the prior grades of exercises.
        """
        model, grades = _model(), first or {}
        pupils, exercises = dict(self.pupils), dict(self.exercises)
        for answer in answers:
            now = replace(self, pupils=pupils, exercises=exercises)
            one = now.pupil(answer.pupil)
            other = now.exercise(answer.exercise, grades.get(answer.exercise, 0.0))
            teams = [
                [model.rating(mu=one.value, sigma=one.unsure)],
                [model.rating(mu=other.value, sigma=other.unsure)],
            ]
            ranks: list[float] = [1, 1] if answer.late else [1, 2] if answer.right else [2, 1]
            [[pupil], [exercise]] = model.rate(teams, ranks=ranks)
            pupils[answer.pupil] = Strength(pupil.mu, pupil.sigma)
            exercises[answer.exercise] = Strength(exercise.mu, exercise.sigma)
        return replace(self, pupils=MappingProxyType(pupils), exercises=MappingProxyType(exercises))


def name_of(exercise: Exercise) -> str:
    """What tells an exercise from others in results: twelve hexadecimal figures of the SHA-256
    of its kind, position and answers.  Notes, sources and grades do not change it."""
    text = f"{exercise.kind} {exercise.position} {' '.join(sorted(exercise.answers))}"
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def group_of(exercise: Exercise) -> str:
    """What exercises must share to be misjudged alike: the kind, and the length if it has one
    ('find-mate 2')."""
    moves = getattr(exercise, "moves", None)
    return exercise.kind if moves is None else f"{exercise.kind} {moves}"
