"""Writes mates_in_two.fen: strewn positions in which the side to move mates in exactly two.

Run by hand: `python tests/cases/make_mates_in_two.py 150 > tests/cases/mates_in_two.fen`.
Each is a strewn mate with two men moved or taken off and the other side to move; whether it
is mate in two is tried with python-chess alone.
"""

from __future__ import annotations

import random
import sys

import cases_referee as referee
import chess


def mates(board: chess.Board) -> bool:
    for move in list(board.legal_moves):
        if board.gives_check(move):
            board.push(move)
            mated = board.is_checkmate()
            board.pop()
            if mated:
                return True
    return False


def mates_in_two(board: chess.Board) -> bool:
    for move in list(board.legal_moves):
        board.push(move)
        replies = list(board.legal_moves)
        good = bool(replies)
        for reply in replies:
            board.push(reply)
            good = mates(board)
            board.pop()
            if not good:
                break
        board.pop()
        if good:
            return True
    return False


def main(wanted: int) -> None:
    rng = random.Random(2)
    print("# Mates in two, strewn by chance; see make_mates_in_two.py (seed 2).")
    found = 0
    while found < wanted:
        board = referee.strewn_mate(rng, rng.randint(5, 12)).copy(stack=False)
        for _ in range(2):
            man = rng.choice(referee.men(board))
            piece = board.remove_piece_at(man)
            free = [s for s in chess.SQUARES if board.piece_at(s) is None]
            if piece.piece_type != chess.PAWN:
                board.set_piece_at(rng.choice(free), piece)
        board.turn = not board.turn
        if board.is_valid() and not mates(board) and mates_in_two(board):
            print(board.fen())
            found += 1


if __name__ == "__main__":
    main(int(sys.argv[1]))
