"""Whether a position could have come from a game: a simple look, and some legal last move.

What is refused may still be possible in a freak game; what is passed may still be impossible
for deeper reasons.  Whether the position is good for anything is not judged here.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import chess

from flightless.positions import board_refusals

__all__ = ["has_last_move", "unmoves", "unnatural"]

_TAKEN = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)


def unnatural(board: chess.Board) -> str | None:
    """Why a position does not look as if it came from a game, as a clause; None if it does.

    Illegal (FIDE Laws, and checks that no move gives); a man who must have been promoted; more
    captures by pawns than men of the other side are missing (each pawn from a file of its own,
    without crossing over); no legal last move.
    """
    refusals = board_refusals(board)
    if refusals:
        return refusals[0]
    if not board.is_valid():
        return "no game leads to these checks or rights"
    for colour in chess.COLORS:
        side = "White" if colour else "Black"
        if _promoted(board, colour):
            return f"{side} has a man who must have been promoted"
        captures = _pawn_captures(board, colour)
        missing = 16 - chess.popcount(board.occupied_co[not colour])
        if captures is None or captures > missing:
            return f"{side}'s pawns cannot have come to their files"
    return None if has_last_move(board) else "no last move leads to it"


def has_last_move(board: chess.Board) -> bool:
    """Whether some legal move of the side not to move leads to the position (castling and
    taking en passant are not tried)."""
    return next(unmoves(board), None) is not None


def unmoves(
    board: chess.Board, taken: tuple[chess.PieceType, ...] = _TAKEN
) -> Iterator[tuple[chess.Board, chess.Move]]:
    """Every position before, and the move that leads from it to `board`.

    `taken` are the kinds that the move may have captured; captures come last of each origin.
    Castling and en passant are left out.  Rights are kept as they are, so a king or rook who
    still has the right to castle has not moved.
    """
    mover = not board.turn
    for to in chess.scan_forward(board.occupied_co[mover]):
        piece = board.piece_at(to)
        assert piece is not None
        for origin, kind, captures in _origins(board, to, piece):
            for victim in (None, *taken) if captures is None else taken if captures else (None,):
                if victim == chess.PAWN and chess.square_rank(to) in (0, 7):
                    continue
                before = _before(board, origin, to, kind, victim)
                promotion = piece.piece_type if kind != piece.piece_type else None
                move = chess.Move(origin, to, promotion)
                if _leads(before, move, board):
                    yield before, move


def _origins(
    board: chess.Board, to: chess.Square, piece: chess.Piece
) -> Iterator[tuple[chess.Square, chess.PieceType, bool | None]]:
    """Where the man came from, as what kind, and whether he must have taken a man there
    (None: either)."""
    back = -8 if piece.color else 8
    free = ~board.occupied & chess.BB_ALL
    if piece.piece_type != chess.PAWN:
        for origin in chess.scan_forward(board.attacks_mask(to) & free):
            yield origin, piece.piece_type, None
        if chess.square_rank(to) != (7 if piece.color else 0) or piece.piece_type == chess.KING:
            return
    elif chess.square_rank(to) in ((0, 1) if piece.color else (6, 7)):
        return
    if free & chess.BB_SQUARES[to + back]:
        yield to + back, chess.PAWN, False
        home = 3 if piece.color else 4
        two = to + 2 * back
        if chess.square_rank(to) == home and free & chess.BB_SQUARES[two]:
            yield two, chess.PAWN, False
    for origin in chess.scan_forward(chess.BB_PAWN_ATTACKS[not piece.color][to] & free):
        yield origin, chess.PAWN, True


def _before(
    board: chess.Board,
    origin: chess.Square,
    to: chess.Square,
    kind: chess.PieceType,
    victim: chess.PieceType | None,
) -> chess.Board:
    before = board.copy(stack=False)
    mover = not board.turn
    before.remove_piece_at(to)
    before.set_piece_at(origin, chess.Piece(kind, mover))
    if victim is not None:
        before.set_piece_at(to, chess.Piece(victim, board.turn))
    before.turn, before.ep_square = mover, None
    before.halfmove_clock, before.fullmove_number = 0, 1
    return before


def _leads(before: chess.Board, move: chess.Move, board: chess.Board) -> bool:
    if not before.is_valid() or not before.is_legal(move):
        return False
    after = before.copy(stack=False)
    after.push(move)
    return (
        after.board_fen() == board.board_fen()
        and after.castling_rights == board.castling_rights
        and (board.ep_square is None or after.ep_square == board.ep_square)
    )


def _promoted(board: chess.Board, colour: chess.Color) -> int:
    own = board.occupied_co[colour]
    light = board.bishops & own & chess.BB_LIGHT_SQUARES
    dark = board.bishops & own & chess.BB_DARK_SQUARES
    pairs = (
        (board.queens & own, 1),
        (board.rooks & own, 2),
        (board.knights & own, 2),
        (light, 1),
        (dark, 1),
    )
    return sum(max(0, chess.popcount(men) - most) for men, most in pairs)


def _pawn_captures(board: chess.Board, colour: chess.Color) -> int | None:
    """The fewest captures that bring the pawns to their files; None if none do."""
    pawns = sorted(
        (chess.square_file(s), abs(chess.square_rank(s) - (1 if colour else 6)))
        for s in board.pieces(chess.PAWN, colour)
    )
    costs = [
        sum(abs(file - home) for (file, _), home in zip(pawns, homes, strict=True))
        for homes in combinations(range(8), len(pawns))
        if all(abs(f - home) <= gone for (f, gone), home in zip(pawns, homes, strict=True))
    ]
    return min(costs, default=None)
