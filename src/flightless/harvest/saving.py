"""A harvest written to a file, which can be interrupted at any moment and goes on from there.

The output is JSON Lines, or Parquet if its name ends so.  How the journal keeps the promise is
its own affair; how finds are made, that of `run`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path

from flightless.errors import FileError
from flightless.harvest.journal import Journal, State
from flightless.harvest.records import (
    BadFile,
    BadGame,
    Limits,
    Progress,
    Record,
    record_document,
)
from flightless.harvest.run import Mark, crew_for, first_progress, steps

__all__ = ["harvest_to"]


def harvest_to(
    out: Path,
    paths: Sequence[str],
    limits: Limits | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    on_bad: Callable[[BadGame | BadFile], None] | None = None,
    *,
    jobs: int | None = None,
    cluster: str | None = None,
    fresh: bool = False,
) -> Progress:
    """Harvest files of games into `out`, and go on with an unfinished harvest found there.

    `out` grows as the work goes on; the folder `out` + ".unfinished" beside it says how far it
    is, and goes when all is done.  Called again with the same files and limits after an
    interruption of any kind, it goes on: nothing is lost, nothing comes twice, and bad games
    are not told again.  `fresh` starts anew instead.  If `out` ends in ".parquet" the finds
    are turned into Parquet at the end.  The other arguments are those of `run.harvest`.

    Raises `FileError` and `UsageError` as that does, and if `out` cannot be written, is being
    written by another harvest, or holds an unfinished one of other files or limits.
    """
    limits = limits or Limits()
    begin = first_progress(paths, limits)
    folder = out.with_name(out.name + ".unfinished")
    as_parquet = out.suffix == ".parquet"
    if as_parquet:
        from flightless.harvest.parquet import need_parquet

        need_parquet()
    finds = folder / "finds.jsonl" if as_parquet else out
    with Journal(finds, folder, paths, limits) as journal:
        state = journal.open(fresh=fresh) or State(Mark(), begin)
        if on_progress is not None:
            on_progress(state.progress)
        if state.mark.file < len(paths):
            with closing(crew_for(begin.bytes_total, jobs, cluster)) as crew:
                going_on = steps(paths, limits, crew, state.progress, state.mark, journal.known())
                for step in going_on:
                    bad = [item for item in step.items if not isinstance(item, Record)]
                    fault = state.fault or _first_fault(bad)
                    documents = [record_document(i) for i in step.items if isinstance(i, Record)]
                    journal.write(documents, step, fault)
                    state = State(step.mark, step.progress, fault)
                    if on_bad is not None:
                        for item in bad:
                            on_bad(item)
                    if on_progress is not None:
                        on_progress(step.progress)
        if as_parquet:
            from flightless.harvest.parquet import write_parquet

            write_parquet(finds, out)
        journal.finish()
    if state.fault is not None and not state.progress.games + state.progress.bad:
        raise FileError(state.fault)
    return state.progress


def _first_fault(bad: Sequence[BadGame | BadFile]) -> str | None:
    return next((item.reason for item in bad if isinstance(item, BadFile)), None)
