"""Writes random_mates.fen: mates that random games happen upon.

Run by hand: `python tests/cases/make_random_mates.py 600 > tests/cases/random_mates.fen`.
Each game plays random legal moves from the start position and stops at the first mate in
one, which is played; games of more than 200 plies are dropped.
"""

from __future__ import annotations

import random
import sys

import chess


def mate_in_one(board: chess.Board) -> chess.Move | None:
    for move in board.legal_moves:
        if board.gives_check(move):
            board.push(move)
            mated = board.is_checkmate()
            board.pop()
            if mated:
                return move
    return None


def main(wanted: int) -> None:
    rng = random.Random(1)
    print("# Mates from random games; see make_random_mates.py (seed 1).")
    found = 0
    while found < wanted:
        board = chess.Board()
        for _ in range(200):
            move = mate_in_one(board)
            if move is not None:
                board.push(move)
                print(board.fen(en_passant="fen"))
                found += 1
                break
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(rng.choice(moves))


if __name__ == "__main__":
    main(int(sys.argv[1]))
