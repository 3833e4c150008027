"""The ways of looking at a board: colours exchanged, files mirrored, turned and reflected.

Patterns are written for a mated black king at the top of the board; a frame maps the board
at hand onto that picture.  This module only moves squares and steps about; which frames a
pattern may use is said by its rules.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import chess

__all__ = ["ALL", "AS_WRITTEN", "FIELD", "FILES", "Frame", "Step", "frames_for", "step_between"]

Step = tuple[int, int]
"""(files, ranks) from one square to another, in the frame that is talked of."""

FIELD: tuple[Step, ...] = ((-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1))
"""The eight squares of a king's field, as steps from the king."""

_Map = Callable[[int, int], Step]

# The eight symmetries of a square, on coordinates counted from the middle of the board in
# half squares, so that squares and steps follow the same rule.
_LINEAR: tuple[_Map, ...] = (
    lambda f, r: (f, r),
    lambda f, r: (-f, r),
    lambda f, r: (f, -r),
    lambda f, r: (-f, -r),
    lambda f, r: (r, f),
    lambda f, r: (-r, f),
    lambda f, r: (r, -f),
    lambda f, r: (-r, -f),
)


@dataclass(frozen=True, slots=True)
class Frame:
    """One of the eight symmetries, as tables.

    `square[s]` is where the square s of the board lies in the frame; `to_field[i]` is the
    number (in `FIELD`) that field square i of the board has in the frame, `from_field` the
    way back.
    """

    number: int
    square: tuple[chess.Square, ...]
    to_field: tuple[int, ...]
    from_field: tuple[int, ...]

    def step(self, step: Step) -> Step:
        """A step on the board, as it looks in the frame."""
        return _LINEAR[self.number](*step)


def _frame(number: int) -> Frame:
    linear = _LINEAR[number]
    squares = []
    for square in range(64):
        f, r = linear(2 * (square & 7) - 7, 2 * (square >> 3) - 7)
        squares.append((f + 7) // 2 + 8 * ((r + 7) // 2))
    to_field = tuple(FIELD.index(linear(*step)) for step in FIELD)
    from_field = tuple(to_field.index(i) for i in range(8))
    return Frame(number, tuple(squares), to_field, from_field)


ALL: tuple[Frame, ...] = tuple(_frame(number) for number in range(8))
"""Every edge and every corner, reflections included; the first is the board as it is."""

FILES: tuple[Frame, ...] = ALL[:2]
AS_WRITTEN: tuple[Frame, ...] = ALL[:1]

# With White mated the ranks are turned round first: the frame's pawns then move as written.
_FOR_WHITE = {
    "all": ALL,
    "files": (ALL[2], ALL[3]),
    "as written": (ALL[2],),
}
_FOR_BLACK = {"all": ALL, "files": FILES, "as written": AS_WRITTEN}


def frames_for(freedom: str, mated: chess.Color) -> tuple[Frame, ...]:
    """The frames in which a rule of this freedom is tried on a mate of this colour.

    `freedom` is "all" (every edge and corner), "files" (the mirror of the files) or
    "as written".  In the last two the mated king's first rank is the frame's top rank.
    """
    return (_FOR_WHITE if mated else _FOR_BLACK)[freedom]


def step_between(start: chess.Square, end: chess.Square) -> Step:
    """The step from `start` to `end`."""
    return (end & 7) - (start & 7), (end >> 3) - (start >> 3)
