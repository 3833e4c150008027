"""Taking items one by one into batches, with a count of what happened to each.

A bad item costs itself alone; the batches in between are for the caller to store.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from flightless.casebook.data import Counts, Refusal
from flightless.casebook.incoming import Incoming
from flightless.errors import FlightlessError

__all__ = ["Taking"]

_MOST_REFUSALS = 1000


class Taking:
    """The running count of one addition."""

    def __init__(self) -> None:
        self._read = self._positions = self._occurrences = self._improved = 0
        self._refusals = 0
        self._refused: list[Refusal] = []

    @property
    def counts(self) -> Counts:
        """The count so far."""
        return Counts(
            read=self._read,
            positions=self._positions,
            occurrences=self._occurrences,
            improved=self._improved,
            refusals=self._refusals,
            refused=tuple(self._refused),
        )

    def batches(
        self, items: Iterable[tuple[int, Callable[[], Incoming]]], size: int
    ) -> Iterator[list[Incoming]]:
        """The good items in batches; the bad ones are counted and listed by their numbers.

        Items of the same number come one after the other, and count as one that was read.
        """
        batch: list[Incoming] = []
        last = 0
        for number, item in items:
            self._read += number != last
            last = number
            try:
                batch.append(item())
            except FlightlessError as error:
                self._refusals += 1
                if len(self._refused) < _MOST_REFUSALS:
                    self._refused.append(Refusal(number, str(error)))
            if len(batch) == size:
                yield batch
                batch = []
        if batch:
            yield batch

    def stored(self, positions: int, occurrences: int, improved: int) -> None:
        """Count what storing a batch did."""
        self._positions += positions
        self._occurrences += occurrences
        self._improved += improved
