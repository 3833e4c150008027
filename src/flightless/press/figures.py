"""Pictures for a page: each a drawing, its reading for those who cannot see it, a caption."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import chess

from flightless.draw.board import as_board, board_svg
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.ledger import Ledger, ledger_text
from flightless.draw.ledger_svg import ledger_svg
from flightless.draw.legend import legend_svg
from flightless.draw.marks import NOTHING, Marks, Role
from flightless.draw.reading import position_in_words
from flightless.draw.whatif import Pair
from flightless.press.page import LONGEST, PageSetup, width_of
from flightless.press.typeset import plain

__all__ = [
    "LEDGER_SCALE",
    "Figure",
    "board_figure",
    "figure_data",
    "ledger_figure",
    "legend_data",
    "pair_figures",
]

LEDGER_SCALE = 0.4
"""Points a unit of a ledger: its letters come out at eight points."""
_LEGEND_SCALE = 0.38


@dataclass(frozen=True, slots=True)
class Figure:
    """One picture: SVG text, what a screen reader says, and the caption printed under it."""

    svg: str
    reading: str
    caption: str = ""


def board_figure(
    position: chess.Board | str,
    caption: str = "",
    *,
    marks: Marks = NOTHING,
    perspective: chess.Color = chess.WHITE,
    coordinates: bool = True,
    side_mark: bool = True,
    labels: Labels = ENGLISH,
) -> Figure:
    """A diagram with its marks."""
    board = as_board(position)
    svg = board_svg(
        board,
        marks=marks,
        perspective=perspective,
        coordinates=coordinates,
        side_mark=side_mark,
        labels=labels,
    )
    return Figure(svg, f"{position_in_words(board, labels)} {marks.in_words(labels)}", caption)


def pair_figures(
    pair: Pair,
    captions: tuple[str, str],
    *,
    perspective: chess.Color = chess.WHITE,
    labels: Labels = ENGLISH,
) -> tuple[Figure, Figure]:
    """The two diagrams of a what-if."""
    before, after = (
        board_figure(
            board, caption, marks=marks, perspective=perspective, side_mark=False, labels=labels
        )
        for board, marks, caption in (
            (pair.before, pair.before_marks, captions[0]),
            (pair.after, pair.after_marks, captions[1]),
        )
    )
    return before, after


def ledger_figure(found: Ledger, caption: str = "", *, labels: Labels = ENGLISH) -> Figure:
    """A ledger as it stands on paper."""
    return Figure(ledger_svg(found, labels=labels), ledger_text(found, labels), caption)


def figure_data(figures: Sequence[Figure]) -> list[dict[str, object]]:
    """The figures as the templates ask for them."""
    return [
        {
            "svg": figure.svg,
            "alt": figure.reading.strip(),
            "caption": plain(figure.caption, 2 * LONGEST),
            "width": width_of(figure.svg),
        }
        for figure in figures
    ]


def legend_data(roles: Iterable[Role], page: PageSetup) -> dict[str, object] | None:
    """The legend of `roles` for a page; None if there are none."""
    wanted = set(roles)
    shown = [role for role in Role if role in wanted]
    if not shown:
        return None
    labels = page.labels
    columns = 2 if page.large_print else 3
    svg = legend_svg(shown, columns=columns, labels=labels.draw, prefix="legend")
    words = "; ".join(role.label(labels.draw) for role in shown)
    width = page.points(width_of(svg), _LEGEND_SCALE)
    return {"svg": svg, "alt": f"{labels.legend}: {words}", "width": width}
