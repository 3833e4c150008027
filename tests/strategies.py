"""Positions by chance, for the tests of all rooms: with python-chess alone.

Each sort comes as a plain function of a `random.Random` (for loops over thousands) and as a
Hypothesis strategy of the same name with an s.  The same seed gives the same position.
"""

from __future__ import annotations

import random

import chess
from hypothesis import strategies as st

KINDS = (chess.PAWN, chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN)


def playout(chance: random.Random, least: int = 0, most: int = 120) -> chess.Board:
    """The board after so many random legal moves from the start, or when the game ends."""
    board = chess.Board()
    for _ in range(chance.randint(least, most)):
        moves = list(board.legal_moves)
        if not moves:
            break
        board.push(chance.choice(moves))
    return board


def scatter(
    chance: random.Random, least: int = 0, most: int = 30, *, orderly: bool = True
) -> chess.Board:
    """Two kings and so many men put anywhere (pawns not on the end ranks).

    Some have castling rights or an en-passant square.  Orderly ones are positions in which
    the side not to move is not in check and the kings do not touch; the others are as a
    what-if may leave them.
    """
    while True:
        board = _scatter(chance, chance.randint(least, most))
        kings_touch = chess.square_distance(_king(board, True), _king(board, False)) < 2
        if not orderly or not (kings_touch or board.was_into_check()):
            return board


def _scatter(chance: random.Random, men: int) -> chess.Board:
    board = chess.Board(None)
    free = list(chess.SQUARES)
    chance.shuffle(free)
    castling = chance.random() < 0.25
    for colour, home, corners in (
        (chess.WHITE, chess.E1, (chess.A1, chess.H1)),
        (chess.BLACK, chess.E8, (chess.A8, chess.H8)),
    ):
        at_home = castling and chance.random() < 0.8 and home in free
        square = home if at_home else free[-1]
        free.remove(square)
        board.set_piece_at(square, chess.Piece(chess.KING, colour))
        for corner in corners:
            if at_home and corner in free and chance.random() < 0.8:
                free.remove(corner)
                board.set_piece_at(corner, chess.Piece(chess.ROOK, colour))
                board.castling_rights |= chess.BB_SQUARES[corner]
    weights = [chance.random() for _ in KINDS]
    for square in free[:men]:
        kind = chance.choices(KINDS, weights)[0]
        if kind != chess.PAWN or chess.square_rank(square) not in (0, 7):
            board.set_piece_at(square, chess.Piece(kind, chance.random() < 0.5))
    board.turn = chance.random() < 0.5
    passed = [square for square in chess.SQUARES if _just_passed(board, square)]
    if passed and chance.random() < 0.7:
        board.ep_square = chance.choice(passed)
    return board


def _just_passed(board: chess.Board, square: chess.Square) -> bool:
    """Whether a pawn of the side not to move may have passed over the square."""
    if chess.square_rank(square) != (5 if board.turn else 2):
        return False
    ahead = -8 if board.turn else 8
    return (
        board.piece_at(square) is None
        and board.piece_at(square - ahead) is None
        and board.piece_at(square + ahead) == chess.Piece(chess.PAWN, not board.turn)
    )


def _king(board: chess.Board, colour: chess.Color) -> chess.Square:
    square = board.king(colour)
    assert square is not None
    return square


def mated(chance: random.Random, most: int = 14) -> chess.Board:
    """A position in which the side to move is mated, by a move from a scattered position."""
    while True:
        board = scatter(chance, 2, most)
        for move in list(board.legal_moves):
            board.push(move)
            if board.is_checkmate():
                return board.copy(stack=False)
            board.pop()


def _seeds() -> st.SearchStrategy[random.Random]:
    return st.integers(0, 2**32 - 1).map(random.Random)


def playouts(least: int = 0, most: int = 120) -> st.SearchStrategy[chess.Board]:
    """Boards as `playout` makes them, with their moves on the stack."""
    return _seeds().map(lambda chance: playout(chance, least, most))


def scatters(
    least: int = 0, most: int = 30, *, orderly: bool = True
) -> st.SearchStrategy[chess.Board]:
    """Boards as `scatter` makes them."""
    return _seeds().map(lambda chance: scatter(chance, least, most, orderly=orderly))


def mateds(most: int = 14) -> st.SearchStrategy[chess.Board]:
    """Boards as `mated` makes them."""
    return _seeds().map(lambda chance: mated(chance, most))
