"""How long it takes to say what positions are worth in class, by the length of the mate.

    python benchmarks/casebook/weighing.py [--records FILE] [--most N]

The positions are those to be solved in a harvest's records (of the games that come with
Flightless, or of FILE), in order, N at most.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path

from million import base_records

from flightless.exercises.material import NotFit
from flightless.exercises.worth_keeping import ToWeigh


def main() -> int:
    """Weigh and print median, mean and longest time for each length, and the spread of totals."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--records", type=Path, help="JSON Lines of a harvest")
    parser.add_argument("--most", type=int, default=1000)
    options = parser.parse_args()
    asked = [record.get("way_in") or record for record in base_records(options.records)]
    positions = [ToWeigh(a["fen"], a["moves"], True) for a in asked[: options.most]]
    positions[0].worth()  # loads what is compiled
    times: dict[int, list[float]] = {}
    totals, refused = [], 0
    for position in positions:
        started = time.perf_counter()
        worth = position.worth()
        times.setdefault(position.moves or 0, []).append(time.perf_counter() - started)
        if isinstance(worth, NotFit):
            refused += 1
        else:
            totals.append(worth.total)
    for moves, some in sorted(times.items()):
        say(f"mate in {moves}", some)
    say("all", [t for some in times.values() for t in some])
    print(
        f"totals: mean {statistics.mean(totals):.3f}, standard deviation "
        f"{statistics.stdev(totals):.3f}, from {min(totals):.3f} to {max(totals):.3f}; "
        f"{refused} not weighed"
    )
    return 0


def say(what: str, times: list[float]) -> None:
    print(
        f"{what}: {len(times)} positions, median {statistics.median(times) * 1e3:.1f} ms, mean "
        f"{statistics.mean(times) * 1e3:.1f} ms, longest {max(times) * 1e3:.0f} ms"
    )


if __name__ == "__main__":
    sys.exit(main())
