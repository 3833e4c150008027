"""Geometry keys for what a casebook holds: each that is wanting is worked out from its mate.

What a key is, is decided by `patterns`; the casebook only keeps it.
"""

from __future__ import annotations

from flightless.casebook.book import Casebook
from flightless.cases.build import case_of
from flightless.errors import PositionError
from flightless.patterns.atlas import mated_board
from flightless.patterns.geometry import geometry_key

__all__ = ["fill_geometry"]


def fill_geometry(book: Casebook) -> None:
    """Give every position whose skeleton is known the geometry key of the mate it ends in."""
    after: int | None = None
    while True:
        page = book.without_geometry(after=after)
        keys: dict[int, str] = {}
        for entry in page.entries:
            try:
                board = mated_board({"fen": entry.fen, "line": list(entry.line)})
            except PositionError:
                continue  # a length on somebody's word has no line to its mate, so no key either
            keys[entry.id] = geometry_key(case_of(board))
        if keys:
            book.set_geometry(keys)
        if page.after is None:
            return
        after = page.after
