"""What grades cost, and what the calibration learns from simulated pupils (not from real ones).

Run: python benchmarks/exercises/bench_grade.py
"""

from __future__ import annotations

import random
import statistics
import time
from pathlib import Path

from flightless.exercises.calibrating import learn
from flightless.exercises.grade import Calibration
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.material import Material, material_of
from flightless.exercises.rarity import historical_shares
from flightless.exercises.results import Result
from flightless.exercises.simulated import Simulated, simulate
from flightless.positions import read_position

POSITIONS = Path(__file__).parents[2] / "examples" / "harbour-street" / "coach-positions.epd"


def main() -> None:
    """Print times of grades, of learning, and the figures of ten lots of simulated pupils."""
    _grades()
    _learning()
    lots = [simulate(seed) for seed in range(1, 11)]
    print("simulated pupils, mean of ten lots:")
    for name in Simulated.__slots__:
        print(f"  {name}: {statistics.mean(getattr(lot, name) for lot in lots):.3f}")


def _grades() -> None:
    known, times = Calibration(shares=historical_shares()), []
    for line in POSITIONS.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        material = material_of(read_position(line).board)
        made = (
            FindMate.generate(material, random.Random(1))
            if isinstance(material, Material)
            else None
        )
        if isinstance(made, FindMate):
            started = time.perf_counter()
            known(made)
            times.append(time.perf_counter() - started)
    print(
        f"grade: {len(times)} mates, median {statistics.median(times) * 1e3:.1f} ms, longest "
        f"{max(times) * 1e3:.1f} ms (proof and case included)"
    )


def _learning() -> None:
    chance = random.Random(1)
    results = [
        Result(
            f"{chance.randrange(500):012x}",
            "right" if chance.random() < 0.6 else "wrong",
            f"pupil {chance.randrange(100)}",
            "find-mate 2",
        )
        for _ in range(10_000)
    ]
    started = time.perf_counter()
    learn(results)
    print(f"calibrate: 10,000 answers to 500 exercises in {time.perf_counter() - started:.1f} s")


if __name__ == "__main__":
    main()
