"""`flightless harvest`: finds as JSON Lines, progress and bad games on standard error."""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from flightless.cli.console import note
from flightless.cli.exits import Exit
from flightless.cli.warm import ready

if TYPE_CHECKING:
    from flightless.harvest.records import Progress

__all__ = ["run_harvest"]


def run_harvest(files: list[str], out: Path | None, full: int, checks: int) -> Exit:
    """Harvest `files` to `out` or standard output."""
    from flightless.harvest.records import BadFile, BadGame, Limits, record_document
    from flightless.harvest.run import harvest

    limits = Limits(full=full, checks=checks)
    tally = Tally()
    items = harvest(files, limits, tally.see)  # refuses missing files before anything is loaded
    ready()
    with _sink(out) as sink, tally.shown():
        for item in items:
            if isinstance(item, BadGame | BadFile):
                tally.aside(f"Skipped: {item}")
            else:
                tally.kinds[item.kind] += 1
                print(json.dumps(record_document(item), ensure_ascii=False), file=sink, flush=True)
    note(tally.summary())
    return Exit.DONE if tally.games else Exit.INPUT


@contextmanager
def _sink(out: Path | None) -> Iterator[TextIO]:
    if out is None:
        yield sys.stdout
        return
    out.parent.mkdir(parents=True, exist_ok=True)
    with out.open("w", encoding="utf-8") as stream:
        yield stream


class Tally:
    """Counts a harvest as it goes, and shows it as a bar when standard error is a terminal."""

    def __init__(self) -> None:
        self.games = self.bad = self.cut_short = 0
        self.kinds: Counter[str] = Counter()
        self.started = time.monotonic()
        self._update: Callable[[Progress], None] | None = None
        self._print: Callable[[str], None] = note

    def see(self, progress: Progress) -> None:
        """Take note of how far the harvest has got."""
        self.games, self.bad = progress.games, progress.bad
        self.cut_short = progress.cut_short
        if self._update is not None:
            self._update(progress)

    def aside(self, text: str) -> None:
        """Say something without spoiling the bar."""
        self._print(text)

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

    def summary(self) -> str:
        """One line on what was read and found."""
        kinds = self.kinds
        text = (
            f"{self.games:,} games read, {self.bad:,} skipped; {kinds['mated']:,} mates on the "
            f"board, {kinds['missed']:,} missed, {kinds['resigned']:,} resigned before a forced "
            f"mate; {self._rate():,.0f} games/s."
        )
        if self.cut_short:
            text += f" {self.cut_short:,} positions were given up when their budget was spent."
        return text
