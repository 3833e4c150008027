"""What a harvest gives: finds, games that could not be read, files that could not be read on.

Frozen data and its JSON form; nothing here computes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import chess

__all__ = [
    "FORMAT",
    "VERSION",
    "BadFile",
    "BadGame",
    "Limits",
    "Miss",
    "Progress",
    "Record",
    "SameGame",
    "Source",
    "WayIn",
    "record_document",
]

FORMAT = "flightless find"
VERSION = 1

Kind = Literal["mated", "missed", "resigned"]
FoundBy = Literal["full width", "checks only"]


@dataclass(frozen=True, slots=True)
class Limits:
    """How far a harvest searches.

    `full`: mates up to this length are looked for with every move, `checks`: beyond that, up
    to this length, with checks alone.  `nodes` is the most positions made for any one position
    of a game; the same limits, the same finds.
    """

    full: int = 2
    checks: int = 5
    nodes: int = 5_000_000


@dataclass(frozen=True, slots=True)
class Source:
    """Where a find comes from.  Texts are those of the PGN tags, "" where a tag is missing;
    `line` is the line of the file on which the game begins."""

    file: str
    line: int
    white: str
    black: str
    event: str
    site: str
    date: str
    round: str
    result: str


@dataclass(frozen=True, slots=True)
class Miss:
    """One turn of a run of misses: the position after `ply` half-moves, the length of the mate
    there, what was played, and whether mate still followed."""

    ply: int
    moves: int
    played: chess.Move
    slower: bool


@dataclass(frozen=True, slots=True)
class WayIn:
    """Where a mate on the board became a forced one that was played to its end.

    The earliest position from which the mating side played a key at every turn: its `ply`,
    its `fen`, the length of the mate there and all its `keys`.
    """

    ply: int
    fen: str
    moves: int
    keys: tuple[chess.Move, ...]


@dataclass(frozen=True, slots=True)
class SameGame:
    """Where a game stood before: file and number."""

    file: str
    game: int


@dataclass(frozen=True, slots=True)
class Record:
    """One find.

    `ply` is the number of half-moves played before the position `fen`.  `moves` is 0 for
    *mated*, n where the side to move mates in n, -n where it is mated in n.  `keys` are all
    first moves that mate in n by what `found_by` names ("checks only": all that do so with
    checks throughout).  `line` is a main line from `fen` to mate, with the longest defence.
    `patterns` and `skeleton` are of the mate at its end.  `played` and `slower` are for *missed*:
    the move played, and whether it still mates by force within the limits, only later; `run`
    are then all turns of the run, of which `fen` is the first.
    """

    source: Source
    game: int
    ply: int
    fen: str
    kind: Kind
    moves: int
    keys: tuple[chess.Move, ...]
    line: tuple[chess.Move, ...]
    patterns: tuple[str, ...]
    skeleton: str
    found_by: FoundBy | None = None
    played: chess.Move | None = None
    slower: bool | None = None
    run: tuple[Miss, ...] = field(default=())
    way_in: WayIn | None = None
    """For *mated* only, unless the mating move itself was not found by the search."""
    same_game: SameGame | None = None
    """The first place where this very game stands, if the harvest has met it before."""
    repeated: bool = False
    """Whether the same find (kind, and position without counters) came earlier in the harvest."""


@dataclass(frozen=True, slots=True)
class BadGame:
    """A game that was skipped: its file, its number there, the line to blame, and why."""

    file: str
    game: int
    line: int
    reason: str

    def __str__(self) -> str:
        return f"{self.file}, game {self.game}, line {self.line}: {self.reason}"


@dataclass(frozen=True, slots=True)
class BadFile:
    """A file that could not be read, or not to its end; `reason` is a sentence that names it.
    Games before that point have been harvested."""

    file: str
    reason: str

    def __str__(self) -> str:
        return self.reason


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a harvest has got: games read and games skipped, finds, positions whose search
    reached the limit of nodes, and bytes read of all bytes of all files (packed as they are)."""

    games: int
    bad: int
    finds: int
    cut_short: int
    bytes_done: int
    bytes_total: int
    file: str
    same_games: int = 0
    """Games that the harvest had met before."""


def record_document(record: Record) -> dict[str, Any]:
    """The JSON form of a find: one line of `flightless harvest`.

    `keys` and `played` are UCI, `line` is SAN.  `played`, `slower` and `run` are there for
    *missed* only, `found_by` for all but *mated*.
    """
    source = record.source
    document: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "source": {
            "file": source.file,
            "line": source.line,
            "white": source.white,
            "black": source.black,
            "event": source.event,
            "site": source.site,
            "date": source.date,
            "round": source.round,
            "result": source.result,
        },
        "game": record.game,
        "ply": record.ply,
        "fen": record.fen,
        "kind": record.kind,
        "moves": record.moves,
        "keys": [move.uci() for move in record.keys],
        "line": _san(record.fen, record.line),
        "patterns": list(record.patterns),
        "skeleton": record.skeleton,
    }
    if record.found_by is not None:
        document["found_by"] = record.found_by
    if record.same_game is not None:
        document["same_game"] = {"file": record.same_game.file, "game": record.same_game.game}
    if record.repeated:
        document["repeated"] = True
    if record.way_in is not None:
        document["way_in"] = {
            "ply": record.way_in.ply,
            "fen": record.way_in.fen,
            "moves": record.way_in.moves,
            "keys": [move.uci() for move in record.way_in.keys],
        }
    if record.kind == "missed":
        document["played"] = record.played.uci() if record.played else None
        document["slower"] = record.slower
        document["run"] = [
            {
                "ply": miss.ply,
                "moves": miss.moves,
                "played": miss.played.uci(),
                "slower": miss.slower,
            }
            for miss in record.run
        ]
    return document


def _san(fen: str, line: tuple[chess.Move, ...]) -> list[str]:
    board = chess.Board(fen)
    return [board.san_and_push(move) for move in line]
