"""What the recogniser needs of a case, as small numbers: masks of men for each field square.

Built once for each mate, so that trying forty patterns on it costs little.  The masks are
bitboards of the squares on which men stand, as python-chess has them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import chess

from flightless.cases.case import Case
from flightless.patterns.frames import FIELD, Frame, Step

__all__ = ["Facts", "facts_of"]


@dataclass(slots=True)
class Facts:
    """A mate as masks.  Field squares are numbered as in `FIELD`, on the board as it is."""

    case: Case
    kind: dict[chess.Square, chess.PieceType]
    mating: chess.Bitboard
    """The mating side's men, their king included."""
    own: chess.Bitboard
    on_board: tuple[bool, ...]
    squares: tuple[int, ...]
    """The field squares, -1 off the board."""
    guards: tuple[chess.Bitboard, ...]
    """Who of the mating side guards each field square, in the full position."""
    blocker: tuple[chess.Bitboard, ...]
    checkers: chess.Bitboard
    king_mask: chess.Bitboard
    """The mating king's square."""
    skeletons: tuple[chess.Bitboard, ...]
    """The men of each skeleton and the mating king."""
    own_taking_part: bool
    pieces_taking_part: chess.Bitboard
    """The mating side's pieces in any skeleton, the king if he takes part."""
    _protectors: dict[chess.Square, chess.Bitboard] = field(default_factory=dict)
    _steps: dict[int, dict[chess.Square, Step]] = field(default_factory=dict)

    def protectors(self, square: chess.Square) -> chess.Bitboard:
        """The mating men who attack `square` in the full position, the mated king lifted."""
        if square not in self._protectors:
            if square in self.squares:
                mask = self.guards[self.squares.index(square)]
            else:
                board = self.case.board
                lifted = board.occupied & ~chess.BB_SQUARES[self.case.king]
                mask = board.attackers_mask(self.case.mating, square, lifted)
            self._protectors[square] = mask
        return self._protectors[square]

    def steps(self, frame: Frame) -> dict[chess.Square, Step]:
        """Where each man stands as seen from the mated king, in the frame."""
        found = self._steps.get(frame.number)
        if found is None:
            k = frame.square[self.case.king]
            kf, kr = k & 7, k >> 3
            found = {}
            for square in self.kind:
                at = frame.square[square]
                found[square] = ((at & 7) - kf, (at >> 3) - kr)
            self._steps[frame.number] = found
        return found


def facts_of(case: Case) -> Facts:
    """The masks of a case."""
    board = case.board
    kind: dict[chess.Square, chess.PieceType] = {}
    for piece_type, mask in (
        (chess.PAWN, board.pawns),
        (chess.KNIGHT, board.knights),
        (chess.BISHOP, board.bishops),
        (chess.ROOK, board.rooks),
        (chess.QUEEN, board.queens),
        (chess.KING, board.kings),
    ):
        for square in chess.scan_forward(mask):
            kind[square] = piece_type
    own = board.occupied_co[case.mated]
    mating = board.occupied_co[case.mating]
    king_mask = chess.BB_SQUARES[case.mating_king]
    skeletons = tuple(_mask(s.men) | king_mask for s in case.skeletons)
    parts = 0
    for mask in skeletons:
        parts |= mask
    by_step = {f.step: f for f in case.field}
    field_squares = [by_step[step] for step in FIELD]
    pieces = parts & mating & ~board.pawns & ~king_mask
    return Facts(
        case=case,
        kind=kind,
        mating=mating,
        own=own,
        on_board=tuple(f.square is not None for f in field_squares),
        squares=tuple(-1 if f.square is None else f.square for f in field_squares),
        guards=tuple(_mask(f.reasons) & mating for f in field_squares),
        blocker=tuple(_mask(f.reasons) & own for f in field_squares),
        checkers=_mask(case.checkers),
        king_mask=king_mask,
        skeletons=skeletons,
        own_taking_part=bool(parts & own),
        pieces_taking_part=pieces | (king_mask if case.king_takes_part else 0),
    )


def _mask(squares: tuple[chess.Square, ...]) -> chess.Bitboard:
    mask = 0
    for square in squares:
        mask |= chess.BB_SQUARES[square]
    return mask
