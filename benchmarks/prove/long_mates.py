"""How many long mates of an EPD file are found, at their known length, within some seconds.

    python benchmarks/prove/long_mates.py FILE [--from 6] [--to 12] [--sample 50]
        [--seconds 10] [--threads 2] [--within 12] [--nodes N] [--memory 128] [--replay]

FILE has lines `FEN's first four fields dm N;`.  The search is not told N, only `--within`.  The
sample is evenly spaced over the file.  The clock runs from the position to the finished proof,
tree and all.  A proof shorter than N, or called shortest at another length, is wrong and ends
the run with an error.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

import chess

from flightless.certify import verify
from flightless.prove import DEFAULT_NODES, Proof, document, prove


def sample(path: Path, least: int, most: int, number: int) -> list[tuple[str, int]]:
    """Positions with lengths in the range, evenly spaced over the file."""
    rows = []
    for line in path.read_text(encoding="utf-8").splitlines():
        position, _, operation = line.partition(" dm ")
        if least <= int(operation.rstrip(";")) <= most:
            rows.append((position, int(operation.rstrip(";"))))
    number = min(number, len(rows)) or len(rows)
    return [rows[i * len(rows) // number] for i in range(number)]


def is_wrong(proof: Proof, known: int) -> bool:
    """Whether the proof contradicts the known length."""
    if proof.verdict == "no mate":
        return proof.searched >= known
    if proof.moves is None:
        return proof.searched >= known
    return proof.moves < known or (proof.shortest and proof.moves != known)


def main() -> int:
    """Print one line a position, then the shares."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("file", type=Path)
    for name, value in (("from", 6), ("to", 12), ("sample", 50), ("threads", 2), ("within", 12)):
        reader.add_argument(f"--{name}", type=int, default=value)
    reader.add_argument("--memory", type=int, default=128, help="megabytes")
    reader.add_argument("--seconds", type=float, default=10.0)
    reader.add_argument("--nodes", type=int, default=None, help="instead of seconds")
    reader.add_argument("--replay", action="store_true", help="replay each proof, and its size")
    asked = vars(reader.parse_args())
    rows = sample(asked["file"], asked["from"], asked["to"], asked["sample"])
    prove(chess.Board("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"), 4)  # loads the machine code
    seconds = None if asked["nodes"] else asked["seconds"]
    budget = asked["nodes"] or max(DEFAULT_NODES, 10**12)
    mates = exact = wrong = 0
    for position, known in rows:
        started = time.perf_counter()
        proof = prove(
            chess.Board(f"{position} 0 1"),
            asked["within"],
            budget,
            seconds,
            threads=asked["threads"],
            memory=asked["memory"],
        )
        took = time.perf_counter() - started
        mates += proof.moves is not None
        exact += proof.moves == known
        wrong += is_wrong(proof, known)
        found = f"mate in {proof.moves}" if proof.moves else proof.verdict
        text = f"{known:3d} {found:10} {'shortest' if proof.shortest else '':8} none to "
        text += f"{proof.searched:2d} {took:6.2f} s {proof.nodes:11,d} nodes"
        if asked["replay"] and proof.moves is not None:
            text += _replayed(proof)
        print(text, position, "WRONG" if is_wrong(proof, known) else "", flush=True)
    print(
        f"{len(rows)} positions: {mates} mates found ({mates / len(rows):.0%}), "
        f"{exact} at the known length ({exact / len(rows):.0%}), {wrong} wrong"
    )
    return bool(wrong)


def _replayed(proof: Proof) -> str:
    paper = document(proof)
    started = time.perf_counter()
    result = verify(paper)
    took = time.perf_counter() - started
    assert result.ok, (proof.fen, result.sentences)
    size = len(json.dumps(paper))
    return f"; {len(proof.tree):6d} positions {size / 1e3:8.1f} kB, replayed in {took:6.2f} s"


if __name__ == "__main__":
    sys.exit(main())
