"""The ledger as a drawing, for screen and print: squares down, men across.

A frame holds the king's own man, a saltire stands under each man who guards, and a row that
hangs on one man carries the accent and says so; the signs are those of the board.
"""

from __future__ import annotations

from dataclasses import replace

import chess

from flightless.cases.case import Man
from flightless.draw import markshapes
from flightless.draw.ink import ACCENT, INK
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.ledger import Ledger, LedgerRow, ledger_text, row_note
from flightless.draw.marks import Role
from flightless.draw.men import BOOK, man
from flightless.draw.svg import Drawing, number, prefix_for, text

__all__ = ["ledger_drawing", "ledger_svg"]

_ROW = 40.0
_TYPE = 20.0
_COLUMN = 74.0
_EM = 0.5  # mean width of a letter of a book face in ems; columns are set a little wide


def ledger_svg(
    found: Ledger,
    *,
    size: float | None = None,
    title: str | None = None,
    prefix: str | None = None,
    labels: Labels = ENGLISH,
) -> str:
    """The ledger as a self-contained SVG, `size` pixels wide (its own width if None).

    A screen reader is given the ledger as text.
    """
    drawing = ledger_drawing(found, labels)
    if title:
        drawing = replace(drawing, title=title)
    prefix = prefix or prefix_for("ledger", found, size)
    return drawing.document(size or drawing.box[2], prefix, labels.language)


def ledger_drawing(found: Ledger, labels: Labels = ENGLISH) -> Drawing:
    """The ledger as a part of a larger picture; it needs no ids."""
    king = labels.king_on.format(square=chess.square_name(found.king.square))
    columns = _Columns(found, king, labels)
    head = _ROW * (2 if found.guards else 1)
    height = _ROW * len(found.rows) + head + 12
    drawn = _head(found, columns, king, labels)
    for index, row in enumerate(found.rows):
        drawn.extend(_row(found, row, columns, _ROW * index + head + 4, labels))
    drawn.append(_rule(height - 7, columns.width, 2))
    return Drawing(
        (0, 0, columns.width, height),
        "".join(drawn),
        title=labels.ledger_title.format(king=king),
        description=ledger_text(found, labels),
    )


class _Columns:
    """Where each column begins, from the length of its words."""

    def __init__(self, found: Ledger, king: str, labels: Labels) -> None:
        self.square = 26.0
        self.stands = 66.0
        self.own = max(self.square + len(king) * _TYPE * _EM + 24, 160)
        own_width = max(len(labels.own_man) * _TYPE * _EM + 28, _COLUMN)
        self.own_middle = self.own + own_width / 2 - 14
        self.guards = self.own + own_width
        guards_width = max(
            len(found.guards) * _COLUMN, len(labels.guarded_by) * _TYPE * _EM + 10, _COLUMN
        )
        self.note = self.guards + guards_width + 14
        notes = [len(row_note(row, labels)) for row in found.rows]
        self.width = self.note + max(notes, default=0) * _TYPE * _EM + 8

    def guard(self, index: int) -> float:
        """Middle of the column of guard `index`."""
        return self.guards + index * _COLUMN + _COLUMN / 2 - 8


def _rule(y: float, width: float, weight: float) -> str:
    return (
        f'<path d="M0 {number(y)}H{number(width)}" stroke="{INK}" '
        f'stroke-width="{number(weight)}" fill="none"/>'
    )


def _small(x: float, y: float, side: float, drawn: str) -> str:
    """`drawn`, which fills a square of 100 units, with its middle at `x`, `y`."""
    corner = f"{number(x - side / 2)} {number(y - side / 2)}"
    return f'<g transform="translate({corner}) scale({number(side / 100)})">{drawn}</g>'


def _man(x: float, y: float, figure: Man, side: float = 34) -> str:
    return _small(x, y, side, man(figure.piece, BOOK))


def _head(found: Ledger, columns: _Columns, king: str, labels: Labels) -> list[str]:
    base = _ROW - 14
    drawn = [
        text(columns.square - 22, base, king, _TYPE, style="italic"),
        text(columns.own_middle, base, labels.own_man, _TYPE, anchor="middle", style="italic"),
        text(columns.guard(0) - 18, base, labels.guarded_by, _TYPE, style="italic"),
    ]
    for index, guard in enumerate(found.guards):
        x = columns.guard(index)
        drawn.append(_man(x - 10, _ROW * 1.5 - 4, guard, 32))
        drawn.append(text(x + 7, _ROW * 1.5 + 6, chess.square_name(guard.square), _TYPE))
    drawn.append(_rule(_ROW * (2 if found.guards else 1) - 1, columns.width, 2))
    return drawn


def _row(found: Ledger, row: LedgerRow, columns: _Columns, top: float, labels: Labels) -> list[str]:
    middle, base = top + _ROW / 2, top + _ROW / 2 + 7
    colour = ACCENT if row.alone else INK
    weight = "600" if row.alone else ""
    drawn = []
    if row.alone:
        drawn.append(
            f'<rect x="0" y="{number(top + 3)}" width="7" height="{number(_ROW - 6)}" '
            f'fill="{ACCENT}"/>'
        )
    drawn.append(
        text(columns.square - 8, base, chess.square_name(row.square), _TYPE, weight=weight)
    )
    if row.stands:
        drawn.append(_man(columns.stands, middle, row.stands))
    if row.own:
        frame = markshapes.mark(Role.BLOCKED)
        drawn.append(_small(columns.own_middle, middle, 35, man(row.own.piece, BOOK) + frame))
    else:
        drawn.append(text(columns.own_middle, base, "–", _TYPE, anchor="middle"))
    guarding = {guard.square for guard in row.guards}
    for index, guard in enumerate(found.guards):
        if guard.square in guarding:
            saltire = markshapes.mark(Role.GUARDED)
            drawn.append(_small(columns.guard(index), middle, 36, saltire))
    if not found.guards:
        drawn.append(text(columns.guard(0), base, "–", _TYPE, anchor="middle"))
    if row.alone:
        drawn.append(
            text(columns.note, base, row_note(row, labels), _TYPE, fill=colour, weight=weight)
        )
    drawn.append(_rule(top + _ROW - 0.5, columns.width, 0.5))
    return drawn
