"""Handouts: what a pupil takes home, as sections of pictures and sentences on one column."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flightless.draw.marks import Role
from flightless.errors import UsageError
from flightless.press.figures import LEDGER_SCALE, Figure, figure_data, legend_data
from flightless.press.page import LONGEST, PageSetup
from flightless.press.typeset import paragraphs, pdf_of, plain

__all__ = ["HandoutSection", "handout_pdf"]


@dataclass(frozen=True, slots=True)
class HandoutSection:
    """One step of a handout: `figures` in a row (at most three), then `sentences` (an empty
    one begins a new paragraph), then `ledgers` one under the other."""

    heading: str = ""
    figures: tuple[Figure, ...] = ()
    sentences: tuple[str, ...] = ()
    ledgers: tuple[Figure, ...] = ()


def handout_pdf(
    sections: Sequence[HandoutSection],
    page: PageSetup,
    *,
    note: str = "",
    legend: Iterable[Role] = (),
) -> bytes:
    """The sections as a PDF, with the legend of the roles in `legend` at the end.

    Raises `UsageError` if there is nothing to print.
    """
    if not sections:
        raise UsageError("there is nothing to print: the handout has no sections")
    data = {
        **page.data(),
        "note": plain(note, 2 * LONGEST),
        "table_scale": page.points(1, LEDGER_SCALE),
        "sections": [
            {
                "heading": plain(section.heading, LONGEST),
                "figures": figure_data(section.figures),
                "paragraphs": paragraphs(section.sentences),
                "tables": figure_data(section.ledgers),
            }
            for section in sections
        ],
        "legend": legend_data(legend, page),
    }
    return pdf_of(("book.typ", "handout.typ"), data)
