"""The case of a mate as frozen data: the one record that every later room reads.

Squares are python-chess squares (a1 = 0 .. h8 = 63), kinds are python-chess piece types.
Every tuple of squares is in square order unless it says otherwise, so that the same mate
gives the same case.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import chess

__all__ = [
    "Case",
    "FieldSquare",
    "HeldOff",
    "Luft",
    "Man",
    "Removal",
    "Saviour",
    "Skeleton",
    "Substitute",
]

State = Literal["off-board", "blocked", "guarded", "free"]


@dataclass(frozen=True, slots=True)
class FieldSquare:
    """One of the eight squares round the mated king.

    `step` is (file, rank) from the king.  Off the board: `square` is None and nothing else.
    *Blocked*: a man of the king's side stands on it, `by` is that square alone and
    `also_guarded_by` the mating men who attack it.  *Guarded*: `by` are the mating men who
    attack it.  *Free*: neither, so the king may go there; never so in a mate.  All attacks are
    taken with the king lifted off the board, so that a line piece guards through him.
    """

    step: tuple[int, int]
    square: chess.Square | None
    state: State
    by: tuple[chess.Square, ...] = ()
    also_guarded_by: tuple[chess.Square, ...] = ()

    @property
    def reasons(self) -> tuple[chess.Square, ...]:
        """All men who answer for the square: the blocker and the guards."""
        return self.by + self.also_guarded_by


@dataclass(frozen=True, slots=True)
class Man:
    """A man on a square."""

    square: chess.Square
    piece: chess.Piece


@dataclass(frozen=True, slots=True)
class HeldOff:
    """A man of the mated side who could take the checker or stand between, but for something.

    `target` is where he would have to go.  `why` is "pinned" (`by` are the pinning men),
    "shut off" (`by` are the men in his way), "double check" (`by` are the checkers: one move
    cannot answer two), or "exposes" (an en-passant capture would open a line on the king).
    """

    man: chess.Square
    action: Literal["capture", "interposition"]
    target: chess.Square
    why: Literal["pinned", "shut off", "double check", "exposes"]
    by: tuple[chess.Square, ...]


@dataclass(frozen=True, slots=True)
class Removal:
    """What happens if the man on `square` is taken off the board.

    `still_mate` is python-chess's `is_checkmate()` of what is left; `exposes` says that the
    mating side's own king would then be in check; `answers` are all legal moves of the mated
    side then (empty if still mate, or if there is no longer a check and that is why it is not
    mate: `check_gone`).
    """

    square: chess.Square
    still_mate: bool
    exposes: bool
    check_gone: bool
    answers: tuple[chess.Move, ...]


@dataclass(frozen=True, slots=True)
class Skeleton:
    """A skeleton (see docs/patterns.md): men without the two kings, and its position.

    `fen` has the two kings and the men, the mated side to move, no castling rights.
    """

    men: tuple[chess.Square, ...]
    fen: str


@dataclass(frozen=True, slots=True)
class Substitute:
    """Another man on `square` who does the work of the needed man on `instead_of`."""

    instead_of: chess.Square
    square: chess.Square
    kind: chess.PieceType


@dataclass(frozen=True, slots=True)
class Saviour:
    """An added man of the mated side who ends the mate, and the moves he makes possible."""

    square: chess.Square
    kind: chess.PieceType
    answers: tuple[chess.Move, ...]


@dataclass(frozen=True, slots=True)
class Luft:
    """A pawn move that, made before the mating move, leaves the king a square or a defence.

    `move` is legal for the mated side in the position before the mating move if it were his
    turn; `answers` are his legal moves after `move` and the same mating move.
    """

    move: chess.Move
    answers: tuple[chess.Move, ...]


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that holds in one mated position.

    `takes_part` maps each man (kings left out) to "all", "some" or "none" of the skeletons;
    `king_takes_part` says whether in a skeleton the mating king alone shuts a square or
    protects a checker.
    """

    fen: str
    mated: chess.Color
    king: chess.Square
    mating_king: chess.Square
    field: tuple[FieldSquare, ...]
    checkers: tuple[chess.Square, ...]
    interposition_squares: tuple[chess.Square, ...]
    held_off: tuple[HeldOff, ...]
    checker_protectors: Mapping[chess.Square, tuple[chess.Square, ...]]
    """For each checker the mating men who protect him (king lifted)."""
    removals: tuple[Removal, ...]
    needed: tuple[chess.Square, ...]
    not_needed: tuple[chess.Square, ...]
    shields_own_king: tuple[chess.Square, ...]
    skeletons: tuple[Skeleton, ...]
    """All skeletons, the preferred one first: fewest men, then most needed men, then square
    order."""
    takes_part: Mapping[chess.Square, Literal["all", "some", "none"]]
    king_takes_part: bool
    substitutes: tuple[Substitute, ...]
    saviours: tuple[Saviour, ...]
    luft: tuple[Luft, ...]
    last_move: chess.Move | None = None
    """The mating move, where the way to the position was given."""
    discovered: bool | None = None
    """Whether a checker other than the man who moved last gives check (of two checkers one
    must be so).  None where the last move is not known and one man checks."""
    complete: bool = True
    """Whether `skeletons` are all there are.  False only if the enumeration reached its limit
    of steps, which no known mate does."""

    @property
    def board(self) -> chess.Board:
        """A fresh board of the mated position."""
        return _board_of(self.fen).copy(stack=False)

    @property
    def mating(self) -> chess.Color:
        """The colour of the mating side."""
        return not self.mated

    @property
    def skeleton(self) -> Skeleton:
        """The preferred skeleton."""
        return self.skeletons[0]

    def duties(self, man: chess.Square) -> tuple[chess.Square, ...]:
        """The field squares that `man` answers for, as blocker or guard."""
        return tuple(f.square for f in self.field if f.square is not None and man in f.reasons)


@lru_cache(maxsize=256)
def _board_of(fen: str) -> chess.Board:
    """Read once: a case is asked for its board again and again."""
    return chess.Board(fen)
