"""The atlas on paper: what really occurs, the commonest skeletons first."""

from __future__ import annotations

from collections.abc import Sequence

from flightless.draw.atlas import AtlasEntry, count_in_words
from flightless.errors import UsageError
from flightless.press.figures import board_figure, figure_data
from flightless.press.page import LONGEST, PageSetup
from flightless.press.typeset import pdf_of, plain

__all__ = ["atlas_pdf"]

_MOST_COLUMNS = 6


def atlas_pdf(
    entries: Sequence[AtlasEntry],
    page: PageSetup,
    *,
    total: int | None = None,
    note: str = "",
    columns: int = 4,
) -> bytes:
    """The picture sheet of `entries`, in the order given.

    `total` is the number of cases in the collection, `note` a line under the title that says
    where they come from.  The bar under an entry is as long, against the column, as its count
    against the largest.  Raises `UsageError` for an empty atlas or an impossible layout.
    """
    if not entries:
        raise UsageError("there is nothing to print: the atlas has no skeletons")
    if not 1 <= columns <= _MOST_COLUMNS:
        raise UsageError(f"an atlas has 1 to {_MOST_COLUMNS} columns, not {columns}")
    labels = page.labels.draw
    largest = max(entry.count for entry in entries)
    figures = figure_data(
        [
            board_figure(
                entry.fen,
                marks=entry.marks,
                perspective=entry.perspective,
                coordinates=False,
                side_mark=False,
                labels=labels,
            )
            for entry in entries
        ]
    )
    rows = [
        {
            **figure,
            "number": number,
            "name": plain(entry.name, LONGEST),
            "counted": count_in_words(entry.count, total, labels),
            "share": entry.count / largest if largest else 0,
        }
        for number, (entry, figure) in enumerate(zip(entries, figures, strict=True), start=1)
    ]
    data = {**page.data(), "note": plain(note, 2 * LONGEST), "columns": columns, "entries": rows}
    return pdf_of(("book.typ", "atlas.typ"), data)
