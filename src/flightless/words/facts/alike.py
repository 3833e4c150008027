"""Statements on two mates that are alike: what they share, and where they differ.

Reads the likeness that the patterns room measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flightless.words.facts.statements import Statement

if TYPE_CHECKING:
    from flightless.patterns.likeness import Likeness

__all__ = ["Differ", "SameMate", "Share", "SquaresAlike", "alike_told"]

_TOLD = ("check", "place", "tandem", "own men")


@dataclass(frozen=True, slots=True)
class SameMate(Statement):
    """The two are one mate, up to turning, sliding and exchange."""


@dataclass(frozen=True, slots=True)
class Share(Statement):
    """A part that is the same in both; the words are those of the likeness."""

    part: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Differ(Statement):
    """A part in which they differ."""

    part: str
    first: tuple[str, ...]
    second: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SquaresAlike(Statement):
    """How many of the eight squares round the king are answered for by the same kind of man."""

    count: int


def alike_told(likeness: Likeness) -> list[Statement]:
    """What is the same, then what is not."""
    if likeness.value == 1.0:
        return [SameMate()]
    parts = [part for part in likeness.parts if part.name in _TOLD]
    told: list[Statement] = [Share(p.name, p.first) for p in parts if _same(p.first, p.second)]
    reasons = next(part for part in likeness.parts if part.name == "reasons")
    told.append(SquaresAlike(round(reasons.value * 8)))
    told += [Differ(p.name, p.first, p.second) for p in parts if not _same(p.first, p.second)]
    return told


def _same(first: Sequence[str], second: Sequence[str]) -> bool:
    return sorted(first) == sorted(second)
