"""How long composing takes: mates in 1 of every pattern's model, mates in 2 of every fourth.

Run: python benchmarks/exercises/bench_compose.py
"""

from __future__ import annotations

import statistics
import time

import chess

from flightless.errors import PositionError
from flightless.exercises.compose import compose
from flightless.patterns.recognise import catalogue


def main() -> None:
    """Print median and longest time, and how many seeds found nothing."""
    compose(chess.Board(catalogue().patterns[0].model.fen))  # loads what is compiled
    for moves, every in ((1, 1), (2, 4)):
        times, missed = [], 0
        for pattern in catalogue().patterns[::every]:
            started = time.perf_counter()
            try:
                compose(chess.Board(pattern.model.fen), moves)
            except PositionError:
                missed += 1
            times.append(time.perf_counter() - started)
        print(
            f"mate in {moves}: {len(times)} patterns, median {statistics.median(times):.2f} s, "
            f"longest {max(times):.2f} s, nothing found {missed}"
        )


if __name__ == "__main__":
    main()
