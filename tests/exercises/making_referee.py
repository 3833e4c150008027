"""A second opinion on made positions: python-chess and plain loops, nothing of ours."""

from __future__ import annotations

import chess


def keys(board: chess.Board, moves: int) -> set[str]:
    """Every first move that mates in at most `moves`, by brute force."""
    return {move.uci() for move in list(board.legal_moves) if _mates(board, move, moves)}


def _mates(board: chess.Board, move: chess.Move, moves: int) -> bool:
    board.push(move)
    try:
        if board.is_checkmate():
            return True
        replies = list(board.legal_moves)
        return moves > 1 and bool(replies) and all(_answered(board, r, moves) for r in replies)
    finally:
        board.pop()


def _answered(board: chess.Board, reply: chess.Move, moves: int) -> bool:
    board.push(reply)
    try:
        return any(_mates(board, move, moves - 1) for move in list(board.legal_moves))
    finally:
        board.pop()


def can_have_arisen(board: chess.Board) -> bool:
    """Whether some legal move leads to the placement: every man of the side not to move is put
    on every empty square, every kind of man on the square that he left, and the legal moves of
    python-chess are played (FIDE Laws, article 3)."""
    mover = not board.turn
    for to, piece in board.piece_map().items():
        if piece.color != mover:
            continue
        for origin in chess.SquareSet(~board.occupied & chess.BB_ALL):
            for kind in {piece.piece_type, chess.PAWN}:
                for victim in (None, *range(chess.PAWN, chess.KING)):
                    before = board.copy(stack=False)
                    before.ep_square = None
                    before.turn = mover
                    before.remove_piece_at(to)
                    before.set_piece_at(origin, chess.Piece(kind, mover))
                    if victim:
                        before.set_piece_at(to, chess.Piece(victim, board.turn))
                    if before.status() == chess.STATUS_VALID and _reaches(before, board, to):
                        return True
    return False


def _reaches(before: chess.Board, board: chess.Board, to: chess.Square) -> bool:
    for move in before.generate_legal_moves(to_mask=chess.BB_SQUARES[to]):
        after = before.copy(stack=False)
        after.push(move)
        if after.board_fen() == board.board_fen():
            return True
    return False
