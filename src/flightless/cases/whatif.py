"""What if: a man taken away, another put in his place, one added, a pawn moved in time.

Each question is answered by trying it.  'Mate' is python-chess's `is_checkmate()` with the
mating side's own king not in check.  Counts of men are not looked at: a ninth pawn is a
thought experiment here, not an illegal position.
"""

from __future__ import annotations

from collections.abc import Iterator

import chess

from flightless.cases.case import Luft, Removal, Saviour, Substitute

__all__ = ["luft_of", "removals_of", "saviours_of", "substitutes_of", "without"]

_KINDS = (chess.PAWN, chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN)


def without(board: chess.Board, square: chess.Square) -> chess.Board:
    """A copy with the man on `square` gone, and with him an en-passant right on his pawn."""
    left = board.copy(stack=False)
    left.remove_piece_at(square)
    if board.ep_square is not None and square == board.ep_square + (-8 if board.turn else 8):
        left.ep_square = None
    return left


def removals_of(board: chess.Board) -> tuple[Removal, ...]:
    """Each man but the kings taken off the board, in square order."""
    found = []
    for square in chess.scan_forward(board.occupied & ~board.kings):
        left = without(board, square)
        still = left.is_checkmate()
        gone = not left.is_check()
        answers = () if still or gone else tuple(sorted(left.legal_moves, key=move_order))
        found.append(Removal(square, still, left.was_into_check(), gone, answers))
    return tuple(found)


def substitutes_of(board: chess.Board, needed: tuple[chess.Square, ...]) -> tuple[Substitute, ...]:
    """For each needed man of the mating side every other man and square that keeps it mate."""
    found = []
    for gone in needed:
        if board.color_at(gone) == board.turn:
            continue
        left = without(board, gone)
        kind_gone = board.piece_type_at(gone)
        for square, kind in _places(left):
            if (square, kind) == (gone, kind_gone):
                continue
            left.set_piece_at(square, chess.Piece(kind, not board.turn))
            if left.is_checkmate() and not left.was_into_check():
                found.append(Substitute(gone, square, kind))
            left.remove_piece_at(square)
    return tuple(found)


def saviours_of(board: chess.Board) -> tuple[Saviour, ...]:
    """Every man of the mated side on every empty square that ends the mate."""
    found = []
    more = board.copy(stack=False)
    for square, kind in _places(board):
        more.set_piece_at(square, chess.Piece(kind, board.turn))
        if not more.is_checkmate() and not more.was_into_check():
            answers = tuple(sorted(more.legal_moves, key=move_order)) if more.is_check() else ()
            found.append(Saviour(square, kind, answers))
        more.remove_piece_at(square)
    return tuple(found)


def luft_of(board: chess.Board) -> tuple[Luft, ...]:
    """Each pawn move of the mated side that, had it been made before the mating move, leaves
    that move legal but no longer mate.  Empty if the last move is not known."""
    if not board.move_stack:
        return ()
    before = board.copy()
    mating_move = before.pop()
    before.turn = board.turn
    before.ep_square = None
    their_king = before.kings & before.occupied_co[not board.turn]
    found = []
    for move in sorted(before.generate_legal_moves(before.pawns, ~their_king), key=move_order):
        after = before.copy(stack=False)
        after.push(move)
        if mating_move not in after.legal_moves:
            continue
        after.push(mating_move)
        if not after.is_checkmate():
            found.append(Luft(move, tuple(sorted(after.legal_moves, key=move_order))))
    return tuple(found)


def move_order(move: chess.Move) -> tuple[int, int, int]:
    """Sort key of moves: from, to, promotion."""
    return move.from_square, move.to_square, move.promotion or 0


def _places(board: chess.Board) -> Iterator[tuple[chess.Square, chess.PieceType]]:
    for square in chess.scan_forward(~board.occupied & chess.BB_ALL):
        for kind in _KINDS:
            if kind != chess.PAWN or not chess.BB_SQUARES[square] & chess.BB_BACKRANKS:
                yield square, kind
