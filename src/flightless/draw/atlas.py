"""The atlas: the commonest skeletons of a collection as one sheet of small diagrams.

Counting is done elsewhere; here each entry comes with its number of cases and its name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import chess

from flightless.draw.board import Look, as_board, board_drawing
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.marks import NOTHING, Marks
from flightless.draw.side_by_side import grid
from flightless.draw.svg import prefix_for
from flightless.errors import UsageError

__all__ = ["AtlasEntry", "atlas_svg", "count_in_words"]


@dataclass(frozen=True, slots=True)
class AtlasEntry:
    """One skeleton: its position as FEN, in how many cases it occurs, and its name if any."""

    fen: str
    count: int
    name: str = ""
    marks: Marks = NOTHING
    perspective: chess.Color = chess.WHITE


def count_in_words(count: int, total: int | None, labels: Labels = ENGLISH) -> str:
    """'214 of 1,903', or '214 times' where the total is not known."""
    if total is not None:
        return labels.of_all.format(count=f"{count:,}", total=f"{total:,}")
    return labels.once if count == 1 else labels.times.format(count=f"{count:,}")


def atlas_svg(
    entries: Sequence[AtlasEntry],
    *,
    title: str,
    total: int | None = None,
    columns: int = 4,
    size: float = 960,
    prefix: str | None = None,
    labels: Labels = ENGLISH,
) -> str:
    """The picture sheet as one SVG `size` pixels wide, entries in the order given.

    `total` is the number of cases in the collection.  Raises `UsageError` if there is nothing
    to draw.
    """
    if not entries:
        raise UsageError("there is nothing to draw: the atlas has no skeletons")
    columns = min(columns, len(entries))
    prefix = prefix or prefix_for("atlas", *entries, total, columns, size)
    each = size / columns
    panels = []
    for index, entry in enumerate(entries):
        look = Look(entry.perspective, coordinates=False, side_mark=False, labels=labels)
        board = as_board(entry.fen)
        drawing = board_drawing(board, entry.marks, look, f"{prefix}-{index}", each * 0.9)
        panels.append((drawing, _caption(index + 1, entry, total, labels)))
    return grid(panels, columns, title=title, size=60).document(size, prefix, labels.language)


def _caption(number: int, entry: AtlasEntry, total: int | None, labels: Labels) -> str:
    counted = count_in_words(entry.count, total, labels)
    return f"{number}. {entry.name}\n{counted}" if entry.name else f"{number}.\n{counted}"
