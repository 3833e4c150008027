"""How long families and pairs take, for the model of every fourth pattern one move earlier.

Run: python benchmarks/exercises/bench_vary.py
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import chess

from flightless.errors import PositionError
from flightless.exercises.compose import compose
from flightless.exercises.contrast import contrasts
from flightless.exercises.vary import vary
from flightless.patterns.recognise import catalogue


def main() -> None:
    """Print median and longest time of both on composed mates in 1."""
    boards = []
    for pattern in catalogue().patterns[::4]:
        try:
            boards.append(chess.Board(compose(chess.Board(pattern.model.fen)).fen))
        except PositionError:
            print(f"nothing composed for {pattern.name}")
    contrasts(boards[0])  # loads what is compiled
    _timed("contrast", lambda board: len(contrasts(board)[1]), boards)
    _timed("vary", lambda board: len(vary(board).members), boards)


def _timed(name: str, made: Callable[[chess.Board], int], boards: list[chess.Board]) -> None:
    times, counts = [], []
    for board in boards:
        started = time.perf_counter()
        counts.append(made(board))
        times.append(time.perf_counter() - started)
    print(
        f"{name}: {len(boards)} positions, median {statistics.median(times):.2f} s, longest "
        f"{max(times):.2f} s, median {statistics.median(counts):.0f} made"
    )


if __name__ == "__main__":
    main()
