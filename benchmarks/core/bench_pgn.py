"""How fast games are read from PGN bytes, beside python-chess in the same run.

Run `python benchmarks/core/bench_pgn.py [FILE.pgn]`.  Reading means tags located, moves
decoded and played, and the final position tested for mate; it is given in processor time of
the thread.  Without a file, random games written by python-chess are read.  Then, by the
clock on the wall, the same on two threads, and the start of a whole process with the machine
code already on disk.
"""

from __future__ import annotations

import io
import itertools
import random
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import chess
import chess.pgn

from flightless.core.games import Scanned, borders, scan_text

FIRST_ANSWER = (
    "import chess; from flightless.core import boards; "
    "print(boards.mating_moves(chess.Board('6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1')))"
)


def random_games(count: int = 400, seed: int = 1) -> bytes:
    """Random games of 10 to 140 plies as python-chess writes them."""
    chance = random.Random(seed)
    texts = []
    for _ in range(count):
        board = chess.Board()
        for _ in range(chance.randint(10, 140)):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(chance.choice(moves))
        texts.append(str(chess.pgn.Game.from_board(board)))
    return ("\n\n".join(texts) + "\n\n").encode()


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


def scan(text: bytes) -> list[Scanned]:
    """All games of a text."""
    return list(scan_text(text))


def reference(text: bytes) -> int:
    """python-chess: read, play, test for mate; the number of games."""
    handle = io.StringIO(text.decode("latin-1"))
    count = 0
    while (game := chess.pgn.read_game(handle)) is not None:
        game.end().board().is_checkmate()
        count += 1
    return count


def bench_reading(data: bytes) -> None:
    """Print megabytes and games a second on one thread and on two."""
    data *= max(8_000_000 // len(data), 1)
    found = scan(data)
    games = sum(map(len, found))
    plies = sum(len(part.moves) for part in found)
    one = best_of(15, lambda: scan(data))
    sample = data[: borders(data, max(len(data) // 400_000, 1))[1]]
    slow = best_of(1, lambda: reference(sample)) / len(sample) * len(data)
    print(
        f"{games} games, {len(data) / 1e6:.1f} MB, {plies / games:.0f} plies a game\n"
        f"one thread  {len(data) / one / 1e6:7.1f} MB/s {games / one:9.0f} games/s"
        f"{one / plies * 1e9:6.1f} ns a ply{slow / one:6.0f} x python-chess"
    )
    cuts = borders(data, 2)
    halves = [data[start:end] for start, end in itertools.pairwise(cuts)]
    with ThreadPoolExecutor(2) as pool:
        two = best_of(15, lambda: list(pool.map(scan, halves)), time.perf_counter)
    alone = best_of(15, lambda: scan(data), time.perf_counter)
    print(
        f"two threads {len(data) / two / 1e6:7.1f} MB/s by the clock on the wall, "
        f"{alone / two:.2f} x one thread"
    )


def bench_start() -> None:
    """Print the seconds of a whole process: imports, machine code loaded, one answer."""
    command = [sys.executable, "-c", FIRST_ANSWER]
    subprocess.run(command, check=True, capture_output=True)
    run = lambda: subprocess.run(command, check=True, capture_output=True)  # noqa: E731
    seconds = best_of(5, run, time.perf_counter)
    print(f"a process from start to first answer, machine code on disk: {seconds:.2f} s")


def main() -> None:
    """Print all figures."""
    data = Path(sys.argv[1]).read_bytes() if len(sys.argv) > 1 else random_games()
    bench_reading(data)
    bench_start()


if __name__ == "__main__":
    main()
