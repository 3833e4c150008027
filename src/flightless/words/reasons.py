"""Speaking for exercises: the task, the reason of a mark, a hint, the solution.

Takes the facts of `exercises` and gives sentences of a phrasebook; it decides nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flightless.errors import UsageError
from flightless.exercises.exercise import About, Exercise
from flightless.exercises.hints import Hint
from flightless.exercises.reasons import Reason
from flightless.exercises.rendering import Choice
from flightless.words.english import exercise_tasks, reason_board, reason_moves

__all__ = [
    "choice_text",
    "hint_text",
    "kind_title",
    "role_text",
    "solution",
    "source_text",
    "spoken",
    "task",
]

Rule = Callable[[Any], list[str]]

_REASONS: dict[str, dict[type[Reason], Rule]] = {
    "en": {**reason_moves.RULES, **reason_board.RULES},
}


def spoken(reason: Reason, language: str = "en") -> tuple[str, ...]:
    """The reason of a mark in one or two sentences (three at most)."""
    rules = _REASONS.get(language)
    if rules is None:
        known = ", ".join(sorted(_REASONS))
        raise UsageError(f"there is no phrasebook for language {language!r}, only for {known}")
    return tuple(rules[type(reason)](reason))


def task(exercise: Exercise) -> str:
    """What is asked of the pupil, as one or two sentences."""
    return exercise_tasks.TASKS[exercise.kind](exercise)


def solution(exercise: Exercise) -> str:
    """The right answers in one line, as a key prints them."""
    return exercise_tasks.solution(exercise)


def kind_title(kind: str) -> str:
    """The name of a kind of exercise: 'Find the mate'."""
    return exercise_tasks.TITLES[kind]


def role_text(role: str) -> str:
    """What an exercise is for in its set; empty for one that trains the pattern itself."""
    return exercise_tasks.ROLES.get(role, "")


def source_text(about: About) -> str:
    """The line under a diagram: where the position comes from, 'after' it if it was turned."""
    return exercise_tasks.source_text(about)


def choice_text(exercise: Exercise, choice: Choice) -> str:
    """What stands beside a box: 'the pawn on f6', 'bishop', a pattern's description."""
    return exercise_tasks.choice_text(exercise, choice)


def hint_text(hint: Hint) -> str:
    """One step of the ladder as a sentence."""
    return exercise_tasks.hint_text(hint)
