"""The loop that `prove` and `explain` share: one answer for each position that was asked about."""

from __future__ import annotations

import sys
import time
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

from flightless.cli.console import note, refuse, say_json
from flightless.cli.exits import Exit
from flightless.cli.warm import ready
from flightless.errors import PositionError
from flightless.harvest.inputs import Asked
from flightless.positions import Position

__all__ = ["Answerer", "answer_all"]

Report = Callable[[int, int], None]


class Answerer(ABC):
    """Answers one position after the other."""

    @abstractmethod
    def answer(self, asked: Asked, position: Position) -> str:
        """Print the answer and return its verdict; may raise `PositionError` to refuse."""

    @contextmanager
    def progress(self) -> Iterator[Report | None]:
        """A reporter of long searches for a terminal's standard error; None elsewhere."""
        if not sys.stderr.isatty():
            yield None
            return
        started = time.monotonic()
        shown = False

        def report(moves: int, nodes: int) -> None:
            nonlocal shown
            if time.monotonic() - started > 1:
                shown = True
                line = f"\r\x1b[KLooking for a mate in {moves}: {nodes:,} positions"
                print(line, end="", file=sys.stderr, flush=True)

        try:
            yield report
        finally:
            if shown:
                print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def answer_all(source: str, asked: Iterable[Asked], answerer: Answerer, *, as_json: bool) -> Exit:
    """Answer every position of `source`, refused ones too, and work out the exit code."""
    refused = undecided = False
    warmed = False
    try:
        for one in asked:
            if one.position is not None and not warmed:
                ready()
                warmed = True
            verdict = _answer(one, answerer, as_json=as_json)
            refused = refused or verdict == "refused"
            undecided = undecided or verdict == "undecided"
    except PositionError as error:
        # A FEN given directly; lines of a file are refused one by one above.
        _refuse(Asked(source.strip(), "", None, str(error)), as_json=as_json)
        refused = True
    return Exit.of_lines(refused=refused, undecided=undecided)


def _answer(asked: Asked, answerer: Answerer, *, as_json: bool) -> str:
    if asked.position is None:
        return _refuse(asked, as_json=as_json)
    for notice in asked.position.notices:
        note(f"{asked.place}: {notice}" if asked.place else notice)
    try:
        return answerer.answer(asked, asked.position)
    except PositionError as error:
        return _refuse(Asked(asked.text, asked.place, None, str(error)), as_json=as_json)


def _refuse(asked: Asked, *, as_json: bool) -> str:
    reason = asked.refusal or ""
    refuse(reason, asked.place)
    if as_json:
        from flightless.prove import refusal_document

        say_json(refusal_document(asked.text, reason))
    return "refused"
