"""Fill in the ledger: which squares can the mated king not use, and why."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Literal, Self

import chess

from flightless.cases.anatomy import field_of
from flightless.cases.case import FieldSquare, Man
from flightless.exercises.boards import fresh
from flightless.exercises.escapes import man_on, men_on
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.proofs import names_at
from flightless.exercises.reasons import BadSquare, LedgerDone, LedgerFault, Unreadable
from flightless.exercises.rendering import Diagram, Rendering, Space
from flightless.exercises.texts import Named, read_ledger

__all__ = ["LedgerTable"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerTable(Exercise):
    """For every square round the mated king: the man who stands on it or guards it.

    One true man for each square is enough, and no false one may be there.  `answers` has a row
    for each square with all men who answer for it: 'g7 = f6+h6'.
    """

    kind: ClassVar[str] = "ledger"

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From any mate."""
        del chance
        made = cls(
            position=fresh(material.case.board).fen(),
            answers=(),
            about=About(pattern=material.pattern, source=material.source),
        )
        return cls(position=made.position, answers=made.solve(), about=made.about)

    def solve(self) -> tuple[str, ...]:
        """A row for each square of the field, by file and rank."""
        return tuple(_row(f.square, f.reasons) for f in self._field() if f.square is not None)

    def filled(self) -> tuple[tuple[chess.Square, tuple[Man, ...]], ...]:
        """The complete ledger: each square with all men who answer for it."""
        board = self.board
        return tuple(
            (f.square, men_on(board, f.reasons)) for f in self._field() if f.square is not None
        )

    def canonical(self, answer: str) -> str | None:
        """The row with its men in square order."""
        rows = read_ledger(answer)
        if not rows or len(rows) > 1:
            return None
        square, named = rows[0]
        men = [square if n.own else n.square for n in named]
        if None in men:
            return None
        return _row(square, [m for m in men if m is not None])

    def mark(self, answer: str) -> Mark:
        """Square by square; the first fault decides, false entries before missing ones."""
        rows = read_ledger(answer)
        if rows is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "a ledger"))
        board = self.board
        by_square = {f.square: f for f in self._field() if f.square is not None}
        king = board.king(board.turn)
        assert king is not None
        right: set[chess.Square] = set()
        faults: list[LedgerFault] = []
        for square, named in rows:
            if square not in by_square:
                return Mark("wrong", BadSquare(square, king, empty=False))
            men = [_resolve(board, by_square[square], n) for n in named]
            for man in men:
                if isinstance(man, int):
                    return Mark("wrong", BadSquare(man, king, empty=True))
            false = [
                m for m in men if isinstance(m, Man) and m.square not in by_square[square].reasons
            ]
            if false:
                faults.append(self._fault("false", by_square[square], false[0]))
            else:
                right.add(square)
        false_squares = {fault.square for fault in faults}
        for square, f in by_square.items():
            if square not in right and square not in false_squares:
                faults.append(self._fault("missing", f, None))
        if not faults:
            return Mark("right", LedgerDone(len(by_square), self._lone()))
        first = faults[0]
        fault = LedgerFault(
            first.problem,
            first.square,
            first.said,
            first.by,
            first.blocked,
            len(right - false_squares),
            len(by_square),
        )
        return Mark("partly" if fault.right else "wrong", fault)

    def hints(self) -> tuple[Hint, ...]:
        """The pattern, the checker, the square that hangs on one man."""
        board = self.board
        ladder = []
        found = names_at(board.fen())
        if found:
            ladder.append(Hint("pattern", found[0].pattern.description, found[0].pattern.known_as))
        checkers = men_on(board, chess.scan_forward(board.checkers_mask()))
        ladder.append(Hint("man", man=checkers[0], role="checks"))
        lone = self._lone()
        if lone:
            ladder.append(Hint("square", square=lone[0][0], role="look"))
        return tuple(ladder)

    def rendering(self) -> Rendering:
        """One diagram and a table to fill in."""
        fen = self.board.fen()
        squares = tuple(f.square for f in self._field() if f.square is not None)
        space = Space("ledger", squares=squares)
        return Rendering((Diagram(fen, side_mark=False),), space, final=fen, mated=True)

    def expected(self) -> str:
        """A row."""
        return "a row like 'g7 = f6+h6': a square and the squares of the men who answer for it"

    def why_right(self, answer: str) -> str:
        """The true row."""
        return f"a row is missing: {answer!r}"

    def why_wrong(self, answer: str) -> str:
        """The row is false."""
        true = [row for row in self.solve() if row[:2] == answer.strip()[:2].lower()]
        if true:
            return f"{answer!r} is not true of this position: the row is {true[0]!r}"
        return f"{answer!r} is not true of this position: the king's field has no such square"

    def _field(self) -> tuple[FieldSquare, ...]:
        board = self.board
        found = field_of(board, board.turn)
        return tuple(
            sorted(
                found, key=lambda f: -1 if f.square is None else f.square % 8 * 8 + f.square // 8
            )
        )

    def _fault(
        self, problem: Literal["missing", "false"], f: FieldSquare, said: Man | None
    ) -> LedgerFault:
        assert f.square is not None
        men = tuple(man_on(self.board, square) for square in f.reasons)
        return LedgerFault(problem, f.square, said, men, f.state == "blocked", 0, 0)

    def _lone(self) -> tuple[tuple[chess.Square, Man], ...]:
        """Squares that one man alone answers for, the checker's own apart."""
        board = self.board
        checkers = set(chess.scan_forward(board.checkers_mask()))
        return tuple(
            (f.square, man_on(board, f.reasons[0]))
            for f in self._field()
            if f.square is not None and len(f.reasons) == 1 and f.reasons[0] not in checkers
        )

    def _malformed(self) -> Fault | None:
        if not self.board.is_checkmate():
            return Fault("position", "the side to move is not mated")
        return None


def _row(square: chess.Square, men: Iterable[chess.Square]) -> str:
    names = "+".join(chess.square_name(man) for man in sorted(set(men)))
    return f"{chess.square_name(square)} = {names}"


def _resolve(board: chess.Board, field: FieldSquare, named: Named) -> Man | int:
    """The man whom an entry means; the square if nobody of that kind stands there."""
    assert field.square is not None
    square = field.square if named.own else named.square
    if square is not None:
        piece = board.piece_at(square)
        if piece is None or (named.kind is not None and piece.piece_type != named.kind):
            return square
        return Man(square, piece)
    for reason in field.reasons:
        if board.piece_type_at(reason) == named.kind:
            return man_on(board, reason)
    for colour in (not board.turn, board.turn):
        for man in board.pieces(named.kind or chess.KING, colour):
            return man_on(board, man)
    return field.square
