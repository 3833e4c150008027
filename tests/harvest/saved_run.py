"""A harvest into a file, as a process that the tests can interrupt or kill.

`saved_run.py JOBS OUT FILE...` prints the number of games after every step.
"""

from __future__ import annotations

import sys
from pathlib import Path

from flightless.harvest.records import Progress
from flightless.harvest.saving import harvest_to


def tell(progress: Progress) -> None:
    print(progress.games, flush=True)


def main() -> int:
    jobs, out, files = int(sys.argv[1]), Path(sys.argv[2]), sys.argv[3:]
    try:
        harvest_to(out, files, on_progress=tell, jobs=jobs)
    except KeyboardInterrupt:
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
