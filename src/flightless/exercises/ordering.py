"""The order of a set: blocked first and mixed later, always from easy to hard.

Blocked exercises show one pattern after the other, so that it is learnt; mixed ones change
pattern and kind all the time, so that it must be recognised (the issue's sources: Carvalho and
Goldstone 2014, Rohrer et al. 2020).
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from flightless.exercises.exercise import Exercise

__all__ = ["arranged"]

_WINDOW = 5
"""A mixed exercise is chosen among so many of the easiest left: harder ones wait."""


def arranged(
    exercises: Sequence[Exercise], blocked: int, chance: random.Random
) -> tuple[list[Exercise], list[Exercise]]:
    """The exercises as (in blocks, mixed).

    `blocked` of them, of those that train the pattern, come first: the easiest, pattern by
    pattern and kind by kind.  Of equals `chance` decides.
    """
    shuffled = list(exercises)
    chance.shuffle(shuffled)
    by_grade = sorted(shuffled, key=_grade)
    first = [e for e in by_grade if e.about.role in ("", "pattern")][:blocked]
    chosen = {id(e) for e in first}
    rest = [e for e in by_grade if id(e) not in chosen]
    return _in_blocks(first), _mixed(rest)


def _grade(exercise: Exercise) -> float:
    return exercise.about.difficulty or 0.0


def _in_blocks(exercises: Sequence[Exercise]) -> list[Exercise]:
    """Pattern by pattern and kind by kind, the block with the easiest first."""
    patterns: dict[str, float] = {}
    kinds: dict[tuple[str, str], float] = {}
    for exercise in exercises:
        pattern, grade = exercise.about.pattern, _grade(exercise)
        patterns[pattern] = min(grade, patterns.get(pattern, grade))
        key = pattern, exercise.kind
        kinds[key] = min(grade, kinds.get(key, grade))
    return sorted(
        exercises,
        key=lambda e: (
            patterns[e.about.pattern],
            e.about.pattern,
            kinds[e.about.pattern, e.kind],
            e.kind,
            _grade(e),
        ),
    )


def _mixed(exercises: Sequence[Exercise]) -> list[Exercise]:
    """From easy to hard, but two neighbours are of different patterns and kinds if possible."""
    left = list(exercises)
    order: list[Exercise] = []
    while left:
        window = left[:_WINDOW]
        last = order[-1] if order else None
        best = min(range(len(window)), key=lambda i: (_sameness(window[i], last), i))
        order.append(left.pop(best))
    return order


def _sameness(exercise: Exercise, last: Exercise | None) -> int:
    if last is None:
        return 0
    same_pattern = (exercise.about.pattern, exercise.about.role) == (
        last.about.pattern,
        last.about.role,
    )
    return same_pattern + (exercise.kind == last.kind)
