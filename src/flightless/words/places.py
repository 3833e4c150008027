"""Sets of squares as a person would name them: ranges along lines, and what is left over.

Pure geometry of the board; which squares are meant is for the caller to know.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import chess

__all__ = ["Line", "Places", "Span", "line_through", "places"]

LineKind = Literal["back rank", "rank", "file", "long diagonal", "diagonal"]

_STRAIGHT = ((0, 1), (1, 0))
_DIAGONAL = ((1, 1), (1, -1))
_STEPS = {
    chess.ROOK: _STRAIGHT,
    chess.BISHOP: _DIAGONAL,
    chess.QUEEN: _STRAIGHT + _DIAGONAL,
}
_LONG = (
    frozenset(chess.square(i, i) for i in range(8)),
    frozenset(chess.square(i, 7 - i) for i in range(8)),
)


@dataclass(frozen=True, slots=True)
class Line:
    """A line by the name that a coach gives it; `index` is the file or rank, from 0."""

    kind: LineKind
    index: int = 0


@dataclass(frozen=True, slots=True)
class Span:
    """Three or more squares in a row.  `whole_long_diagonal`: all that is free of it."""

    first: chess.Square
    last: chess.Square
    whole_long_diagonal: bool = False


@dataclass(frozen=True, slots=True)
class Places:
    """A set of squares, as spans and single squares."""

    spans: tuple[Span, ...]
    singles: tuple[chess.Square, ...]

    def __bool__(self) -> bool:
        return bool(self.spans or self.singles)

    @property
    def size(self) -> int:
        """How many things must be named."""
        return len(self.spans) + len(self.singles)


def line_through(a: chess.Square, b: chess.Square, home_rank: int | None = None) -> Line:
    """The line on which two squares lie; `home_rank` is the rank to be called the back rank."""
    if chess.square_rank(a) == chess.square_rank(b):
        rank = chess.square_rank(a)
        return Line("back rank" if rank == home_rank else "rank", rank)
    if chess.square_file(a) == chess.square_file(b):
        return Line("file", chess.square_file(a))
    if any(a in diagonal and b in diagonal for diagonal in _LONG):
        return Line("long diagonal")
    return Line("diagonal")


def by_name(square: chess.Square) -> tuple[int, int]:
    """Sort key: file first, as squares are read out."""
    return chess.square_file(square), chess.square_rank(square)


def places(
    squares: Iterable[chess.Square],
    kind: chess.PieceType,
    standing: chess.Square | None = None,
    blind: Iterable[chess.Square] = (),
) -> Places:
    """Name the squares on which a man of `kind` might stand.

    `standing` is a square where such a man stands already: it may lie inside a range and is
    not named.  `blind` are squares that no one would count (men stand there, or it is the
    king's field) when a range is called the whole long diagonal.
    """
    left = set(squares)
    bridge = left | ({standing} if standing is not None else set())
    uncounted = set(blind)
    spans: list[Span] = []
    while True:
        run = _longest_run(bridge, left, kind)
        if run is None:
            break
        long = _whole_long_diagonal(run, left | uncounted)
        spans.append(Span(run[0], run[-1], long is not None))
        taken = set(run) if long is None else left & long
        left -= taken
        bridge -= taken
    return Places(tuple(spans), tuple(sorted(left, key=by_name)))


def _whole_long_diagonal(
    run: tuple[chess.Square, ...], others: set[chess.Square]
) -> frozenset[chess.Square] | None:
    """The long diagonal that a run of four or more lies on, if all else on it is among
    `others`: squares that are meant as well, or that no one counts."""
    for diagonal in _LONG:
        if len(run) >= 4 and set(run) <= diagonal <= set(run) | others:
            return diagonal
    return None


def _longest_run(
    bridge: set[chess.Square], named: set[chess.Square], kind: chess.PieceType
) -> tuple[chess.Square, ...] | None:
    best: tuple[chess.Square, ...] | None = None
    for step in _STEPS.get(kind, ()):
        for start in sorted(bridge, key=by_name):
            run = _trim(_run(start, step, bridge), named)
            if sum(s in named for s in run) >= 3 and (best is None or len(run) > len(best)):
                best = run
    return best


def _run(
    start: chess.Square, step: tuple[int, int], squares: set[chess.Square]
) -> list[chess.Square]:
    run = []
    file, rank = by_name(start)
    while 0 <= file < 8 and 0 <= rank < 8 and chess.square(file, rank) in squares:
        run.append(chess.square(file, rank))
        file, rank = file + step[0], rank + step[1]
    return run


def _trim(run: list[chess.Square], named: set[chess.Square]) -> tuple[chess.Square, ...]:
    while run and run[0] not in named:
        run = run[1:]
    while run and run[-1] not in named:
        run = run[:-1]
    return tuple(run)
