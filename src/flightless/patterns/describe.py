"""The general description that every mate has, named or not.

Read off a case: which kinds of men work together, what the check is, where the king stands,
which own men are in his way, and how pure the mate is.  The way in is another room's work.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.case import Case, Man

__all__ = ["Description", "describe"]

Place = Literal["corner", "back rank", "edge", "centre"]
Purity = Literal["pure", "model", "neither"]

_ORDER = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN, chess.KING)


@dataclass(frozen=True, slots=True)
class Description:
    """What every mate has (the last section of docs/patterns.md).

    `tandem`: the kinds of the mating side's men that take part, each once, from queen to
    king.  `working`: those men.  `check`: for each checker 'next to the king and supported',
    'knight', 'far along the rank', 'far along the file' or 'far along the diagonal'; then
    'discovered' and 'double' where they hold (a discovered check is known only if the last
    move is).  `in_the_way`: the own men who take part and block field squares.  `purity`:
    'pure' if each field square has one reason only, 'model' if besides all of the mating
    side's pieces take part (king and pawns excepted), else 'neither'.
    """

    tandem: tuple[chess.PieceType, ...]
    working: tuple[Man, ...]
    check: tuple[str, ...]
    place: Place
    in_the_way: tuple[Man, ...]
    purity: Purity

    @property
    def tandem_words(self) -> tuple[str, ...]:
        """The tandem as words: 'rook', 'knight'."""
        return tuple(chess.piece_name(kind) for kind in self.tandem)


def describe(case: Case) -> Description:
    """The description of a case."""
    board = case.board
    working = []
    for square in chess.scan_forward(board.occupied_co[case.mating]):
        piece = board.piece_at(square)
        assert piece is not None
        king = piece.piece_type == chess.KING
        if case.king_takes_part if king else case.takes_part[square] != "none":
            working.append(Man(square, piece))
    kinds = {man.piece.piece_type for man in working}
    return Description(
        tandem=tuple(kind for kind in _ORDER if kind in kinds),
        working=tuple(working),
        check=_check(case, board),
        place=_place(case),
        in_the_way=_in_the_way(case, board),
        purity=_purity(case, board),
    )


def _check(case: Case, board: chess.Board) -> tuple[str, ...]:
    found: list[str] = []
    for checker in case.checkers:
        word = _one_check(board.piece_type_at(checker), checker, case.king)
        if word not in found:
            found.append(word)
    if case.discovered:
        found.append("discovered")
    if len(case.checkers) > 1:
        found.append("double")
    return tuple(found)


def _one_check(kind: chess.PieceType | None, checker: chess.Square, king: chess.Square) -> str:
    if kind == chess.KNIGHT:
        return "knight"
    if chess.square_distance(checker, king) == 1:
        return "next to the king and supported"
    if chess.square_rank(checker) == chess.square_rank(king):
        return "far along the rank"
    if chess.square_file(checker) == chess.square_file(king):
        return "far along the file"
    return "far along the diagonal"


def _place(case: Case) -> Place:
    mask = chess.BB_SQUARES[case.king]
    if mask & chess.BB_CORNERS:
        return "corner"
    if mask & (chess.BB_RANK_1 if case.mated else chess.BB_RANK_8):
        return "back rank"
    edge = chess.BB_RANK_1 | chess.BB_RANK_8 | chess.BB_FILE_A | chess.BB_FILE_H
    return "edge" if mask & edge else "centre"


def _in_the_way(case: Case, board: chess.Board) -> tuple[Man, ...]:
    found = []
    for square in sorted(f.square for f in case.field if f.square is not None):
        piece = board.piece_at(square)
        if piece is not None and piece.color == case.mated and case.takes_part[square] != "none":
            found.append(Man(square, piece))
    return tuple(found)


def _purity(case: Case, board: chess.Board) -> Purity:
    if any(len(f.reasons) != 1 for f in case.field if f.square is not None):
        return "neither"
    pieces = board.occupied_co[case.mating] & ~board.pawns & ~board.kings
    every = all(case.takes_part[square] != "none" for square in chess.scan_forward(pieces))
    return "model" if every else "pure"
