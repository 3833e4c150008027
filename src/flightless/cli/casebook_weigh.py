"""Weighing positions and telling why: `casebook weigh`, and what the lists and sheets share."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from flightless.cli.console import note, say, say_json
from flightless.cli.exits import Exit
from flightless.cli.warm import ready

if TYPE_CHECKING:
    from flightless.casebook.book import Casebook

__all__ = ["WITH_NEW_ONES", "progress_bar", "run_weigh", "say_unweighed", "weigh_new", "why"]

WITH_NEW_ONES = 500
"""Positions that are weighed as they are added, some seconds' worth; more wait for `weigh`."""


def run_weigh(where: str | None, jobs: int | None, *, again: bool, as_json: bool) -> Exit:
    """Weigh what is not weighed yet; with `again` everything."""
    from flightless.casebook import Casebook as Book
    from flightless.exercises.worth_keeping import weigh_casebook
    from flightless.harvest.crew import cores

    with Book.open(where, create=False) as book:
        if again:
            book.forget_worths()
        ready()
        try:
            with progress_bar("weighed") as report:
                done = weigh_casebook(book, jobs=jobs or cores(), progress=report)
        except KeyboardInterrupt:
            note("Nothing is lost: the same command goes on where this one stopped.")
            raise
        left = book.without_worth(size=1, count=True).total or 0
    if as_json:
        say_json({"weighed": done, "left": left})
    else:
        say(f"{done:,} weighed.")
    return Exit.DONE


def weigh_new(book: Casebook) -> None:
    """Weigh what was just added if that is quickly done; else say how to do it."""
    from flightless.exercises.worth_keeping import weigh_casebook

    if (book.without_worth(size=1, count=True).total or 0) <= WITH_NEW_ONES:
        weigh_casebook(book)
    say_unweighed(book)


def say_unweighed(book: Casebook) -> None:
    """Say how many positions are not weighed, and how to weigh them."""
    waiting = book.without_worth(size=1, count=True).total or 0
    if waiting:
        are = "1 position is" if waiting == 1 else f"{waiting:,} positions are"
        note(f"{are} not weighed yet: 'flightless casebook weigh' does it.")


def why(document: Mapping[str, Any]) -> str:
    """The reasons of a worth as it is kept, in one paragraph."""
    from flightless.words.worth import document_sentences

    return " ".join(document_sentences(document))


@contextmanager
def progress_bar(word: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on standard error if that is a terminal, to be told how many of how many."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (BarColumn(), TextColumn("{task.fields[words]}"), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(word, total=None, words="")

        def report(done: int, total: int) -> None:
            words = f"{done:,} of {total:,} {word}"
            bar.update(task, total=max(total, 1), completed=done, words=words)

        yield report
