"""Boards and ledgers as parts of a page: the drawings of `draw/`, sharing their men.

A page has each silhouette once; every diagram on it refers to them, so that a page of fifty
diagrams stays small.  Nothing is decided about chess here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import count

import chess
from markupsafe import Markup

from flightless.cases.case import Case
from flightless.cases.missing import NearMate
from flightless.draw.board import board_svg
from flightless.draw.labels import ENGLISH
from flightless.draw.ledger import ledger, man_name, row_note
from flightless.draw.marks import Marks

__all__ = ["Row", "Table", "diagram", "near_marks", "shared_men", "table_of_case", "table_of_near"]

_PREFIX = "book"
_numbers = count(1)


@lru_cache(maxsize=1)
def shared_men() -> Markup:
    """The men and the hatching, to stand once in a page that has diagrams."""
    everyone = chess.Board("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w - - 0 1")
    drawn = board_svg(everyone, prefix=_PREFIX)
    start, end = drawn.index("<defs>"), drawn.index("</defs>")
    return Markup(
        '<svg class="men" width="0" height="0" aria-hidden="true">'
        + drawn[start:end]
        + "</defs></svg>"
    )


def diagram(
    board: chess.Board,
    marks: Marks | None = None,
    *,
    perspective: chess.Color = chess.WHITE,
    size: int = 360,
    bare: bool = False,
    title: str | None = None,
) -> Markup:
    """A diagram for a page that has `shared_men`; a `bare` one has no coordinates."""
    drawn = board_svg(
        board,
        marks=marks,
        perspective=perspective,
        coordinates=not bare,
        size=size,
        prefix=_PREFIX,
        title=title,
    )
    start, end = drawn.index("<defs>"), drawn.index("</defs>") + len("</defs>")
    alone = f"{_PREFIX}{next(_numbers)}"
    head = drawn[:start]
    for part in ("title", "desc"):
        head = head.replace(f"{_PREFIX}-{part}", f"{alone}-{part}")
    return Markup(head + drawn[end:])


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a ledger in words; `alone` carries the accent, `free` is where the king can go."""

    square: str
    stands: str
    own: str
    guards: str
    note: str
    alone: bool
    free: bool


@dataclass(frozen=True, slots=True)
class Table:
    """A ledger in words."""

    king: str
    rows: tuple[Row, ...]


def table_of_case(case: Case) -> Table:
    """The ledger of a mate."""
    found = ledger(case)
    return Table(
        ENGLISH.king_on.format(square=chess.square_name(found.king.square)),
        tuple(
            Row(
                chess.square_name(row.square),
                ENGLISH.the_man.format(kind=ENGLISH.kinds[row.stands.piece.piece_type])
                if row.stands
                else "",
                ENGLISH.kinds[row.own.piece.piece_type] if row.own else "",
                ", ".join(man_name(found, man) for man in row.guards),
                row_note(row),
                row.alone,
                free=False,
            )
            for row in found.rows
        ),
    )


def table_of_near(near: NearMate) -> Table:
    """The ledger of a position that is no mate: the same columns, with the squares left free."""
    board = chess.Board(near.fen)
    rows = []
    for field in near.field:
        if field.square is None:
            continue
        there = board.piece_at(field.square)
        blocked = field.state == "blocked"
        kind = ENGLISH.kinds[there.piece_type] if there else ""
        guards = field.also_guarded_by if blocked else field.by
        rows.append(
            Row(
                chess.square_name(field.square),
                ENGLISH.the_man.format(kind=kind) if there and not blocked else "",
                kind if blocked else "",
                ", ".join(_guard(board, square) for square in guards),
                "free" if field.state == "free" else "",
                alone=False,
                free=field.state == "free",
            )
        )
    return Table(ENGLISH.king_on.format(square=chess.square_name(near.king)), tuple(rows))


def _guard(board: chess.Board, square: chess.Square) -> str:
    kind = board.piece_type_at(square)
    assert kind is not None
    colour = board.color_at(square)
    assert colour is not None
    alone = len(board.pieces(kind, colour)) == 1
    return ENGLISH.kinds[kind] + ("" if alone else f" {chess.square_name(square)}")


def near_marks(near: NearMate) -> Marks:
    """The marks of a position that is no mate: what is held, and the ways out."""
    on_board = [f for f in near.field if f.square is not None]
    return Marks(
        king=near.king,
        blocked=_squares(f.square for f in on_board if f.state == "blocked"),
        guarded=_squares(f.square for f in on_board if f.state == "guarded" or f.also_guarded_by),
        off_board=tuple(sorted(f.step for f in near.field if f.square is None)),
        checks=near.check.checkers if near.check else (),
        free=near.free if near.kind != "quiet" else (),
    )


def _squares(squares: Iterable[chess.Square | None]) -> tuple[chess.Square, ...]:
    return tuple(sorted(s for s in squares if s is not None))
