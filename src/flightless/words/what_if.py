"""Sentences on single changes, for contrast pairs and exercises.

The way in to the statements of `facts.what_if`; an account of a whole position is `explain`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from flightless.cases.case import Case
from flightless.words.facts.scene import Scene
from flightless.words.facts.statements import Statement
from flightless.words.facts.what_if import (
    break_told,
    breaks_told,
    start_told,
    variations_told,
)
from flightless.words.phrasebook import phrasebook

if TYPE_CHECKING:
    from flightless.cases.breaks import Break, BreakKind
    from flightless.cases.variations import StartVariations, Variations

__all__ = [
    "break_sentence",
    "break_sentences",
    "start_sentences",
    "variation_sentences",
]


def break_sentence(case: Case, one: Break, language: str = "en") -> str:
    """One change and the first thing that then happens: 'With the pawn on h6 instead of h7
    the king goes to h7.'"""
    return _said([break_told(case, one)], case, language)[0]


def break_sentences(
    case: Case,
    breaks: Sequence[Break],
    kinds: Sequence[BreakKind] | None = None,
    language: str = "en",
) -> tuple[str, ...]:
    """One or two changes of each kind."""
    return _said(breaks_told(case, breaks, kinds), case, language)


def variation_sentences(
    case: Case, variations: Variations, language: str = "en"
) -> tuple[str, ...]:
    """Who else would block, and which line men could stand elsewhere."""
    return _said(variations_told(case, variations), case, language)


def start_sentences(start: StartVariations, language: str = "en") -> tuple[str, ...]:
    """What could be otherwise in the starting position of a forced line."""
    return _said(start_told(start), None, language)


def _said(statements: Iterable[Statement], case: Case | None, language: str) -> tuple[str, ...]:
    book = phrasebook(language)
    talk = book.talk((), None) if case is None else book.talk(Scene(case).cast, case.mated)
    lines = [line for statement in statements for line in book.say(statement, talk)]
    return tuple(dict.fromkeys(lines))
