"""Exhaustive search with python-chess alone, for mates of one and two moves.

It shares nothing with the prover on purpose: slow, plain, and by other people's rules.  It
orders moves a little, but never leaves one out.
"""

from __future__ import annotations

import chess

__all__ = ["REACH", "has_mate_within", "keys_within", "mated_within", "mating_moves"]

REACH = 2
"""The longest mate, in moves, that this search decides."""


def mating_moves(board: chess.Board) -> list[chess.Move]:
    """Every legal move that mates at once, in python-chess's order."""
    return [move for move in board.legal_moves if _mates(board, move)]


def keys_within(board: chess.Board, moves: int) -> list[chess.Move]:
    """Every legal move after which mate follows in at most `moves` moves, itself counted.

    `moves` is 1 or 2.
    """
    if moves == 1:
        return mating_moves(board)
    killers: list[chess.Move] = []
    return [move for move in board.legal_moves if _forces(board, move, killers)]


def mated_within(board: chess.Board, moves: int) -> bool:
    """Whether the side to move is mated in at most `moves` moves whatever it plays.

    `moves` is 0 (it is checkmate now), 1 or 2.
    """
    if board.is_checkmate():
        return True
    if moves == 0 or not any(board.legal_moves):
        return False
    for reply in list(board.legal_moves):
        board.push(reply)
        caught = has_mate_within(board, moves)
        board.pop()
        if not caught:
            return False
    return True


def has_mate_within(board: chess.Board, moves: int) -> bool:
    """Whether the side to move mates in at most `moves` moves, 1 or 2."""
    if any(_mates(board, move) for move in board.legal_moves):
        return True
    if moves == 1:
        return False
    killers: list[chess.Move] = []
    return any(_forces(board, move, killers) for move in list(board.legal_moves))


def _mates(board: chess.Board, move: chess.Move) -> bool:
    if not board.gives_check(move):
        return False
    board.push(move)
    mate = not any(board.legal_moves)
    board.pop()
    return mate


def _forces(board: chess.Board, move: chess.Move, killers: list[chess.Move]) -> bool:
    """Whether after `move` it is mate, or mate in one against every reply.

    A reply that refuted an earlier move is tried first and remembered in `killers`.
    """
    board.push(move)
    try:
        replies = list(board.legal_moves)
        if not replies:
            return board.is_check()
        for reply in sorted(replies, key=lambda r: r not in killers[-2:]):
            board.push(reply)
            caught = any(_mates(board, answer) for answer in board.legal_moves)
            board.pop()
            if not caught:
                killers.append(reply)
                return False
        return True
    finally:
        board.pop()
