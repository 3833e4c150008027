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

from flightless.cases.breaks import breaks_of, rescues_of  # noqa: E402
from flightless.cases.build import case_of  # noqa: E402
from flightless.cases.duties import either_would_do, shared_squares  # noqa: E402
from flightless.cases.missing import missing_of  # noqa: E402
from flightless.cases.ownking import own_king  # noqa: E402
from flightless.cases.tries import other_keys, tries_of  # noqa: E402
from flightless.cases.variations import start_variations, variations_of  # noqa: E402
from flightless.cases.wayin import way_in  # noqa: E402
from flightless.prove import prove  # noqa: E402


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
    everything(boards[:100])
    lines()


def everything(boards: list[chess.Board]) -> None:
    """A case with all that stands beside it."""
    started = time.perf_counter()
    for board in boards:
        case = case_of(board)
        shared_squares(case)
        either_would_do(case)
        variations_of(case)
        breaks_of(case, board)
        rescues_of(case)
        own_king(case)
    each = (time.perf_counter() - started) / len(boards)
    print(f"case with duties, variations, breaks, the other king: {each * 1e3:.1f} ms each")


def lines() -> None:
    """What is asked of a forced line of two moves, and of the position after its first move."""
    path = HERE.parents[2] / "tests" / "cases" / "mates_in_two.fen"
    boards = [chess.Board(x) for x in path.read_text().splitlines() if not x.startswith("#")]
    prove(boards[0], 2)
    spent = dict.fromkeys(("way in", "other keys", "tries", "start varied", "missing"), 0.0)
    for board in boards:
        proof = prove(board, 2)
        for name, ask in (
            ("way in", lambda _, p: way_in(p)),
            ("other keys", lambda _, p: other_keys(p)),
            ("tries", lambda b, _: tries_of(b, 2)),
            ("start varied", lambda b, _: start_variations(b, 2)),
            ("missing", lambda b, _: missing_of(b)),
        ):
            started = time.perf_counter()
            ask(board, proof)
            spent[name] += time.perf_counter() - started
    each = ", ".join(f"{name} {s / len(boards) * 1e3:.1f} ms" for name, s in spent.items())
    print(f"{len(boards)} mates in two: {each}")


if __name__ == "__main__":
    main()
