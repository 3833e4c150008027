"""Plain python-chess loops that solve every kind of exercise again, for the tests.

Nothing here uses the prover, the compiled core or the exercises' own solving: each function
takes a board and tries everything.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import chess

HERE = Path(__file__).parent
ROOT = HERE.parents[1]

LETTERS = "PNBRQ"


def mates_in(board: chess.Board, moves: int) -> bool:
    """Whether the side to move mates in `moves` or fewer, every move and reply tried."""
    return any(mates_with(board, move, moves) for move in list(board.legal_moves))


def mates_with(board: chess.Board, move: chess.Move, moves: int) -> bool:
    """Whether a move mates in `moves` or fewer, itself counted."""
    board.push(move)
    try:
        if board.is_checkmate():
            return True
        if moves <= 1 or not any(board.legal_moves):
            return False
        for reply in list(board.legal_moves):
            board.push(reply)
            fine = mates_in(board, moves - 1)
            board.pop()
            if not fine:
                return False
        return True
    finally:
        board.pop()


def keys(board: chess.Board, moves: int) -> set[chess.Move]:
    """Every first move that mates in `moves` or fewer."""
    return {move for move in list(board.legal_moves) if mates_with(board, move, moves)}


def holding(board: chess.Board, moves: int) -> set[chess.Move]:
    """Every move after which the other side has no mate within `moves`."""
    found = set()
    for move in list(board.legal_moves):
        board.push(move)
        if not mates_in(board, moves):
            found.add(move)
        board.pop()
    return found


def is_mate(board: chess.Board) -> bool:
    return board.is_checkmate() and not board.was_into_check()


def placements(board: chess.Board, letters: Iterable[str]) -> set[str]:
    """Every man of the side not to move on every empty square that makes it mate."""
    found = set()
    for letter in letters:
        kind = chess.Piece.from_symbol(letter).piece_type
        for square in chess.SQUARES:
            if board.piece_at(square) or (letter == "P" and chess.square_rank(square) in (0, 7)):
                continue
            board.set_piece_at(square, chess.Piece(kind, not board.turn))
            if is_mate(board):
                found.add(letter + chess.square_name(square))
            board.remove_piece_at(square)
    return found


def pairs(board: chess.Board, first: str, second: str) -> set[frozenset[str]]:
    """Both men on every two empty squares."""
    found = set()
    kind = chess.Piece.from_symbol(first).piece_type
    for square in chess.SQUARES:
        if board.piece_at(square) or (first == "P" and chess.square_rank(square) in (0, 7)):
            continue
        board.set_piece_at(square, chess.Piece(kind, not board.turn))
        for other in placements(board, [second]):
            found.add(frozenset((first + chess.square_name(square), other)))
        board.remove_piece_at(square)
    return found


def spare(board: chess.Board, squares: Iterable[chess.Square]) -> set[chess.Square]:
    """The men without whom it is still mate."""
    found = set()
    for square in squares:
        left = board.copy(stack=False)
        left.remove_piece_at(square)
        if left.is_checkmate():
            found.add(square)
    return found


def ledger(board: chess.Board) -> dict[chess.Square, set[chess.Square]]:
    """For each square round the king to move: his man on it, and all who attack it with the
    king lifted off, by asking each man what he attacks."""
    king = board.king(board.turn)
    assert king is not None
    lifted = board.copy(stack=False)
    lifted.remove_piece_at(king)
    found: dict[chess.Square, set[chess.Square]] = {}
    for square in chess.SQUARES:
        if chess.square_distance(square, king) != 1:
            continue
        men = {
            s
            for s, piece in lifted.piece_map().items()
            if piece.color != board.turn and square in lifted.attacks(s)
        }
        piece = board.piece_at(square)
        if piece is not None and piece.color == board.turn:
            men.add(square)
        found[square] = men
    return found


def published() -> Iterator[tuple[chess.Board, int, str, set[str], str]]:
    """Combinations from the literature: board, length, move played, all keys, source."""
    for line in (HERE / "published.txt").read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            fen, moves, played, every, source = (part.strip() for part in line.split("|"))
            board = chess.Board(fen)
            board.fullmove_number, board.halfmove_clock = 1, 0
            yield board, int(moves), played, set(every.split()), source
