"""The words in which a pattern is written: frozen data, one class for each kind of clause.

docs/patterns.md explains every word with examples.  Reading files is the work of `reading`,
trying a pattern on a mate that of `matching`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.patterns.frames import Step

__all__ = [
    "KINDS",
    "Blocked",
    "Diagonals",
    "Example",
    "Form",
    "Line",
    "Literature",
    "ManRule",
    "Pattern",
    "Shut",
]

KINDS: dict[str, frozenset[chess.PieceType]] = {
    "queen": frozenset({chess.QUEEN}),
    "rook": frozenset({chess.ROOK}),
    "bishop": frozenset({chess.BISHOP}),
    "knight": frozenset({chess.KNIGHT}),
    "pawn": frozenset({chess.PAWN}),
    "king": frozenset({chess.KING}),
    "heavy piece": frozenset({chess.QUEEN, chess.ROOK}),
    "minor piece": frozenset({chess.BISHOP, chess.KNIGHT}),
    "any man": frozenset(chess.PIECE_TYPES),
}
"""The words for kinds of men; 'any man' is any unit, the king included."""

Place = Literal["here", "along the edge", "along the home rank", "off the edge", "anywhere"]
Freedom = Literal["every edge", "mirror of the files", "as written"]


@dataclass(frozen=True, slots=True)
class Line:
    """All squares on the rank, file or diagonal through `through` (a step from the king)."""

    through: Step
    direction: Step

    def has(self, step: Step) -> bool:
        """Whether the square at `step` from the king is on the line."""
        (f, r), (df, dr) = self.through, self.direction
        return (step[0] - f) * dr == (step[1] - r) * df


@dataclass(frozen=True, slots=True)
class ManRule:
    """A man of the mating side who stands in the skeleton.  All that is given must hold.

    `stands`: on one of these squares or lines.  `distance`: next to the king or far from him.
    `checks`: he gives check.  `supports`: he protects the man in that role.  `guards`: he
    attacks each of these field squares that is on the board; `guards_any`: at least one;
    `holds`: each of them is guarded by him or is his own square.  `apart_from`: not next to
    the man in that role.  `on_edge_with`: both stand on one edge of the board.
    """

    role: str
    kinds: frozenset[chess.PieceType]
    checks: bool = False
    stands: tuple[Step | Line, ...] = ()
    distance: Literal["next", "far"] | None = None
    supports: str | None = None
    guards: tuple[Step, ...] = ()
    guards_any: tuple[Step, ...] = ()
    holds: tuple[Step, ...] = ()
    apart_from: str | None = None
    on_edge_with: str | None = None


@dataclass(frozen=True, slots=True)
class Blocked:
    """Field squares held by men of the king's own side, who stand in the skeleton.

    At least `at_least` of `squares` are blocked.  With `need_not_take_part` the men need not
    be in the skeleton; with `or_off_board` a square off the board counts as blocked.
    """

    role: str
    squares: tuple[Step, ...]
    at_least: int
    kinds: frozenset[chess.PieceType]
    need_not_take_part: bool = False
    or_off_board: bool = False


@dataclass(frozen=True, slots=True)
class Shut:
    """Each of `squares` that is on the board is guarded by a man in one of the roles `by`."""

    squares: tuple[Step, ...]
    by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Diagonals:
    """The first man checks along a diagonal; the second guards a field square along one that
    crosses it at right angles, or that runs beside it."""

    of: tuple[str, str]
    are: Literal["crossing", "neighbouring"]


@dataclass(frozen=True, slots=True)
class Form:
    """One way in which a pattern occurs; all clauses hold in one skeleton.

    Squares are steps from the king, who is written on `king`.  `place` says where else he may
    stand, `freedom` in which turns and reflections the form holds.
    """

    king: chess.Square
    place: Place
    freedom: Freedom
    men: tuple[ManRule, ...]
    blocked: tuple[Blocked, ...] = ()
    shut: tuple[Shut, ...] = ()
    diagonals: tuple[Diagonals, ...] = ()
    no_own_man_takes_part: bool = False
    no_other_piece_takes_part: bool = False


@dataclass(frozen=True, slots=True)
class Example:
    """A position that belongs to a pattern's file, with its note and, if it is not ours, its
    source."""

    fen: str
    note: str
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Literature:
    """Where the literature has the name."""

    author: str
    title: str
    year: int
    from_memory: bool = False


@dataclass(frozen=True, slots=True)
class Pattern:
    """One file of the catalogue.

    `description` says in a few words what it is and is shown before the name; `known_as` is
    the name as a sentence has it ("Mayet's mate"), if the literature has one.
    """

    name: str
    description: str
    family: str
    forms: tuple[Form, ...]
    model: Example
    variations: tuple[Example, ...]
    near_misses: tuple[Example, ...]
    known_as: str | None = None
    parents: tuple[str, ...] = ()
    literature: tuple[Literature, ...] = ()
    notes: tuple[str, ...] = ()
    file: str = ""

    @property
    def shown(self) -> str:
        """The description, then the name: 'rook held by a distant bishop, known as Mayet's
        mate'."""
        return (
            f"{self.description}, known as {self.known_as}" if self.known_as else self.description
        )
