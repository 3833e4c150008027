"""The ledger of a case: one row for each square round the king, and the men who answer for it.

The rows go round the king from one edge of the board to the other, as the eye does.  A row
that hangs on one man is marked; what the only checker holds is not (see `held_by_one`).
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from flightless.cases.case import Case, FieldSquare, Man
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.marks import held_by_one

__all__ = ["Ledger", "LedgerRow", "ledger", "ledger_text", "man_name", "row_note"]

_ROUND = ((-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0), (1, 1), (0, 1), (-1, 1))
"""From the king's left round by the ranks below him; mirrored for a white king."""


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """One field square on the board.

    `stands` is a mating man on it, `own` the king's own man on it, `guards` the mating men
    who attack it (king lifted); `alone` says that exactly one man answers for it.
    """

    square: chess.Square
    stands: Man | None
    own: Man | None
    guards: tuple[Man, ...]
    alone: bool


@dataclass(frozen=True, slots=True)
class Ledger:
    """All rows of a case; `guards` are the men of the last columns, checkers first.

    `unique` are the kinds of which each side has one man only, who need no square beside
    their name; `off_board` counts the squares of the field that do not exist.
    """

    king: Man
    rows: tuple[LedgerRow, ...]
    guards: tuple[Man, ...]
    checkers: tuple[chess.Square, ...]
    unique: frozenset[tuple[chess.PieceType, chess.Color]]
    off_board: int


def ledger(case: Case) -> Ledger:
    """The ledger of `case`."""
    board = case.board
    rows = tuple(_row(case, board, square) for square in _in_order(case))
    guards = {man.square: man for row in rows for man in row.guards}
    order = sorted(guards, key=lambda square: (square not in case.checkers, square))
    unique = frozenset(
        (kind, colour)
        for kind in chess.PIECE_TYPES
        for colour in chess.COLORS
        if len(board.pieces(kind, colour)) == 1
    )
    return Ledger(
        king=_man(board, case.king),
        rows=rows,
        guards=tuple(guards[square] for square in order),
        checkers=case.checkers,
        unique=unique,
        off_board=sum(square.square is None for square in case.field),
    )


def _man(board: chess.Board, square: chess.Square) -> Man:
    piece = board.piece_at(square)
    assert piece is not None, f"the case names {chess.square_name(square)}, which is empty"
    return Man(square, piece)


def _in_order(case: Case) -> list[FieldSquare]:
    """The field squares on the board, round the king, the gap at the edge left out."""
    by_step = {square.step: square for square in case.field}
    turn = 1 if case.mated == chess.BLACK else -1
    steps = [(x, y * turn) for x, y in _ROUND]
    starts = [
        i
        for i, step in enumerate(steps)
        if by_step[step].square is not None and by_step[steps[i - 1]].square is None
    ]
    first = starts[0] if starts else 0
    ring = (by_step[step] for step in steps[first:] + steps[:first])
    return [square for square in ring if square.square is not None]


def _row(case: Case, board: chess.Board, field: FieldSquare) -> LedgerRow:
    assert field.square is not None
    blocked = field.state == "blocked"
    there = board.piece_at(field.square)
    guards = field.also_guarded_by if blocked else field.by
    return LedgerRow(
        square=field.square,
        stands=Man(field.square, there) if there and not blocked else None,
        own=Man(field.square, there) if there and blocked else None,
        guards=tuple(_man(board, square) for square in guards),
        alone=held_by_one(case, field),
    )


def row_note(row: LedgerRow, labels: Labels = ENGLISH) -> str:
    """The remark at the end of a row; empty unless one man alone answers for the square."""
    if not row.alone:
        return ""
    return labels.one_blocker if row.own else labels.one_guard


def man_name(found: Ledger, man: Man, labels: Labels = ENGLISH) -> str:
    """'queen', or 'pawn f6' where the side has more than one of the kind."""
    kind = labels.kinds[man.piece.piece_type]
    if (man.piece.piece_type, man.piece.color) in found.unique:
        return kind
    return f"{kind} {chess.square_name(man.square)}"


def ledger_text(found: Ledger, labels: Labels = ENGLISH) -> str:
    """The ledger in plain characters, columns aligned, without colour."""
    head = (
        labels.king_on.format(square=chess.square_name(found.king.square)),
        labels.own_man,
        labels.guarded_by,
        "",
    )
    table = [head]
    for row in found.rows:
        square = f" {chess.square_name(row.square)}"
        if row.stands:
            kind = labels.kinds[row.stands.piece.piece_type]
            square += f"  {labels.the_man.format(kind=kind)}"
        own = labels.kinds[row.own.piece.piece_type] if row.own else "-"
        guards = ", ".join(man_name(found, man, labels) for man in row.guards) or "-"
        table.append((square, own, guards, row_note(row, labels)))
    widths = [max(len(line[i]) for line in table) for i in range(3)]
    return "\n".join(
        "   ".join((*(line[i].ljust(widths[i]) for i in range(3)), line[3])).rstrip()
        for line in table
    )
