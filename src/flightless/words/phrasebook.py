"""What a language must provide, and which languages there are.

A phrasebook says statements; it is given the state of the telling and gives whole sentences.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import chess

from flightless.cases.case import Man
from flightless.errors import UsageError
from flightless.words.english import book as english
from flightless.words.facts.statements import Statement
from flightless.words.german import book as german

__all__ = ["LANGUAGES", "Phrasebook", "phrasebook"]


@dataclass(frozen=True, slots=True)
class Phrasebook:
    """A language.

    `talk` begins a telling: given the men who may be named and the side whose king it is
    about, it gives the state that `say` keeps from sentence to sentence.  `rules` has one rule
    for each kind of statement.
    """

    language: str
    talk: Callable[[Iterable[Man], chess.Color | None], Any]
    rules: dict[type[Statement], Callable[[Any, Any], list[str]]]

    def say(self, statement: Statement, talk: Any) -> list[str]:
        """The sentences for one statement."""
        return self.rules[type(statement)](statement, talk)


_BOOKS = {
    "de": Phrasebook("de", german.Talk, german.RULES),
    "en": Phrasebook("en", english.Talk, english.RULES),
}

LANGUAGES = tuple(sorted(_BOOKS))
"""The languages there are, by their ISO 639-1 codes."""


def phrasebook(language: str) -> Phrasebook:
    """The phrasebook of a language, by its ISO 639-1 code.  Raises `UsageError` if there is
    none."""
    if language not in _BOOKS:
        known = " and ".join(LANGUAGES)
        raise UsageError(f"there is no phrasebook for language {language!r}, only for {known}")
    return _BOOKS[language]
