"""What naming, keys and likeness cost, and that keys keep under every turn of thousands of mates.

Run: python benchmarks/patterns/bench_patterns.py [mates]
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Sequence
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "src"))
sys.path.insert(0, str(Path(__file__).parents[2] / "tests"))

import chess
import numpy as np

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.patterns.describe import describe
from flightless.patterns.geometry import geometry_key
from flightless.patterns.like import LikenessIndex
from flightless.patterns.recognise import catalogue, names
from strategies import mated

TURNS = (
    chess.flip_vertical,
    chess.flip_horizontal,
    chess.flip_diagonal,
    chess.flip_anti_diagonal,
)


def boards(many: int) -> list[chess.Board]:
    """Mates by chance, and those of the catalogue again and again, one of each in turn."""
    chance = random.Random(1)
    known = [e.fen for p in catalogue().patterns for e in (p.model, *p.variations)]
    found = []
    for number in range(many):
        board = chess.Board(known[number % len(known)]) if number % 2 else mated(chance, 20)
        board.castling_rights, board.ep_square = 0, None
        if board.is_checkmate():
            found.append(board)
    return found


def each(what: str, work: Callable[[Case], object], cases: Sequence[Case]) -> None:
    """Print what one call costs."""
    work(cases[0])
    start = time.perf_counter()
    for case in cases:
        work(case)
    took = time.perf_counter() - start
    print(f"{what:<44}{1000 * took / len(cases):8.3f} ms a mate")


def all_of_it(fen: str) -> int:
    """Everything that is computed of a mate."""
    case = case_of(chess.Board(fen))
    return len(names(case)) + len(geometry_key(case)) + len(describe(case).check)


def pipeline(fens: list[str], many: int) -> None:
    """Case, names, description and key of so many mates on two processes."""
    work = [fens[i % len(fens)] for i in range(many)]
    with Pool(2, initializer=all_of_it, initargs=(fens[0],)) as pool:
        start = time.perf_counter()
        for _ in pool.imap_unordered(all_of_it, work, chunksize=100):
            pass
        took = time.perf_counter() - start
    print(f"{many} mates through all of it, two processes   {took:8.1f} s")


def likeness_of_a_million(keys: list[str]) -> None:
    """`nearest` over a million keys: as they come, and with no two alike."""
    index = LikenessIndex.of(keys)
    chance = np.random.default_rng(1)
    different = index.columns.shape[1]
    which = chance.integers(0, different, 1_000_000).astype(np.uint32)
    mixed = np.stack([row[chance.integers(0, row.size, 1_000_000)] for row in index.columns])
    each_its_own = np.arange(1_000_000, dtype=np.uint32)
    for what, big in (
        (f"like, a million keys, {different} different", LikenessIndex(index.columns, which)),
        ("like, a million keys, every one its own", LikenessIndex(mixed, each_its_own)),
    ):
        best = min(_timed(lambda big=big: big.nearest(keys[0])) for _ in range(5))
        print(f"{what:<44}{best:8.3f} s")


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def turns_hold(mates: Sequence[chess.Board]) -> None:
    """Keys under colours, files, and for mates without pawns every turn; stops at a fault."""
    asked = 0
    for board in mates:
        key = geometry_key(case_of(board))
        turned = [board.mirror(), board.transform(chess.flip_horizontal)]
        if not board.pawns:
            turned += [board.transform(turn) for turn in TURNS]
        for other in turned:
            asked += 1
            if geometry_key(case_of(other)) != key:
                raise SystemExit(f"another key: {board.fen()} and {other.fen()}")
    print(f"keys hold under {asked} turns of {len(mates)} mates")


def main() -> None:
    """All figures."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    start = time.perf_counter()
    catalogue()
    print(f"{'reading the catalogue':<44}{1000 * (time.perf_counter() - start):8.1f} ms")
    mates = boards(many)
    cases = [case_of(board) for board in mates]
    print(f"{len(cases)} mates, {sum(len(c.skeletons) for c in cases)} skeletons")
    each("python-chess: is it mate?", lambda case: case.board.is_checkmate(), cases)
    each("case", lambda case: case_of(case.board), cases)
    each("all names", names, cases)
    each("description", describe, cases)
    each("geometry key", geometry_key, cases)
    pipeline([board.fen() for board in mates], 10_000)
    likeness_of_a_million([geometry_key(case) for case in cases])
    turns_hold(mates)


if __name__ == "__main__":
    main()
