"""How fast the compiled core is, beside python-chess in the same run, on one thread.

Run `python benchmarks/core/bench_core.py`.  Times are processor time of the thread, so that
other work on the machine counts little; the ratios hold best.  Positions for mate in 1 are
random playouts of 10 to 80 plies.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import chess
import numpy as np

from flightless.core import batch, perft
from flightless.core.bits import ZERO
from flightless.core.state import encode, new_moves

POSITIONS = {
    "start": (chess.STARTING_FEN, 5),
    "richest": ("r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1", 4),
    "endgame": ("8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1", 6),
}


def playouts(count: int, seed: int = 1) -> list[chess.Board]:
    """Boards after 10 to 80 random plies, none of them over."""
    chance = random.Random(seed)
    boards: list[chess.Board] = []
    while len(boards) < count:
        board = chess.Board()
        for _ in range(chance.randint(10, 80)):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(chance.choice(moves))
        if any(board.legal_moves):
            boards.append(board.copy(stack=False))
    return boards


def best_of(
    times: int, work: Callable[[], object], clock: Callable[[], float] = time.thread_time
) -> float:
    """The least seconds of so many runs; of this thread's processor time unless said."""
    seconds = []
    for _ in range(times):
        started = clock()
        work()
        seconds.append(clock() - started)
    return min(seconds)


def reference_perft(board: chess.Board, depth: int) -> int:
    """python-chess, the last ply in bulk."""
    if depth == 1:
        return board.legal_moves.count()
    total = 0
    for move in board.legal_moves:
        board.push(move)
        total += reference_perft(board, depth - 1)
        board.pop()
    return total


def reference_mate(board: chess.Board) -> bool:
    """Whether some move mates, by python-chess."""
    for move in board.legal_moves:
        board.push(move)
        mated = board.is_checkmate()
        board.pop()
        if mated:
            return True
    return False


def bench_perft() -> None:
    """Print nodes a second, in bulk and with every move made."""
    scratch = new_moves(10)
    for name, (fen, depth) in POSITIONS.items():
        board = chess.Board(fen)
        state = encode(board)
        reference = best_of(1, lambda b=board: reference_perft(b, 3))
        rate_reference = reference_perft(board, 3) / reference
        for title, function, plies in (
            ("in bulk", perft.perft, depth),
            ("each move made", perft.perft_each, depth),
        ):
            arguments = (state, np.uint64(plies), scratch, ZERO)
            nodes = int(function(*arguments))
            rate = nodes / best_of(20, lambda f=function, a=arguments: f(*a))
            print(
                f"perft {name:8} depth {plies}, {title:15}"
                f"{rate / 1e6:8.1f} M nodes/s{rate / rate_reference:9.0f} x python-chess"
            )


def bench_mate_in_one(count: int = 4000) -> None:
    """Print positions a second in which a mate in 1 is found or excluded."""
    boards = playouts(count)
    positions = batch.rows(boards)
    found = np.empty(count, np.uint64)
    scratch = new_moves()
    mates = int(batch.mates_in_one(positions, found, scratch))
    rate = count / best_of(50, lambda: batch.mates_in_one(positions, found, scratch))
    sample = boards[:400]
    reference = len(sample) / best_of(1, lambda: [reference_mate(board) for board in sample])
    print(
        f"mate in 1, {count} playouts ({mates} have one)"
        f"{rate / 1e6:11.2f} M positions/s{rate / reference:7.0f} x python-chess"
    )


def main() -> None:
    """Print all figures."""
    bench_perft()
    bench_mate_in_one()


if __name__ == "__main__":
    main()
