"""A slow, plain referee for cases: every question answered by trying it with python-chess.

It shares no code with the room that it tests.  'Mate' is `is_checkmate()` with the mating
side's king not in check (FIDE Laws 5.1.1 and 3.9.2).
"""

from __future__ import annotations

import random
from itertools import combinations
from pathlib import Path

import chess

RANDOM_MATES = Path(__file__).with_name("random_mates.fen")
LETTERS = {"P": chess.PAWN, "N": chess.KNIGHT, "B": chess.BISHOP, "R": chess.ROOK, "Q": chess.QUEEN}

EN_PASSANT_MATES = (
    "8/4K3/1N3R2/4k3/3Pp3/2Q5/8/8 b - d3 0 1",
    "8/8/2K3N1/k1B1Q1R1/pP6/3B4/Q7/8 b - b3 0 1",
    "8/1R3Q1P/3Q4/k2N4/pP6/2R5/R1K5/8 b - b3 0 1",
    "2QQ4/2K4B/Q7/2k5/QN1Pp3/4B3/q7/8 b - d3 0 1",
    "8/1P6/3Q4/5k1K/4Pp2/8/2Q5/8 b - e3 0 1",
    "4N3/8/8/1b2k3/N2Pp1K1/1Q6/8/Q7 b - d3 0 1",
    "4q3/8/K2Q4/7k/3Q2Pp/4B3/n3B3/8 b - g3 0 1",
    "8/4B3/1R2K3/k7/pP6/8/R4Q2/8 b - b3 0 1",
    "4B3/6Q1/5QB1/2pk3K/1Q1pP3/7B/8/7Q b - e3 0 1",
    "3Q2K1/8/Q7/1b5k/Q5Pp/5B2/1N6/2N5 b - g3 0 1",
    "Q3K3/2Q5/8/1k6/Pp6/8/1Q6/6Q1 b - a3 0 1",
    "2N2Q2/N4RB1/7K/k7/pP6/8/8/4BQ2 b - b3 0 1",
    "2Q5/K4n2/8/3k4/2Pp1Q2/1B1Q2n1/8/7q b - c3 0 1",
    "Q7/Q7/8/1k6/1pP3R1/7K/Q7/1R1N4 b - c3 0 1",
)
"""Strewn by chance: a double step gives mate and a pawn could take it in passing but for the
king's safety."""


def is_mate(board: chess.Board) -> bool:
    return board.is_checkmate() and not board.was_into_check()


def random_mates() -> list[chess.Board]:
    """Mates from random games (made by `make_random_mates.py`)."""
    lines = RANDOM_MATES.read_text(encoding="ascii").splitlines()
    return [chess.Board(line) for line in lines if line and not line.startswith("#")]


def strewn_mate(rng: random.Random, men: int) -> chess.Board:
    """A mate found by strewing men on the board until it is one; nastier than any game."""
    while True:
        board = chess.Board(None)
        free = list(chess.SQUARES)
        king = rng.choice(free)
        board.set_piece_at(king, chess.Piece(chess.KING, False))
        far = [s for s in free if chess.square_distance(s, king) > 1]
        mating_king = rng.choice(far)
        board.set_piece_at(mating_king, chess.Piece(chess.KING, True))
        free.remove(king)
        free.remove(mating_king)
        near = [s for s in free if chess.square_distance(s, king) <= 2]
        for _ in range(men):
            square = rng.choice(near if near and rng.random() < 0.5 else free)
            free.remove(square)
            if square in near:
                near.remove(square)
            kind = rng.choice((1, 1, 2, 3, 4, 5))
            if kind == chess.PAWN and chess.square_rank(square) in (0, 7):
                kind = rng.choice((2, 3, 4))
            board.set_piece_at(square, chess.Piece(kind, rng.random() < 0.6))
        board.turn = False
        if is_mate(board):
            return board if rng.random() < 0.5 else board.mirror()


def men(board: chess.Board) -> list[chess.Square]:
    return [s for s, piece in sorted(board.piece_map().items()) if piece.piece_type != chess.KING]


def take(board: chess.Board, square: chess.Square) -> chess.Board:
    left = board.copy(stack=False)
    left.remove_piece_at(square)
    if left.ep_square is not None and abs(left.ep_square - square) == 8:
        behind = square > left.ep_square if board.turn == chess.BLACK else square < left.ep_square
        if behind:
            left.ep_square = None
    return left


def needed(board: chess.Board) -> list[chess.Square]:
    return [s for s in men(board) if not take(board, s).is_checkmate()]


def shields(board: chess.Board) -> list[chess.Square]:
    found = []
    for square in men(board):
        left = take(board, square)
        if left.is_checkmate() and left.was_into_check():
            found.append(square)
    return found


def substitutes(board: chess.Board) -> set[tuple[chess.Square, str, chess.Square]]:
    found = set()
    for gone in needed(board):
        if board.piece_at(gone).color == board.turn:
            continue
        for letter, kind in LETTERS.items():
            for square in chess.SQUARES:
                left = take(board, gone)
                if left.piece_at(square) or (kind == 1 and chess.square_rank(square) in (0, 7)):
                    continue
                left.set_piece_at(square, chess.Piece(kind, not board.turn))
                if is_mate(left):
                    found.add((gone, letter, square))
        found.discard((gone, board.piece_at(gone).symbol().upper(), gone))
    return found


def saviours(board: chess.Board) -> set[tuple[str, chess.Square]]:
    found = set()
    for letter, kind in LETTERS.items():
        for square in chess.SQUARES:
            if board.piece_at(square) or (kind == 1 and chess.square_rank(square) in (0, 7)):
                continue
            more = board.copy(stack=False)
            more.set_piece_at(square, chess.Piece(kind, board.turn))
            if not more.is_checkmate() and not more.was_into_check():
                found.add((letter, square))
    return found


def reasons(board: chess.Board) -> dict[chess.Square, set[chess.Square]]:
    """Each square of the mated king's field with all men (the kings too) who shut it."""
    king = board.king(board.turn)
    lifted = board.copy(stack=False)
    lifted.remove_piece_at(king)
    found = {}
    for square in chess.SQUARES:
        if chess.square_distance(square, king) == 1:
            found[square] = set(lifted.attackers(not board.turn, square))
            if board.color_at(square) == board.turn:
                found[square].add(square)
    return found


def skeletons(board: chess.Board) -> list[tuple[chess.Square, ...]]:
    """All skeletons, by trying every set of men."""
    king, mating_king = board.king(board.turn), board.king(not board.turn)
    checks = set(board.checkers())
    why = reasons(board)
    all_men = men(board)
    good = set()
    for size in range(1, len(all_men) + 1):
        for chosen in combinations(all_men, size):
            some = set(chosen)
            if not checks & some or any(
                not r & some and mating_king not in r for r in why.values()
            ):
                continue
            left = board.copy(stack=False)
            for square in all_men:
                if square not in some:
                    left = take(left, square)
            assert left.king(board.turn) == king
            if is_mate(left) and set(left.checkers()) <= checks:
                good.add(chosen)
    return sorted(
        chosen
        for chosen in good
        if not any(tuple(x for x in chosen if x != man) in good for man in chosen)
    )
