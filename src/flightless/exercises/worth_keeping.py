"""Weighing many positions: in several processes, in order, and into a casebook.

What is done is kept batch by batch, so that after an interruption the same call goes on where
it stopped.  One position is `worth`'s; the processes are the harvest's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import chess

from flightless.casebook.data import Entry, Weighed
from flightless.exercises.material import NotFit
from flightless.exercises.worth import (
    Worth,
    refusal_document,
    weigh,
    worth_document,
    worth_of_document,
)
from flightless.harvest.crew import Alone, Crew, Pool, in_order

if TYPE_CHECKING:
    from flightless.casebook.book import Casebook

__all__ = ["ToWeigh", "weigh_all", "weigh_casebook"]

_BATCH = 50
"""Positions that are weighed and kept together; an interruption costs these at most."""

_MANY = 400
"""So many positions are worth the start of further processes."""

_WITHIN = 5

_LONGEST = 20
"""Longer mates than this are not proved again to be weighed."""


@dataclass(frozen=True, slots=True)
class ToWeigh:
    """A position to be weighed: `moves` is its length where that is known, `id` its number in
    a casebook."""

    fen: str
    moves: int | None = None
    from_game: bool = False
    id: int = 0

    def worth(self) -> Worth | NotFit:
        """What it is worth, or why that cannot be said."""
        within = _WITHIN if self.moves is None else max(1, abs(self.moves))
        if within > _LONGEST:
            return NotFit(f"mates in more than {_LONGEST} are not weighed")
        return weigh(chess.Board(self.fen), from_game=self.from_game, within=within)

    def document(self) -> dict[str, Any]:
        """The same in its JSON form."""
        worth = self.worth()
        if isinstance(worth, NotFit):
            return refusal_document(self.fen, worth)
        return worth_document(worth)


def weigh_all(
    positions: Sequence[ToWeigh],
    *,
    jobs: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> list[Worth | NotFit]:
    """What each position is worth, in their order.  `progress` is told how many of how many."""
    starts = range(0, len(positions), _BATCH)
    found: list[Worth | NotFit] = []
    with closing(_crew(jobs, len(positions))) as crew:
        tasks = (list(positions[start : start + _BATCH]) for start in starts)
        for _, documents in in_order(crew, tasks, _weigh_batch, _itself):
            found += [worth_of_document(document) for document in documents]
            if progress is not None:
                progress(len(found), len(positions))
    return found


def weigh_casebook(
    book: Casebook,
    *,
    jobs: int = 1,
    most: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> int:
    """Weigh the positions of a casebook that are not weighed yet, in the order in which they
    were added, `most` of them at most; how many were weighed.

    Each batch of fifty is kept at once.  A position that cannot be weighed is kept as
    such, with the reason, and not tried again.
    """
    waiting = book.without_worth(size=1, count=True).total or 0
    total = waiting if most is None else min(most, waiting)
    done = 0
    with closing(_crew(jobs, total)) as crew:
        for batch, documents in in_order(crew, _waiting(book, total), _weigh_batch, _itself):
            pairs = zip(batch, documents, strict=True)
            done += book.set_worths(
                {one.id: Weighed(document.get("total"), document) for one, document in pairs}
            )
            if progress is not None:
                progress(done, total)
    return done


def _crew(jobs: int, positions: int) -> Crew:
    return Pool(jobs) if jobs > 1 and positions > _MANY else Alone()


def _waiting(book: Casebook, most: int) -> Iterator[list[ToWeigh]]:
    """The positions of a casebook that are not weighed yet, in batches."""
    after: int | None = None
    while most > 0:
        page = book.without_worth(after=after, size=min(_BATCH, most))
        if page.entries:
            yield [_to_weigh(entry) for entry in page.entries]
        most -= len(page.entries)
        after = page.after
        if after is None:
            return


def _to_weigh(entry: Entry) -> ToWeigh:
    return ToWeigh(entry.fen, entry.moves, entry.occurrences > 0, entry.id)


def _itself(batch: list[ToWeigh]) -> list[ToWeigh]:
    return batch


def _weigh_batch(batch: Iterable[ToWeigh]) -> list[dict[str, Any]]:
    """As documents, which can be handed from one process to another."""
    return [one.document() for one in batch]
