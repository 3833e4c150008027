"""Where sets are made from: a casebook's entries and a harvest's finds, as candidates.

A candidate is light: a position and what is known of it.  Proving and naming come later, and
only for those that are tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from flightless.casebook.data import Entry, Filter
from flightless.exercises.choice import Candidate
from flightless.exercises.lookalikes import alike
from flightless.exercises.sets import Wish

__all__ = [
    "MOST_OF_A_CASEBOOK",
    "candidate_of_entry",
    "candidate_of_find",
    "for_wish",
    "of_casebook",
]

MOST_OF_A_CASEBOOK = 10_000
"""So many positions of a casebook are looked through for one set, the first of each wish."""

_PAGE = 1_000

SourceText = Callable[[Mapping[str, Any]], str]
"""The line under a diagram from a game's facts (white, black, event, site, date)."""


def candidate_of_find(document: Mapping[str, Any], source_text: SourceText) -> Candidate:
    """A find of a harvest (its JSON document, already checked).

    A mate on the board is taken from where it became forced, if that is known.
    """
    source = document.get("source") or {}
    patterns = tuple(str(name) for name in document.get("patterns") or ())
    asked = document.get("way_in") or document
    return Candidate(
        str(asked["fen"]),
        int(asked.get("moves") or 0),
        len(asked.get("keys") or ()),
        patterns[0] if patterns else "",
        str(document.get("skeleton") or ""),
        source_text(source),
        f"{source.get('file', '')} {document.get('game', '')}",
        patterns,
        str(document.get("geometry_key") or ""),
    )


def candidate_of_entry(entry: Entry, source_text: SourceText) -> Candidate:
    """A position of a casebook."""
    game = entry.first.game if entry.first is not None else None
    tags = {} if game is None else {key.lower(): value for key, value in game.tags.items()}
    known = game is not None and bool(game.white or game.black or game.file)
    return Candidate(
        entry.fen,
        entry.moves,
        len(entry.keys),
        entry.patterns[0] if entry.patterns else "",
        entry.skeleton or "",
        source_text(tags),
        f"{game.file} {game.number} {game.white} {game.black}" if known and game else "",
        entry.patterns,
        entry.geometry_key or "",
    )


def for_wish(book: Any, wish: Wish, source_text: SourceText) -> tuple[Candidate, ...]:
    """Positions of a casebook for a set: of the wished patterns and of those that look like them,
    or whatever comes if no pattern is wished."""
    if not wish.patterns:
        return tuple(of_casebook(book, Filter(), source_text))
    near = [name for pattern in wish.patterns for name in alike(pattern)]
    names = dict.fromkeys([*wish.patterns, *(near if wish.look_alikes else [])])
    found: dict[str, Candidate] = {}
    for name in names:
        for candidate in of_casebook(book, Filter(patterns=(name,)), source_text):
            found.setdefault(candidate.fen, candidate)
    return tuple(found.values())


def of_casebook(
    book: Any, wanted: Filter, source_text: SourceText, most: int = MOST_OF_A_CASEBOOK
) -> Iterator[Candidate]:
    """The positions of a casebook that a filter lets through, up to `most`, in order."""
    after: int | None = None
    count = 0
    while count < most:
        page = book.find(wanted, after=after, size=min(_PAGE, most - count), count=False)
        for entry in page.entries:
            count += 1
            yield candidate_of_entry(entry, source_text)
        after = page.after
        if after is None:
            return
