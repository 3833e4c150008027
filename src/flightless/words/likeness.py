"""Sentences on why two mates are alike.  The measure is the patterns room's; only its parts
are told here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flightless.words.facts.alike import alike_told
from flightless.words.phrasebook import phrasebook

if TYPE_CHECKING:
    from flightless.patterns.likeness import Likeness

__all__ = ["likeness_sentences"]


def likeness_sentences(likeness: Likeness, language: str = "en") -> tuple[str, ...]:
    """What two mates share, and where they differ."""
    book = phrasebook(language)
    talk = book.talk((), None)
    return tuple(line for statement in alike_told(likeness) for line in book.say(statement, talk))
