"""Speaking for exercises: the task, the reason of a mark, a hint, the solution.

Takes the facts of `exercises` and gives sentences of a language; it decides nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import ModuleType
from typing import Any

from flightless.errors import UsageError
from flightless.exercises.exercise import About, Exercise
from flightless.exercises.hints import Hint
from flightless.exercises.reasons import Reason
from flightless.exercises.rendering import Choice
from flightless.patterns.recognise import Name
from flightless.words.english import exercise_tasks as english_tasks
from flightless.words.english import reason_board as english_board
from flightless.words.english import reason_moves as english_moves
from flightless.words.german import exercise_tasks as german_tasks
from flightless.words.german import reason_board as german_board
from flightless.words.german import reason_moves as german_moves
from flightless.words.german.pattern_names import name_of_pattern

__all__ = [
    "LANGUAGES",
    "choice_text",
    "hint_text",
    "kind_title",
    "pattern_text",
    "role_text",
    "solution",
    "source_text",
    "speech",
    "spoken",
    "task",
    "verdict_text",
]

Rule = Callable[[Any], list[str]]


@dataclass(frozen=True, slots=True)
class Speech:
    """A language: a rule for each reason, the words for verdicts, and `tasks`, a module with
    tasks, titles, roles, solutions, boxes and hints."""

    reasons: Mapping[type[Reason], Rule]
    verdicts: Mapping[str, str]
    tasks: ModuleType


_SPEECH = {
    "de": Speech(
        {**german_moves.RULES, **german_board.RULES},
        {
            "right": "Richtig.",
            "longer": "Zu lang.",
            "partly": "Teilweise richtig.",
            "wrong": "Falsch.",
            "unreadable": "Nicht möglich.",
        },
        german_tasks,
    ),
    "en": Speech(
        {**english_moves.RULES, **english_board.RULES},
        {
            "right": "Right.",
            "longer": "Too long.",
            "partly": "Partly right.",
            "wrong": "Wrong.",
            "unreadable": "Not possible.",
        },
        english_tasks,
    ),
}

LANGUAGES = tuple(sorted(_SPEECH))
"""The languages there are, by their ISO 639-1 codes."""


def speech(language: str) -> Speech:
    """A language by its ISO 639-1 code.  Raises `UsageError` if there is none."""
    if language not in _SPEECH:
        known = " and ".join(LANGUAGES)
        raise UsageError(f"there is no phrasebook for language {language!r}, only for {known}")
    return _SPEECH[language]


def spoken(reason: Reason, language: str = "en") -> tuple[str, ...]:
    """The reason of a mark in one or two sentences (three at most)."""
    return tuple(speech(language).reasons[type(reason)](reason))


def verdict_text(verdict: str, language: str = "en") -> str:
    """The verdict of a mark, as a sentence of a word or two."""
    return speech(language).verdicts[verdict]


def task(exercise: Exercise, language: str = "en") -> str:
    """What is asked of the pupil, as one or two sentences."""
    told: str = speech(language).tasks.TASKS[exercise.kind](exercise)
    return told


def solution(exercise: Exercise, language: str = "en") -> str:
    """The right answers in one line, as a key prints them."""
    told: str = speech(language).tasks.solution(exercise)
    return told


def kind_title(kind: str, language: str = "en") -> str:
    """The name of a kind of exercise: 'Find the mate'."""
    told: str = speech(language).tasks.TITLES[kind]
    return told


def role_text(role: str, language: str = "en") -> str:
    """What an exercise is for in its set; empty for one that trains the pattern itself."""
    told: str = speech(language).tasks.ROLES.get(role, "")
    return told


def source_text(about: About, language: str = "en") -> str:
    """The line under a diagram: where the position comes from, 'after' it if it was turned."""
    told: str = speech(language).tasks.source_text(about)
    return told


def choice_text(exercise: Exercise, choice: Choice, language: str = "en") -> str:
    """What stands beside a box: 'the pawn on f6', 'bishop', a pattern's description."""
    told: str = speech(language).tasks.choice_text(exercise, choice)
    return told


def pattern_text(name: Name, language: str = "en") -> str:
    """A pattern under a final position: description and name, or the German name alone."""
    if language == "de":
        return name_of_pattern(name.name)
    return name.shown


def hint_text(hint: Hint, language: str = "en") -> str:
    """One step of the ladder as a sentence."""
    told: str = speech(language).tasks.hint_text(hint)
    return told
