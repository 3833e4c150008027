"""The other king: would the mating side's own king fall to a heavy piece on his back rank?

One fact that a coach likes to add after a back-rank mate.  The mated side's check is left
out of account: it is a question about the other king alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from flightless.cases.anatomy import field_of, squares
from flightless.cases.case import Case, FieldSquare, Man

__all__ = ["OwnKing", "own_king"]


@dataclass(frozen=True, slots=True)
class OwnKing:
    """How the mating side's own king stands.

    `on_back_rank`: he is on his own first rank; if not, the rest is empty.  `mates` is every
    rook or queen of the mated side that, added on an empty square of that rank with the king
    to move, would be checkmate; `checks` is every one that would check.  `weak`: some added
    heavy piece mates.  `shut_in`: against some of these checks the king himself has no move;
    `defenders` are the men who would then have to answer.  `flights` are the squares of the next
    rank to which the king could go (empty, or with an unguarded man of the other side; lines
    through him count), `field` his whole field.  `luft` are his pawns that have made a flight
    by leaving it: a flight square with the pawn of his that stands further up its file.
    """

    king: chess.Square
    on_back_rank: bool
    mates: tuple[Man, ...]
    checks: tuple[Man, ...]
    shut_in: bool
    defenders: tuple[chess.Square, ...]
    flights: tuple[chess.Square, ...]
    luft: tuple[tuple[chess.Square, chess.Square], ...]
    field: tuple[FieldSquare, ...]

    @property
    def weak(self) -> bool:
        """Whether a heavy piece on the back rank would be mate."""
        return bool(self.mates)


def own_king(case: Case) -> OwnKing:
    """The question of the back rank asked of the mating side's king."""
    board = case.board
    king, colour = case.mating_king, case.mating
    field = field_of(board, colour)
    home = 0 if colour else 7
    if chess.square_rank(king) != home:
        return OwnKing(king, False, (), (), False, (), (), (), field)
    turned = board.copy(stack=False)
    turned.turn = colour
    turned.ep_square = None
    turned.castling_rights = chess.BB_EMPTY
    mates, checks = [], []
    shut_in = False
    defenders: set[chess.Square] = set()
    rank = chess.BB_RANKS[home] & ~board.occupied
    for square in squares(rank):
        for kind in (chess.ROOK, chess.QUEEN):
            man = Man(square, chess.Piece(kind, not colour))
            turned.set_piece_at(square, man.piece)
            if turned.is_check() and turned.checkers_mask() & chess.BB_SQUARES[square]:
                checks.append(man)
                origins = {move.from_square for move in turned.legal_moves}
                if king not in origins:
                    shut_in = True
                    defenders |= origins
                if not origins:
                    mates.append(man)
            turned.remove_piece_at(square)
    next_rank = home + (1 if colour else -1)
    flights = tuple(
        sorted(
            f.square
            for f in field
            if f.square is not None
            and f.state == "free"
            and chess.square_rank(f.square) == next_rank
        )
    )
    return OwnKing(
        king,
        True,
        tuple(mates),
        tuple(checks),
        shut_in,
        tuple(sorted(defenders)),
        flights,
        _luft(board, colour, flights),
        field,
    )


def _luft(
    board: chess.Board, colour: chess.Color, flights: tuple[chess.Square, ...]
) -> tuple[tuple[chess.Square, chess.Square], ...]:
    """Each flight with the nearest own pawn further up its file, who stood on it once."""
    found = []
    pawns = board.pieces_mask(chess.PAWN, colour)
    for square in flights:
        on_file = pawns & chess.BB_FILES[chess.square_file(square)]
        if on_file:
            pawn = chess.lsb(on_file) if colour else chess.msb(on_file)
            found.append((square, pawn))
    return tuple(found)
