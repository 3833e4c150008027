"""How much of one core composing takes and how often it succeeds, from the model of every pattern
and from the mates of the bundled classics: mates in 1, 2 and 3, and quiet keys.

Run: python benchmarks/exercises/bench_compose.py
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path

import chess
import chess.pgn

from flightless.errors import PositionError
from flightless.exercises.compose import compose
from flightless.patterns.recognise import catalogue

CLASSICS = Path(__file__).parents[2] / "examples" / "harbour-street" / "classics.pgn"


def classics() -> list[tuple[str, chess.Board]]:
    """The bundled games that end in mate on the board."""
    found = []
    with CLASSICS.open(encoding="utf-8") as stream:
        while (game := chess.pgn.read_game(stream)) is not None:
            board = game.end().board()
            if board.is_checkmate():
                name = f"{game.headers['White']} - {game.headers['Black']}"
                found.append((name, board.copy(stack=False)))
    return found


def main() -> None:
    """Print success, median and longest time, and what found nothing."""
    models = [(p.name, chess.Board(p.model.fen)) for p in catalogue().patterns]
    compose(models[0][1])  # loads what is compiled
    for source, boards in (("patterns", models), ("classics", classics())):
        for moves, quiet, every in ((1, False, 1), (2, False, 1), (3, False, 1), (2, True, 3)):
            times, missed = [], []
            for name, board in boards[::every]:
                started = time.process_time()
                try:
                    compose(board, moves, quiet=quiet)
                except PositionError:
                    missed.append(name)
                times.append(time.process_time() - started)
            print(
                f"{source}, mate in {moves}{', quiet key' if quiet else ''}: "
                f"{len(times) - len(missed)} of {len(times)} composed, median "
                f"{statistics.median(times):.2f} s, longest {max(times):.2f} s of one core"
                f"{'; nothing for ' + ', '.join(missed) if missed else ''}",
                flush=True,
            )


if __name__ == "__main__":
    main()
