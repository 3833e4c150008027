"""How fast mates are decided and proved, with ratios against a python-chess search.

Random positions come from playouts of 10 to 80 plies with a fixed seed.  The search in
python-chess is the plainest exhaustive one (checks only at the last move), in the same run.
Best of five passes, processor time of this thread.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import chess
import numpy as np

from flightless.certify import brute, verify
from flightless.core.state import encode
from flightless.prove import document, prove
from flightless.prove import kernels_full as full
from flightless.prove import kernels_tree as kernels
from flightless.prove.kernels_numbers import new_numbers
from flightless.prove.kernels_table import new_table

SUITE = Path(__file__).parents[3] / "shared" / "mates" / "direct_mates.epd"


def playouts(number: int, seed: int = 1) -> list[chess.Board]:
    """Positions in which the game goes on, after 10 to 80 random plies."""
    chance = random.Random(seed)
    boards = []
    while len(boards) < number:
        board = chess.Board()
        for _ in range(chance.randint(10, 80)):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(chance.choice(moves))
        if any(board.legal_moves):
            boards.append(board)
    return boards


def best_of(passes: int, work: Callable[[], object]) -> float:
    """The least seconds of so many passes."""
    least = float("inf")
    for _ in range(passes):
        started = time.thread_time()
        work()
        least = min(least, time.thread_time() - started)
    return least


def decide_rows(boards: list[chess.Board], moves: int, *, table_bits: int) -> tuple[float, int]:
    """Seconds a position to decide mate in `moves`, and how many have one."""
    rows = np.zeros((len(boards), 8), np.uint64)
    rows[:, :6] = [encode(board) for board in boards]
    arrays = (full.new_scratch(moves), new_table(table_bits), new_numbers(0), full.new_work())
    question = (kernels.SEARCH_ROWS, encode(boards[0]), np.uint64(moves), full.ATTACKS, rows)

    def work() -> None:
        arrays[1][1:] = 0
        kernels.ask(*question, *arrays)

    work()
    return best_of(5, work) / len(boards), int(np.count_nonzero(rows[:, 6]))


def on_two_threads(boards: list[chess.Board], moves: int) -> float:
    """How many times faster two threads decide two lots than one thread does, by the clock."""

    def asking() -> Callable[[], object]:
        rows = np.zeros((len(boards), 8), np.uint64)
        rows[:, :6] = [encode(board) for board in boards]
        arrays = (full.new_scratch(moves), new_table(2), new_numbers(0), full.new_work())
        question = (kernels.SEARCH_ROWS, encode(boards[0]), np.uint64(moves), full.ATTACKS, rows)

        def ask() -> None:
            for _ in range(20):
                arrays[1][1:] = 0
                kernels.ask(*question, *arrays)

        return ask

    lots = [asking(), asking()]
    one = min(_wall(lambda: [lot() for lot in lots]) for _ in range(3))
    with ThreadPoolExecutor(2) as pool:
        two = min(_wall(lambda: list(pool.map(lambda lot: lot(), lots))) for _ in range(3))
    return one / two


def by_python(boards: list[chess.Board], moves: int) -> tuple[float, int]:
    """The same with python-chess, to two moves."""
    found = 0

    def work() -> None:
        nonlocal found
        found = sum(brute.has_mate_within(board, moves) for board in boards)

    return best_of(1, work) / len(boards), found


def main() -> None:
    """Print all figures."""
    boards = playouts(2000)
    print("decided on random positions, without a table to speak of, one thread")
    for moves, number, slow in ((1, 2000, 300), (2, 2000, 100), (3, 1000, 0)):
        seconds, found = decide_rows(boards[:number], moves, table_bits=2)
        text = f"  mate in {moves}: {seconds * 1e6:9.2f} µs   {found} of {number} have one"
        if slow:
            theirs, same = by_python(boards[:slow], moves)
            _, ours = decide_rows(boards[:slow], moves, table_bits=2)
            assert same == ours, "python-chess disagrees"
            text += f"   python-chess {theirs * 1e6:9.1f} µs, {theirs / seconds:6.0f} times that"
        print(text)
        print(
            f"     two threads by the clock: {on_two_threads(boards[:number], moves):.2f} times one"
        )

    print("proved with keys, tree, threats and document; replayed by the verifier")
    for name, fen in (
        ("back rank, mate in 2", "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"),
        ("quiet key, mate in 3", "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"),
        ("Loyd 1861, mate in 5", "n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1"),
    ):
        board = chess.Board(fen)
        paper = document(prove(board))
        quick = min(_wall(lambda b=board: document(prove(b))) for _ in range(5))
        replay = min(_wall(lambda d=paper: verify(d)) for _ in range(3))
        print(f"  {name}: {quick * 1e3:7.1f} ms, replayed in {replay * 1e3:7.1f} ms")
    _suite()


def _wall(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def _suite() -> None:
    if not SUITE.is_file():
        print("no suite of direct mates at ../shared/mates: nothing more measured")
        return
    print("the suite of direct mates, proved with keys, duals and threats")
    lines = SUITE.read_text(encoding="utf-8").splitlines()
    for moves in (2, 3, 4, 5):
        positions = [line.split(" dm ")[0] for line in lines if line.endswith(f" dm {moves};")]
        times = []
        for position in positions:
            board = chess.Board(f"{position} 0 1")
            started = time.perf_counter()
            proof = prove(board)
            times.append(time.perf_counter() - started)
            assert proof.moves == moves, position
        print(
            f"  mate in {moves}: {len(times)} positions, all at their known length, median "
            f"{statistics.median(times) * 1e3:6.1f} ms, longest {max(times):5.2f} s"
        )


if __name__ == "__main__":
    main()
