"""How an exercise is to be shown, as data for whoever draws, prints or puts it on a screen.

Roles of marks are the words of `draw.marks.Role`, so that this room need not know how to
draw; nothing here is text in a language except pattern names.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

__all__ = ["Choice", "Diagram", "Rendering", "Space"]


@dataclass(frozen=True, slots=True)
class Diagram:
    """One diagram: its position, marked squares by role, and a letter if there are two.

    `side_mark`: whose move it is matters, and is shown.
    """

    fen: str
    marks: tuple[tuple[str, tuple[chess.Square, ...]], ...] = ()
    letter: str = ""
    side_mark: bool = True


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several answers to tick: `answer` is the text that is marked; one of the others
    says what to show (a man on a square, a kind of man, a name of the catalogue, or a word)."""

    answer: str
    square: chess.Square | None = None
    kind: chess.PieceType | None = None
    pattern: str = ""
    word: str = ""


@dataclass(frozen=True, slots=True)
class Space:
    """Where the answer goes.

    "lines": `lines` ruled lines.  "choices": boxes to tick.  "ledger": a table with a row for
    each of `squares`.  "men": `men` to draw into the diagram or to drop on it.  After any of
    them `lines` may ask for a reason.
    """

    form: Literal["lines", "choices", "ledger", "men"]
    lines: int = 0
    choices: tuple[Choice, ...] = ()
    squares: tuple[chess.Square, ...] = ()
    men: tuple[chess.Piece, ...] = ()


@dataclass(frozen=True, slots=True)
class Rendering:
    """Everything that a page needs: the diagrams, the space for the answer, and for the key the
    line of the solution (from the first diagram on, unless `line_from` says otherwise) and the
    final position; `mated` says that it is mate, so that its case can be drawn."""

    diagrams: tuple[Diagram, ...]
    space: Space
    line: tuple[chess.Move, ...] = ()
    line_from: str = ""
    final: str = ""
    mated: bool = False
