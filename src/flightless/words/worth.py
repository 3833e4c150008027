"""Sentences on what a position is worth in class.  The measure is the exercises room's; only
its facts are told here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from flightless.errors import UsageError
from flightless.exercises.material import NotFit
from flightless.exercises.worth import Criterion, Reason, Worth, worth_of_document
from flightless.words.english import worth as english

__all__ = ["document_sentences", "reason_sentence", "worth_sentences"]


@dataclass(frozen=True, slots=True)
class _Book:
    """One language: what is only shown, and a rule for each fact."""

    shown: Callable[[int, bool | None], str]
    rules: Mapping[Criterion, Callable[[Mapping[str, Any]], str]]


_BOOKS = {"en": _Book(english.shown, english.RULES)}


def reason_sentence(reason: Reason, language: str = "en") -> str:
    """One fact: 'Nine men, seven of them take part.'"""
    return _book(language).rules[reason.criterion](reason.facts)


def worth_sentences(worth: Worth, language: str = "en") -> tuple[str, ...]:
    """What is shown and counts nothing (length, kind of key), then a sentence for each fact."""
    facts = (reason_sentence(reason, language) for reason in worth.reasons)
    return (_book(language).shown(worth.moves, worth.quiet), *facts)


def document_sentences(document: Mapping[str, Any], language: str = "en") -> tuple[str, ...]:
    """The sentences of a worth as it is kept, or why there is none.  Raises `FileError` for the
    document of another version."""
    worth = worth_of_document(document)
    if isinstance(worth, NotFit):
        return (f"Not weighed: {worth.reason}.",)
    return worth_sentences(worth, language)


def _book(language: str) -> _Book:
    if language not in _BOOKS:
        known = ", ".join(sorted(_BOOKS))
        raise UsageError(f"there is no phrasebook for language {language!r}, only for {known}")
    return _BOOKS[language]
