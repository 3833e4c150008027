"""A harvest of very many games: time, games a second, and the memory of all its processes.

Run `python benchmarks/harvest/million.py [GAMES [FILE.pgn [JOBS]]]`.  The file (the example
games unless one is named) is repeated until there are so many games; 20,000 unless told
otherwise, so that `make bench` stays short.  Finds are written to a file, as with `--out`.
Memory is the proportional set size of all processes together, asked for once a second.
"""

from __future__ import annotations

import os
import sys
import tempfile
import threading
import time
from pathlib import Path

from flightless.harvest.crew import cores
from flightless.harvest.records import Progress
from flightless.harvest.saving import harvest_to

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"


def sample(folder: Path, games: int) -> tuple[Path, int]:
    """A file of at least so many games, and how many there are in one copy."""
    if len(sys.argv) > 2:
        text = Path(sys.argv[2]).read_bytes()
    else:
        names = ("classics.pgn", "club-2026.pgn")
        text = b"\n".join((EXAMPLES / name).read_bytes() for name in names)
    text = text.rstrip() + b"\n\n"
    one = text.count(b"[Event ")
    path = folder / "many.pgn"
    with path.open("wb") as file:
        for _ in range(-(-games // one)):
            file.write(text)
    return path, one


def memory_of(process: int) -> int:
    """Proportional set size of a process and its children, in kilobytes (Linux)."""
    total = 0
    for line in Path(f"/proc/{process}/smaps_rollup").read_text("ascii").splitlines():
        if line.startswith("Pss:"):
            total += int(line.split()[1])
    for task in Path(f"/proc/{process}/task").iterdir():
        for child in (task / "children").read_text("ascii").split():
            total += memory_of(int(child))
    return total


class Watch(threading.Thread):
    """Keeps the most memory seen."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.most = 0

    def run(self) -> None:
        while True:
            try:
                self.most = max(self.most, memory_of(os.getpid()))
            except OSError:
                return  # no such figures on this system, or a child has just gone
            time.sleep(1)


def main() -> None:
    games = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    jobs = int(sys.argv[3]) if len(sys.argv) > 3 else cores()
    with tempfile.TemporaryDirectory() as folder:
        path, one = sample(Path(folder), games)
        watch = Watch()
        watch.start()
        started = time.perf_counter()
        first: list[tuple[float, int]] = []

        def see(progress: Progress) -> None:
            if progress.games >= one and not first:
                first.append((time.perf_counter() - started, progress.games))

        out = Path(folder) / "finds.jsonl"
        progress = harvest_to(out, [str(path)], on_progress=see, jobs=jobs)
        seconds = time.perf_counter() - started
        size = path.stat().st_size
    print(f"{progress.games:,} games ({one:,} different), {size / 1e6:.0f} MB, {jobs} processes")
    print(f"{seconds:.1f} s, {progress.games / seconds:,.0f} games/s, {progress.finds:,} finds")
    print(
        f"the first {first[0][1]:,} games took {first[0][0]:.1f} s with the start of all processes"
    )
    print(f"memory of all processes together: {watch.most / 1024:.0f} MB at most")


if __name__ == "__main__":
    main()
