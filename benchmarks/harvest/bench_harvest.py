"""What a harvest costs a game, beside what python-chess needs to read the same file.

Run `python benchmarks/harvest/bench_harvest.py [FILE.pgn]`.  Without a file it reads the
example games over and over.  One thread; the first game (which loads the compiled code) is
not counted.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
from pathlib import Path

import chess.pgn

from flightless.harvest.records import Record
from flightless.harvest.run import harvest

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"
ENOUGH = 2000


def sample(folder: Path) -> tuple[str, int]:
    """A file of up to `ENOUGH` games, and their number."""
    if len(sys.argv) > 1:
        text = Path(sys.argv[1]).read_text(encoding="latin-1")
    else:
        text = "\n".join(
            (EXAMPLES / name).read_text(encoding="utf-8")
            for name in ("classics.pgn", "club-2026.pgn")
        )
        text *= ENOUGH // text.count("[Event ")
    games = text.split("\n[Event ")[:ENOUGH]
    path = folder / "sample.pgn"
    path.write_text("\n[Event ".join(games) + "\n", encoding="latin-1", errors="replace")
    return str(path), len(games)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path, games = sample(Path(folder))
        list(harvest([str(EXAMPLES / "drawer-1.pgn")]))
        started = time.perf_counter()
        finds = sum(isinstance(item, Record) for item in harvest([path]))
        ours = (time.perf_counter() - started) / games
        handle = io.StringIO(Path(path).read_text(encoding="latin-1"))
        started = time.perf_counter()
        while chess.pgn.read_game(handle) is not None:
            pass
        theirs = (time.perf_counter() - started) / games
    print(f"{games} games, {finds} finds")
    print(f"harvest             {ours * 1e3:6.2f} ms a game, {1 / ours:7.0f} games/s")
    print(f"python-chess, read  {theirs * 1e3:6.2f} ms a game, {1 / theirs:7.0f} games/s")
    print(f"more than reading   {(ours - theirs) * 1e3:6.2f} ms a game")


if __name__ == "__main__":
    main()
