"""`flightless exercises make`: candidates from whatever is named, and the set made of them."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from flightless.cli.console import note, refuse, say, say_json
from flightless.cli.exits import Exit
from flightless.cli.finds import finds_of, source_line
from flightless.cli.warm import ready
from flightless.cli.whole import write_text
from flightless.errors import FileError
from flightless.harvest.inputs import asked_positions, is_single, kind_of
from flightless.positions import read_position

if TYPE_CHECKING:
    from flightless.exercises.choice import Candidate
    from flightless.exercises.grade import Calibration
    from flightless.exercises.sets import Wish

__all__ = ["run_make"]

_CASEBOOK_ENDS = (".sqlite", ".sqlite3", ".db")


def run_make(
    source: str, wish: Wish, out: Path, results: Path | None = None, *, as_json: bool
) -> Exit:
    """Make the set and write it; what could not be as wished is said.  Grades come from
    `results` if there are any, else from what is on the board."""
    from flightless.exercises.file import write_set
    from flightless.exercises.sets import make_set

    started = time.monotonic()
    known = _calibration(results)
    candidates, refused = _candidates(source, wish)
    if not candidates:
        raise FileError(f"{source}: there is no position in it to make exercises from")
    ready()
    with _progress() as report:
        made = make_set(candidates, wish, replace(known, shares=_shares(source)), report)
    exercises = made.exercises.exercises
    for text in made.notes:
        note(text)
    if not exercises:
        raise FileError(f"{source}: no exercise could be made as wished")
    write_text(out, write_set(made.exercises))
    seconds = time.monotonic() - started
    if as_json:
        say_json(
            {
                "file": str(out),
                "exercises": len(exercises),
                "candidates": len(candidates),
                "notes": list(made.notes),
            }
        )
    else:
        count = "1 exercise" if len(exercises) == 1 else f"{len(exercises)} exercises"
        say(f"{count} from {len(candidates):,} positions in {seconds:.1f} s: {out}")
    return Exit.INPUT if refused else Exit.DONE


def _calibration(results: Path | None) -> Calibration:
    from flightless.cli.exercise_results import calibration_from
    from flightless.exercises.grade import Calibration

    return Calibration() if results is None else calibration_from(results)


def _shares(source: str) -> Mapping[str, float]:
    """How often patterns are met: in the casebook if it is large enough, else in old games."""
    from flightless.exercises.rarity import historical_shares, shares_met

    target = _casebook_of(source)
    if target is not None:
        from flightless.casebook import Casebook

        with Casebook.open(target or None, create=False) as book:
            counts = book.statistics()
        return shares_met(counts.patterns, counts.cases)
    return historical_shares()


def _casebook_of(source: str) -> str | None:
    """The casebook that a source means, empty for one's own; None if it means none."""
    if source == "casebook":
        return ""
    is_url = source.startswith(("postgresql://", "postgresql+", "sqlite:"))
    return source if is_url or source.lower().endswith(_CASEBOOK_ENDS) else None


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None] | None]:
    if not sys.stderr.isatty():
        yield None
        return

    def report(made: int, wanted: int) -> None:
        print(f"\r\x1b[K{made} of {wanted} exercises", end="", file=sys.stderr, flush=True)

    try:
        yield report
    finally:
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def _candidates(source: str, wish: Wish) -> tuple[list[Candidate], bool]:
    """The candidates of a source, and whether any line of it was refused."""
    book = _casebook_of(source)
    if book is not None:
        return _of_casebook(book or None, wish), False
    if is_single(source):
        from flightless.exercises.choice import Candidate

        return [Candidate(read_position(source).board.fen())], False
    kind = kind_of(source)
    if kind == "finds":
        return _of_harvest(source)
    return (_of_games(source), False) if kind == "games" else _of_lines(source)


def _of_casebook(target: str | None, wish: Wish) -> list[Candidate]:
    from flightless.casebook import Casebook
    from flightless.exercises.sources import for_wish

    with Casebook.open(target, create=False) as book:
        return list(for_wish(book, wish, source_line))


def _of_harvest(source: str) -> tuple[list[Candidate], bool]:
    from flightless.exercises.sources import candidate_of_find

    found = []
    refused = False
    for find in finds_of(source):
        if find.refusal is not None:
            refuse(find.refusal, find.place)
            refused = True
        else:
            found.append(candidate_of_find(find.document, source_line))
    return found, refused


def _of_games(source: str) -> list[Candidate]:
    from flightless.exercises.sources import candidate_of_find
    from flightless.harvest.records import BadFile, BadGame, record_document
    from flightless.harvest.run import harvest

    found = []
    items = harvest([source])
    ready()
    for item in items:
        if isinstance(item, BadGame | BadFile):
            note(f"Skipped: {item}")
        else:
            found.append(candidate_of_find(record_document(item), source_line))
    return found


def _of_lines(source: str) -> tuple[list[Candidate], bool]:
    """FEN or EPD lines.  Their patterns are not known yet, so that all are looked at."""
    from flightless.exercises.choice import Candidate

    found = []
    refused = False
    for asked in asked_positions(source):
        if asked.position is None:
            refuse(asked.refusal or "", asked.place)
            refused = True
        else:
            label = asked.position.operations.get("id", ("",))[0]
            found.append(Candidate(asked.position.board.fen(), source=label))
    return found, refused
