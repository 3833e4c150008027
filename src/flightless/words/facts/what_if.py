"""Statements on single changes: what breaks a mate and what then happens, and what keeps it;
and the tellers that choose them.

Reads breaks and variations of the case room; tries nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import chess

from flightless.cases.case import Case, Man
from flightless.words.facts.statements import Statement
from flightless.words.notation import Step, steps
from flightless.words.places import Places, by_name, places

if TYPE_CHECKING:
    from flightless.cases.breaks import Break, BreakKind
    from flightless.cases.changes import Change
    from flightless.cases.variations import StartVariations, Variations

__all__ = [
    "AtTheStart",
    "BlockedAsWell",
    "Breaks",
    "Slides",
    "break_told",
    "breaks_told",
    "start_told",
    "variations_told",
]

_MOST_OF_A_KIND = 2


@dataclass(frozen=True, slots=True)
class Breaks(Statement):
    """A change after which it is no mate, and the first thing that then happens.

    `man` is the man as he stands in the mate.  `to`: he stands there instead; None: he is off
    the board.  `answer` is what the king or a defender then does; None if there is no check.
    `pinned` is the defender whom the change lets free.  `earlier`: the move was made before the
    mating move, and what then happens cannot be shown in the mated position.
    """

    man: Man
    to: chess.Square | None
    answer: Step | None
    pinned: Man | None = None
    earlier: bool = False


@dataclass(frozen=True, slots=True)
class BlockedAsWell(Statement):
    """Other kinds of his own man on a blocker's square with whom it is still mate."""

    blocker: Man
    kinds: tuple[chess.PieceType, ...]


@dataclass(frozen=True, slots=True)
class Slides(Statement):
    """A line man who could stand elsewhere on his lines."""

    man: Man
    places: Places


@dataclass(frozen=True, slots=True)
class AtTheStart(Statement):
    """In the starting position: another kind would do for these men, or a line man could
    stand elsewhere, and the mate takes as many moves."""

    kind: chess.PieceType | None
    men: tuple[Man, ...]
    places: Places
    moves: int


# --- what breaks it ------------------------------------------------------------------------


def break_told(case: Case, one: Break) -> Breaks:
    """One break as a statement."""
    change = one.change
    answer = None
    after = change.applied(case.board)
    if one.first is not None and not one.check_gone and one.first in after.legal_moves:
        (answer,) = steps(after, [one.first])
    pinned = None
    if one.man is not None:
        piece = case.board.piece_at(one.man)
        pinned = Man(one.man, piece) if piece is not None else None
    earlier = answer is None and not one.check_gone
    return Breaks(Man(change.square, change.piece), change.to, answer, pinned, earlier)


def breaks_told(
    case: Case, breaks: Sequence[Break], kinds: Sequence[BreakKind] | None = None
) -> list[Statement]:
    """One or two breaks of each kind (or of the kinds asked for), no man twice in a kind."""
    told: list[Statement] = []
    order = kinds or ("luft", "blocker gone", "blocker moved", "guard moved", "pin released")
    for kind in order:
        seen: set[chess.Square] = set()
        for one in breaks:
            if one.kind == kind and one.change.square not in seen and len(seen) < _MOST_OF_A_KIND:
                seen.add(one.change.square)
                told.append(break_told(case, one))
    return told


# --- what keeps it -------------------------------------------------------------------------


def variations_told(case: Case, variations: Variations) -> list[Statement]:
    """Who else would block, and which line men could stand elsewhere."""
    told: list[Statement] = []
    for variation in variations.blockers:
        kinds = [c.instead.piece_type for c in variation.own if c.instead is not None]
        piece = case.board.piece_at(variation.blocker)
        if piece is not None and piece.piece_type != chess.PAWN and kinds:
            told.append(BlockedAsWell(Man(variation.blocker, piece), tuple(sorted(kinds))))
    slid = _by_man(variations.slid)
    for man, at in slid.items():
        told.append(Slides(man, places(at, man.piece.piece_type, man.square)))
    return told


def start_told(start: StartVariations) -> list[Statement]:
    """What could be otherwise in the starting position of a forced line; pawns are left out,
    as for most of them anything would do."""
    told: list[Statement] = []
    by_kind: dict[chess.PieceType, list[Man]] = {}
    for change in start.kinds:
        if change.instead is not None and change.piece.piece_type != chess.PAWN:
            man = Man(change.square, change.piece)
            by_kind.setdefault(change.instead.piece_type, []).append(man)
    for kind in sorted(by_kind, reverse=True):
        men = tuple(sorted(by_kind[kind], key=lambda m: by_name(m.square)))
        told.append(AtTheStart(kind, men, Places((), ()), start.moves))
    for man, at in _by_man(start.slid).items():
        where = places(at, man.piece.piece_type, man.square)
        told.append(AtTheStart(None, (man,), where, start.moves))
    return told


def _by_man(changes: Sequence[Change]) -> dict[Man, list[chess.Square]]:
    found: dict[Man, list[chess.Square]] = {}
    for change in changes:
        if change.to is not None:
            found.setdefault(Man(change.square, change.piece), []).append(change.to)
    return found
