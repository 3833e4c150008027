"""Marking with the reason, and making a set of 24 from a casebook of 10,000 positions.

`python benchmarks/exercises/bench_exercises.py [FILE.pgn]` takes the mates of the bundled games,
or of a file.  For the casebook they are turned about and moved to other games until there are
10,000 different positions.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import chess

from flightless.casebook import Casebook, Filter
from flightless.exercises.exercise import Exercise
from flightless.exercises.grade import Calibration
from flightless.exercises.material import Material, material_of
from flightless.exercises.rarity import historical_shares
from flightless.exercises.registry import KINDS
from flightless.exercises.sets import Wish, make_set
from flightless.exercises.sources import of_casebook
from flightless.exercises.turning import turned
from flightless.harvest.records import Record, record_document
from flightless.harvest.run import harvest
from flightless.words.reasons import spoken

GAMES = Path(__file__).parents[2] / "examples" / "harbour-street"
POSITIONS = 10_000


def documents(files: list[str]) -> list[dict[str, object]]:
    """The finds of the games, as a harvest writes them."""
    return [record_document(item) for item in harvest(files) if isinstance(item, Record)]


def asked(document: dict[str, object]) -> chess.Board:
    """The position to solve."""
    way_in = document.get("way_in")
    fen = way_in["fen"] if isinstance(way_in, dict) else document["fen"]
    return chess.Board(str(fen))


def time_marking(found: list[dict[str, object]]) -> None:
    """Every legal first move of every mate in up to three, and some line of each, marked and
    spoken: the answers of all pupils there could be."""
    materials = [material_of(asked(document), within=3) for document in found]
    wanted = [m for m in materials if isinstance(m, Material) and m.proof is not None]
    by_length: dict[int, list[float]] = {}
    for material in wanted:
        made = KINDS["find-mate"].generate(material, random.Random(1))
        if not isinstance(made, Exercise) or material.proof is None:
            continue
        board = material.board
        line = board.variation_san(material.proof.line)
        for answer in [line, *(board.san(move) for move in board.legal_moves)]:
            started = time.perf_counter()
            spoken(made.mark(answer).reason)
            length = material.proof.moves or 0
            by_length.setdefault(length, []).append(time.perf_counter() - started)
    everything = [t for times in by_length.values() for t in times]
    for length, times in [*sorted(by_length.items()), (0, everything)]:
        times.sort()
        name = f"mates in {length}" if length else "all"
        print(
            f"marking, {name}: {len(times)} answers, median {times[len(times) // 2] * 1e3:.1f} ms, "
            f"p99 {times[int(len(times) * 0.99)] * 1e3:.1f} ms, longest {times[-1] * 1e3:.1f} ms"
        )


def many(found: list[dict[str, object]]) -> Iterator[dict[str, object]]:
    """The finds over and over: turned, and with one or two pawns more, so that every position
    is different.  Some are no mates any more: a casebook has such too, until they are proved."""
    chance = random.Random(1)
    seen: set[str] = set()
    while len(seen) < POSITIONS:
        for document in found:
            board, _ = turned(
                asked(document), colours=chance.random() < 0.5, files=chance.random() < 0.5
            )
            for square in chance.sample(chess.SQUARES[8:56], 2):
                if board.piece_at(square) is None:
                    board.set_piece_at(square, chess.Piece(chess.PAWN, chance.random() < 0.5))
            if board.fen() in seen or not board.is_valid() or not any(board.legal_moves):
                continue
            seen.add(board.fen())
            way_in = document.get("way_in")
            moves = (way_in if isinstance(way_in, dict) else document)["moves"]
            yield {
                **{k: v for k, v in document.items() if k not in ("way_in", "line")},
                "fen": board.fen(),
                "kind": "missed",
                "moves": max(1, int(str(moves))),
                "keys": [next(iter(board.legal_moves)).uci()],
                "played": None,
                "slower": False,
                "game": len(seen),
            }


def time_sets(found: list[dict[str, object]]) -> None:
    """The casebook's pages read, and the set made, as the command does it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "casebook.sqlite"
        with Casebook.open(path) as book:
            counts = book.add_records(json.loads(json.dumps(list(many(found)))))
            print(f"casebook of {counts.positions:,} positions")
        for patterns in ((), ("back rank",), ("queen before the king", "Lolli")):
            started = time.perf_counter()
            with Casebook.open(path) as book:
                candidates = list(of_casebook(book, Filter(), lambda _: ""))
            read = time.perf_counter() - started
            grades = Calibration(shares=historical_shares())  # as the command has it
            made = make_set(candidates, Wish(patterns=patterns, count=24), grades)
            whole = time.perf_counter() - started
            print(
                f"set of {len(made.exercises.exercises)} ({', '.join(patterns) or 'any pattern'}): "
                f"{whole:.1f} s, of which {read:.1f} s reading {len(candidates):,} positions"
            )


def main() -> None:
    files = sys.argv[1:] or [str(GAMES / "classics.pgn"), str(GAMES / "club-2026.pgn")]
    found = documents(files)
    print(f"{len(found)} finds in {len(files)} files")
    time_marking(found)
    time_sets(found)


if __name__ == "__main__":
    main()
