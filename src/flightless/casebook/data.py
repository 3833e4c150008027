"""What goes into a casebook and what comes out, as frozen data without any database.

Everything that the other rooms see of a casebook is here: filters, pages, entries, games and
counts.  Nothing here stores, reads or judges; loading it is quick.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

import chess

__all__ = [
    "Added",
    "Counts",
    "Details",
    "Entry",
    "Filter",
    "Format",
    "Game",
    "Kind",
    "NewPosition",
    "Occurrence",
    "Page",
    "Phase",
    "Refusal",
    "Restored",
    "Side",
    "Statistics",
    "Weighed",
]

Kind = Literal["mated", "missed", "resigned", "kept", "given"]
"""How a position came in: the three finds of a harvest, kept by the coach's own hand, or the
position from which a mate was *given*: a mated record's way in, which is there to be solved."""

Side = Literal["white", "black"]
Phase = Literal["opening", "middlegame", "endgame"]
Format = Literal["pgn", "epd", "jsonl"]


@dataclass(frozen=True, slots=True)
class Filter:
    """Which positions are wanted; every part that is given must hold.

    `patterns` and `tags`: all of these names.  `moves`: one length, or (least, most); 0 is
    mated, negative is mated in so many with the loser to move.  `tandem`: the kinds of the
    mating men, as 'QN', 'queen and knight' or 'Q+N'.  `nature`: what one of the keys is, a
    word of `codes.NATURES`.  `side`: who mates.  `years`: (first, last) of a game that the
    position occurs in, either may be None.  `player`: part of a player's name.  `unused`: in no
    lesson yet.  `lesson`: used in this one.  `difficulty` and `men` (on the board):
    (least, most), either may be None.  `text`: part of a player's, event's, site's, tag's or
    pattern's name, or of a note.  `geometry_key`: the same key.  Capitals and accents do not
    matter in `player` and `text`, and no character has a special meaning.
    """

    patterns: tuple[str, ...] = ()
    moves: int | tuple[int, int] | None = None
    tandem: str | None = None
    nature: str | None = None
    side: Side | None = None
    phase: Phase | None = None
    years: tuple[int | None, int | None] | None = None
    player: str | None = None
    kind: Kind | None = None
    unused: bool = False
    lesson: str | None = None
    difficulty: tuple[float | None, float | None] | None = None
    men: tuple[int | None, int | None] | None = None
    tags: tuple[str, ...] = ()
    text: str | None = None
    geometry_key: str | None = None


@dataclass(frozen=True, slots=True)
class Game:
    """A game that a position comes from: its PGN tags word for word, and where it was read.

    `file` is a name without folders and `number` counts the games of that file from 1.
    """

    tags: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    file: str = ""
    number: int | None = None
    year: int | None = None

    @property
    def white(self) -> str:
        """White's name, empty if not known."""
        return _known(self.tags.get("White", ""))

    @property
    def black(self) -> str:
        """Black's name, empty if not known."""
        return _known(self.tags.get("Black", ""))

    @property
    def event(self) -> str:
        """The event, empty if not known."""
        return _known(self.tags.get("Event", ""))


def _known(text: str) -> str:
    return "" if text.strip() in ("?", "-") else text


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One place where a position occurs: the game, the ply after which it stands, and how.

    `facts` is what the harvest said beyond that (`found_by`, `played`, `slower` and so on).
    """

    game: Game
    ply: int
    kind: Kind
    facts: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class Entry:
    """A position of the casebook, as lists show it.

    `side` is who mates (the side to move where that is not known).  `keys` are UCI, `line` is
    SAN.  `proved` says that the length comes from a proof, not from somebody's word, and
    `shortest` that there is proved to be no shorter mate.  `natures` are those of all keys.
    `first` is the earliest occurrence by year, then by game, and `occurrences` how many there
    are.  `worth` is what the position is worth in class, from 0 to 1, None if that is not known.
    """

    id: int
    fen: str
    kinds: tuple[Kind, ...]
    moves: int | None
    proved: bool
    shortest: bool
    side: Side
    phase: Phase
    men: int
    natures: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    line: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    tandem: str | None = None
    skeleton: str | None = None
    geometry_key: str | None = None
    difficulty: float | None = None
    tags: tuple[str, ...] = ()
    used_in: tuple[str, ...] = ()
    note: str = ""
    occurrences: int = 0
    first: Occurrence | None = None
    worth: float | None = None

    @property
    def board(self) -> chess.Board:
        """A fresh board of the position."""
        return chess.Board(self.fen)


@dataclass(frozen=True, slots=True)
class Details:
    """Everything kept of one position: the entry, all occurrences, proof and case documents."""

    entry: Entry
    occurrences: tuple[Occurrence, ...]
    proof: Mapping[str, Any] | None = None
    case: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Page:
    """Some entries in order.  `after` asks for the next page, and is None on the last.

    `total` counts all that the filter lets through; None if it was not asked for.  It is exact
    unless `more_than_total` says that there are still more: a name that tens of thousands of
    games have is not counted to the end (`Casebook.count` does it, in its time).
    """

    entries: tuple[Entry, ...]
    after: int | None
    total: int | None
    more_than_total: bool = False


@dataclass(frozen=True, slots=True)
class NewPosition:
    """A position that the coach adds by hand, with whatever is known of it.

    `proof` and `case` are the JSON documents of those rooms; with a proof, its verdict, keys
    and line need not be given again.  `moves` without a proof is somebody's word.
    """

    fen: str
    moves: int | None = None
    keys: tuple[str, ...] = ()
    line: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    tandem: str | None = None
    skeleton: str | None = None
    natures: tuple[str, ...] = ()
    geometry_key: str | None = None
    difficulty: float | None = None
    tags: tuple[str, ...] = ()
    used_in: tuple[str, ...] = ()
    note: str = ""
    proof: Mapping[str, Any] | None = None
    case: Mapping[str, Any] | None = None
    game: Game | None = None
    ply: int = 0


@dataclass(frozen=True, slots=True)
class Weighed:
    """What a position is worth in class, from 0 to 1, and the document that says why.

    `worth` is None if it could not be told; the document then says why not.
    """

    worth: float | None
    document: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Added:
    """Where a position went: its number, and whether it was new."""

    id: int
    new: bool


@dataclass(frozen=True, slots=True)
class Refusal:
    """An item that was not taken: its number in what was read (a line, a game), and why."""

    number: int
    reason: str


@dataclass(frozen=True, slots=True)
class Counts:
    """What an addition did.

    `read` items were looked at; `positions` and `occurrences` are new; `improved` are known
    positions of which more is known now; `refused` lists the items not taken (the first
    thousand) and `refusals` counts them.
    """

    read: int = 0
    positions: int = 0
    occurrences: int = 0
    improved: int = 0
    refusals: int = 0
    refused: tuple[Refusal, ...] = ()


@dataclass(frozen=True, slots=True)
class Restored:
    """A restore: how many positions there are now, and where the old casebook was put aside."""

    positions: int
    aside: str | None


@dataclass(frozen=True, slots=True)
class Statistics:
    """How many there are of what.  Mappings are in a fixed order, most frequent first."""

    positions: int
    occurrences: int
    games: int
    proofs: int
    cases: int
    proved: int
    unused: int
    without_geometry: int
    not_weighed: int
    years: tuple[int, int] | None
    kinds: Mapping[str, int]
    moves: Mapping[str, int]
    sides: Mapping[str, int]
    phases: Mapping[str, int]
    natures: Mapping[str, int]
    tandems: Mapping[str, int]
    patterns: Mapping[str, int]
    tags: Mapping[str, int]
    lessons: Mapping[str, int]
