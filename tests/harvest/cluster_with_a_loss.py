"""A harvest on a local cluster of two workers, one of which is killed in the middle.

Run by the tests as a process of its own: `cluster_with_a_loss.py OUT FILE...`.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from distributed import Client, LocalCluster

from flightless.harvest.records import Progress
from flightless.harvest.saving import harvest_to


def main() -> None:
    out, files = Path(sys.argv[1]), sys.argv[2:]
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        victims = list(client.run(os.getpid).values())[:1]
        killed = []

        def kill_one(progress: Progress) -> None:
            if progress.games and victims:
                killed.append(victims.pop())
                os.kill(killed[0], signal.SIGKILL)

        progress = harvest_to(out, files, on_progress=kill_one, cluster=cluster.scheduler_address)
        print(f"{progress.games} games, {len(killed)} worker killed")


if __name__ == "__main__":
    main()
