"""Weighing in the background: what positions are worth in class, while pages are read.

One thread weighs what waits in the casebook and stops when the desk closes; what is done is
kept, so it goes on another day.  The measure is the exercises room's.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

from flightless.errors import FileError
from flightless.exercises.worth_keeping import weigh_casebook
from flightless.words.worth import document_sentences

if TYPE_CHECKING:
    from flightless.casebook import Casebook

__all__ = ["Weigher", "in_class"]

_AT_ONCE = 20
"""Positions between two looks at whether the desk closes: a second or so."""


class Weigher:
    """Weighs the positions of one casebook that are not weighed yet.  Safe for many pages."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="weigh")
        self._lock = threading.Lock()
        self._running: Future[None] | None = None
        self._closing = threading.Event()

    def begin(self, book: Casebook) -> int:
        """Go on with what waits, unless that is under way; how many positions wait."""
        waiting = book.without_worth(size=1, count=True).total or 0
        with self._lock:
            idle = self._running is None or self._running.done()
            if waiting and idle and not self._closing.is_set():
                self._running = self._pool.submit(self._weigh, book)
        return waiting

    def close(self) -> None:
        """Stop after the positions at hand."""
        self._closing.set()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _weigh(self, book: Casebook) -> None:
        while not self._closing.is_set() and weigh_casebook(book, most=_AT_ONCE):
            pass


def in_class(document: Mapping[str, Any] | None) -> tuple[str, ...]:
    """The sentences on what a position is worth in class, from the document that is kept."""
    if document is None:
        return ()
    try:
        return document_sentences(document)
    except FileError:
        return ("It was weighed by another measure; 'casebook weigh --again' weighs it anew.",)
