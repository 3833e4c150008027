"""Names and description of a mate as plain JSON values, for `explain --json` and harvests.

Nothing is computed here beyond what `recognise` and `describe` answer.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import chess

from flightless.cases.case import Case, Man
from flightless.patterns.describe import Description, describe
from flightless.patterns.recognise import Catalogue, Name, names

__all__ = ["description_document", "name_document", "pattern_documents"]


def pattern_documents(case: Case, among: Catalogue | None = None) -> dict[str, Any]:
    """`patterns` (all names, the most specific first), `tandem` (kinds as words) and
    `description`, ready to be put into the document of the case."""
    description = describe(case)
    return {
        "patterns": [name_document(name) for name in names(case, among)],
        "tandem": list(description.tandem_words),
        "description": description_document(description),
    }


def name_document(name: Name) -> dict[str, Any]:
    """One name with its words, the skeleton it was found in and the men in their roles."""
    pattern = name.pattern
    return {
        "name": name.name,
        "description": pattern.description,
        "known_as": pattern.known_as,
        "shown": pattern.shown,
        "family": pattern.family,
        "parents": list(pattern.parents),
        "skeleton": name.skeleton.fen,
        "men": {role: _names(squares) for role, squares in name.men.items()},
    }


def description_document(description: Description) -> dict[str, Any]:
    """The general description; men are letters of K Q R B N P with their squares."""
    return {
        "tandem": list(description.tandem_words),
        "working": _men(description.working),
        "check": list(description.check),
        "place": description.place,
        "own_men_in_the_way": {
            "squares": len(description.in_the_way),
            "men": _men(description.in_the_way),
        },
        "purity": description.purity,
    }


def _names(squares: Iterable[chess.Square]) -> list[str]:
    return [chess.square_name(square) for square in squares]


def _men(men: Iterable[Man]) -> list[dict[str, str]]:
    return [
        {
            "man": chess.piece_symbol(man.piece.piece_type).upper(),
            "square": chess.square_name(man.square),
        }
        for man in men
    ]
