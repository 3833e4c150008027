"""`flightless harvest`: finds as JSON Lines, progress and bad games on standard error."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from flightless.cli.console import note
from flightless.cli.exits import Exit
from flightless.cli.warm import ready

if TYPE_CHECKING:
    from flightless.harvest.records import Limits, Progress

__all__ = ["run_harvest"]


def run_harvest(
    files: list[str],
    out: Path | None,
    full: int,
    checks: int,
    *,
    jobs: int | None = None,
    cluster: str | None = None,
    fresh: bool = False,
    as_json: bool = False,
) -> Exit:
    """Harvest `files` to `out`, where an interrupted run goes on, or to standard output."""
    from flightless.harvest.records import Limits

    limits = Limits(full=full, checks=checks)
    tally = Tally()
    if out is None:
        _to_standard_output(files, limits, tally, jobs, cluster)
    else:
        _to_file(files, out, limits, tally, jobs, cluster, fresh=fresh)
    note(json.dumps(tally.document()) if as_json else tally.summary())
    return Exit.DONE if tally.games else Exit.INPUT


def _to_standard_output(
    files: list[str], limits: Limits, tally: Tally, jobs: int | None, cluster: str | None
) -> None:
    from flightless.harvest.records import BadFile, BadGame, record_document
    from flightless.harvest.run import harvest

    # The call itself refuses missing files, before anything compiled is loaded.
    items = harvest(files, limits, tally.see, jobs=jobs, cluster=cluster)
    ready()
    with tally.shown():
        for item in items:
            if isinstance(item, BadGame | BadFile):
                tally.bad_one(item)
            else:
                print(json.dumps(record_document(item), ensure_ascii=False), flush=True)


def _to_file(
    files: list[str],
    out: Path,
    limits: Limits,
    tally: Tally,
    jobs: int | None,
    cluster: str | None,
    *,
    fresh: bool,
) -> None:
    from flightless.harvest.files import file_size
    from flightless.harvest.saving import harvest_to

    for file in files:
        file_size(file)  # refuses a missing file before anything compiled is loaded
    ready()
    out.parent.mkdir(parents=True, exist_ok=True)
    try:
        with tally.shown():
            harvest_to(
                out,
                files,
                limits,
                tally.see,
                tally.bad_one,
                jobs=jobs,
                cluster=cluster,
                fresh=fresh,
            )
    except KeyboardInterrupt:
        note("Nothing is lost: the same command goes on where this one stopped.")
        raise


class Tally:
    """Counts a harvest as it goes, and shows it as a bar when standard error is a terminal."""

    def __init__(self) -> None:
        self.games = self.bad = self.cut_short = 0
        self.finds = 0
        self.started = time.monotonic()
        self._update: Callable[[Progress], None] | None = None
        self._print: Callable[[str], None] = note

    def see(self, progress: Progress) -> None:
        """Take note of how far the harvest has got."""
        self.games, self.bad, self.finds = progress.games, progress.bad, progress.finds
        self.cut_short = progress.cut_short
        if self._update is not None:
            self._update(progress)

    def bad_one(self, item: object) -> None:
        """Name a game or file that was skipped, without spoiling the bar."""
        self._print(f"Skipped: {item}")

    @contextmanager
    def shown(self) -> Iterator[None]:
        """Show a progress bar with games a second while the block runs, timed from here."""
        self.started = time.monotonic()
        if not sys.stderr.isatty():
            yield
            return
        from rich.console import Console
        from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
        from rich.progress import Progress as Bar

        console = Console(stderr=True, highlight=False)
        columns = (
            BarColumn(),
            TextColumn("{task.percentage:>3.0f} %"),
            TextColumn("{task.fields[words]}"),
            TimeRemainingColumn(),
        )
        with Bar(*columns, console=console, transient=True) as bar:
            task = bar.add_task("harvest", total=None, words="")

            def update(progress: Progress) -> None:
                bar.update(
                    task,
                    total=max(progress.bytes_total, 1),
                    completed=progress.bytes_done,
                    words=f"{progress.games:,} games, {self._rate():,.0f} games/s, "
                    f"{progress.finds:,} finds",
                )

            self._update = update
            self._print = lambda text: console.print(text, markup=False, soft_wrap=True)
            try:
                yield
            finally:
                self._update, self._print = None, note

    def _rate(self) -> float:
        return (self.games + self.bad) / max(time.monotonic() - self.started, 1e-6)

    def document(self) -> dict[str, int]:
        """The counts for machines."""
        return {
            "games": self.games,
            "skipped": self.bad,
            "finds": self.finds,
            "given_up": self.cut_short,
        }

    def summary(self) -> str:
        """One line on what was read and found."""
        text = (
            f"{self.games:,} games read, {self.bad:,} skipped, {self.finds:,} finds; "
            f"{self._rate():,.0f} games/s."
        )
        if self.cut_short:
            text += f" In {self.cut_short:,} games a position was given up: its budget was spent."
        return text
