"""Cases per second, against the plain python-chess loop that the tests use as referee.

`python benchmarks/cases/bench_cases.py [FILE.pgn]` times the mates of the tests' random games,
or those at the end of the games of a file.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import chess
import chess.pgn

HERE = Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[2] / "tests" / "cases"))

import cases_referee as referee  # noqa: E402

from flightless.cases.build import case_of  # noqa: E402


def boards_of(path: str | None) -> list[chess.Board]:
    if path is None:
        return referee.random_mates()
    boards = []
    with Path(path).open(encoding="latin-1") as file:
        while (game := chess.pgn.read_game(file)) is not None:
            board = game.end().board()
            if board.is_checkmate():
                boards.append(board)
    return boards


def main() -> None:
    boards = boards_of(sys.argv[1] if len(sys.argv) > 1 else None)
    started = time.perf_counter()
    case_of(boards[0])
    print(f"first case (loading the compiled code): {time.perf_counter() - started:.2f} s")
    longest = 0.0
    started = time.perf_counter()
    for board in boards:
        one = time.perf_counter()
        case_of(board)
        longest = max(longest, time.perf_counter() - one)
    each = (time.perf_counter() - started) / len(boards)
    print(f"{len(boards)} cases: {each * 1e3:.2f} ms each, the longest {longest * 1e3:.2f} ms")
    some = boards[:40]
    started = time.perf_counter()
    for board in some:
        referee.shields(board)
        referee.substitutes(board)
        referee.saviours(board)
    slow = (time.perf_counter() - started) / len(some)
    print(f"plain loop, trials alone: {slow * 1e3:.1f} ms each, {slow / each:.0f} times as long")


if __name__ == "__main__":
    main()
