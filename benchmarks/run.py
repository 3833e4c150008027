"""All measured figures, one script after the other: `make bench`.

Each script measures one room and prints its figures with ratios against python-chess taken
in the same run.  Nothing else heavy should run meanwhile; figures that are kept go into
RESULTS.md with the command that made them.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def main() -> int:
    """Run every benchmarks/<room>/*.py; the exit code is the number that failed."""
    failed = 0
    for script in sorted(HERE.glob("*/*.py")):
        print(f"\n=== {script.relative_to(HERE.parent)}", flush=True)
        failed += subprocess.call([sys.executable, str(script)]) != 0
    return failed


if __name__ == "__main__":
    sys.exit(main())
