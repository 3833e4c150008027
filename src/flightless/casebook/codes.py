"""The casebook's vocabularies, and how words become the small numbers of its tables.

Codes are part of the file format: one that has been given is never given another meaning,
and new words are added at the end.  Text is folded here too, so that names are found
without regard to capitals and accents.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import Final, get_args

from flightless.casebook.data import Kind, Phase, Side
from flightless.errors import UsageError

__all__ = [
    "KINDS",
    "NATURES",
    "NOT_WEIGHED",
    "NO_WORTH",
    "PHASES",
    "SIDES",
    "fold",
    "mask_of",
    "plain_name",
    "tandem_of",
    "words_of",
    "worth_code",
    "worth_of_code",
]

KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
PHASES: Final[tuple[Phase, ...]] = get_args(Phase)
SIDES: Final[tuple[Side, ...]] = get_args(Side)

NATURES: Final[tuple[str, ...]] = (
    "check",
    "discovered check",
    "double check",
    "capture",
    "promotion",
    "quiet",
    "sacrifice",
    "decoy",
    "deflection",
    "line opening",
    "clearance",
    "self-block",
    "interposition captured",
)
"""What a key can be.  The first six are read off the move itself (*quiet* is neither check
nor capture, the usual sense of the literature); the others come from the way in."""

NOT_WEIGHED: Final = -1
"""The code of a worth that is not known yet."""

NO_WORTH: Final = -2
"""The code of a worth that was asked for and could not be told."""

_WORTHS: Final = 10_000

MOST_OF_A_NAME: Final = 200
"""Longest name of a pattern, tag or lesson, in characters."""

_KIND_NAMES = {"king": "K", "queen": "Q", "rook": "R", "bishop": "B", "knight": "N", "pawn": "P"}
_TANDEM_ORDER = "KQRBNP"
_SEPARATORS = re.compile(r"[\s,+&·/-]+|\band\b", re.IGNORECASE)


def mask_of(words: Iterable[str], vocabulary: tuple[str, ...], what: str) -> int:
    """The words as bits, lowest bit first word.  `UsageError` for a word that is not known."""
    mask = 0
    for word in words:
        if word not in vocabulary:
            raise UsageError(f"{word!r} is no {what}; known are {', '.join(vocabulary)}")
        mask |= 1 << vocabulary.index(word)
    return mask


def worth_code(worth: float | None) -> int:
    """A worth from 0 to 1 in ten-thousandths.  `UsageError` if it is none."""
    if worth is None:
        return NO_WORTH
    if not 0 <= worth <= 1:
        raise UsageError(f"a worth must be a number from 0 to 1, and is {worth}")
    return round(worth * _WORTHS)


def worth_of_code(code: int) -> float | None:
    """The worth again; None where there is none."""
    return None if code < 0 else code / _WORTHS


def words_of(mask: int, vocabulary: tuple[str, ...]) -> tuple[str, ...]:
    """The words whose bits are set, in the vocabulary's order."""
    return tuple(word for bit, word in enumerate(vocabulary) if mask >> bit & 1)


def tandem_of(text: str | Iterable[str]) -> str:
    """Kinds of men as letters in the order K Q R B N P, each once: 'knight and rook' is 'RN'.

    Letters may be of either case.  `UsageError` for anything that is no kind of man.
    """
    words = _SEPARATORS.split(text) if isinstance(text, str) else list(text)
    letters = set()
    for word in filter(None, words):
        named = _KIND_NAMES.get(word.lower().removesuffix("s"))
        if named is not None:
            letters.add(named)
        elif set(word.upper()) <= set(_TANDEM_ORDER):
            letters |= set(word.upper())
        else:
            raise UsageError(f"{word!r} is no kind of man: write for instance 'QN' or 'queen'")
    return "".join(letter for letter in _TANDEM_ORDER if letter in letters)


@lru_cache(maxsize=1 << 14)
def fold(text: str) -> str:
    """Text for comparison: no capitals, accents or control characters, single spaces."""
    if text.isascii() and text.isprintable():
        return " ".join(text.lower().split())
    plain = "".join(
        " " if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") else c
        for c in unicodedata.normalize("NFKD", text)
        if not unicodedata.combining(c)
    )
    return " ".join(plain.casefold().split())


def plain_name(text: object, what: str) -> str:
    """A name that can be listed and typed again; `UsageError` if it is empty, long or unprintable.

    Every character keeps its own meaning only: names go to the database as bound values.
    """
    if not isinstance(text, str):
        raise UsageError(f"the name of a {what} must be text, and is {text!r}")
    name = text.strip()
    if not name:
        raise UsageError(f"the name of a {what} is empty")
    if len(name) > MOST_OF_A_NAME:
        raise UsageError(f"the name of a {what} has {len(name)} characters; {MOST_OF_A_NAME} fit")
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in name):
        raise UsageError(f"the name of a {what} has unprintable characters: {name!r}")
    return name
