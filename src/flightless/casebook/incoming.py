"""What arrives, checked and made ready for the tables: harvest records and positions by hand.

Every position is read by the rules, every key must be a legal move and every line playable;
what cannot be kept is refused in one sentence.  Nothing here knows the database, and nothing
is proved again: that was the work of the rooms above.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any, TypeGuard

import chess

from flightless.casebook.codes import (
    KINDS,
    NATURES,
    mask_of,
    plain_name,
    tandem_of,
)
from flightless.casebook.data import Game, NewPosition
from flightless.casebook.facts import (
    mating_side,
    natures_mask,
    phase_code,
    tandem_of_skeleton,
)
from flightless.casebook.games import TAG_FIELDS, Source, game_source, json_text, shown, text_of
from flightless.certify.document import claims_of, position_key
from flightless.errors import FileError, PositionError, UsageError
from flightless.positions import read_position

__all__ = [
    "Incoming",
    "Mate",
    "Place",
    "checked_geometry_key",
    "items_of_record",
    "of_harvest",
    "of_position",
]

LONGEST = 1000
"""The longest mate, in moves, that a casebook keeps."""

_MOST_OF_A_KEY = 1000
_MOST_PLY = 100_000

_OWN_FIELDS = frozenset(
    {
        *("format", "version", "source", "game", "ply", "fen", "kind", "moves", "keys"),
        *("patterns", "skeleton", "same_game", "repeated"),
        *("line", "tandem", "natures", "difficulty", "geometry_key", "tags", "proof", "case"),
        *TAG_FIELDS.values(),
    }
)
_OF_THE_MATE = ("source", "game", "patterns", "skeleton", "tandem", *TAG_FIELDS.values())

_FOUND_SHORTEST = "full width"
"""How a harvest's record says that it was found by trying every move."""


@dataclass(frozen=True, slots=True)
class Place:
    """An occurrence as the tables want it."""

    source: Source
    ply: int
    kind: int
    facts: str


@dataclass(frozen=True, slots=True)
class Mate:
    """What is known of the mate in a position; it hangs together and is replaced together."""

    moves: int | None
    proved: bool
    shortest: bool
    side: int
    natures: int = 0
    keys: tuple[str, ...] = ()
    line: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    tandem: str | None = None
    skeleton: str | None = None
    geometry_key: str | None = None
    proof: str | None = None
    case: str | None = None

    @property
    def level(self) -> tuple[bool, bool, int, bool]:
        """How good the knowledge is: a length above none, a proof above a word, then the shorter
        mate, then that it is proved to be the shortest (and so to have all its keys)."""
        return self.moves is not None, self.proved, -abs(self.moves or 0), self.shortest


@dataclass(frozen=True, slots=True)
class Incoming:
    """A position as the tables want it: codes, masks and JSON text, all checked.

    `kinds` is the mask of how it came in, occurrences included.
    """

    key: str
    halfmove: int
    fullmove: int
    phase: int
    men: int
    kinds: int
    mate: Mate
    difficulty: float | None = None
    places: tuple[Place, ...] = ()
    tags: tuple[str, ...] = ()
    used_in: tuple[str, ...] = ()
    note: str = ""


def of_harvest(record: Mapping[str, Any], source: str = "") -> Incoming:
    """A harvest's record.  `source` names where it comes from if the record does not.

    Raises `PositionError`, `UsageError` or `FileError` with what is wrong.
    """
    if not isinstance(record, Mapping):
        raise FileError(f"a record must be a JSON object, and is {shown(record)}")
    kind = record.get("kind")
    if kind not in KINDS:
        raise FileError(f"'kind' must be one of {', '.join(KINDS)}, and is {shown(kind)}")
    place = Place(
        source=game_source(_game_of(record, source)),
        ply=_whole(record.get("ply", 0), "ply", 0, _MOST_PLY),
        kind=KINDS.index(kind),
        facts=json_text(
            {k: v for k, v in record.items() if k not in _OWN_FIELDS and v is not None},
            "the record",
        ),
    )
    position = NewPosition(
        fen=text_of(record.get("fen"), "fen"),
        moves=_optional_moves(record.get("moves")),
        keys=_texts(record.get("keys"), "keys"),
        line=_texts(record.get("line"), "line"),
        patterns=_pattern_names(record.get("patterns")),
        tandem=_tandem_text(record.get("tandem")),
        skeleton=_optional_text(record.get("skeleton"), "skeleton"),
        natures=_texts(record.get("natures"), "natures"),
        geometry_key=_optional_text(record.get("geometry_key"), "geometry_key"),
        difficulty=_number(record.get("difficulty")),
        proof=_optional_document(record.get("proof"), "proof"),
        case=_optional_document(record.get("case"), "case"),
    )
    return of_position(
        position,
        kinds=1 << KINDS.index(kind),
        places=(place,),
        proved=True,
        shortest=record.get("found_by") == _FOUND_SHORTEST,
    )


def items_of_record(record: Any, source: str = "") -> list[Callable[[], Incoming]]:
    """What a harvest's record holds, still to be read: the find, and for a mate its way in."""
    items: list[Callable[[], Incoming]] = [partial(of_harvest, record, source)]
    if isinstance(record, Mapping) and isinstance(record.get("way_in"), Mapping):
        items.append(partial(_way_in, record, source))
    return items


def _way_in(record: Mapping[str, Any], source: str) -> Incoming:
    """The position from which a mate was given, as a find of its own.

    Names, tandem and skeleton are those of the mate that was given.  Only a mate in one is
    known to be the shortest: how the others were found is not said.
    """
    told: Mapping[str, Any] = record["way_in"]
    shared = {name: record[name] for name in _OF_THE_MATE if name in record}
    way_in = {name: told.get(name) for name in ("fen", "ply", "moves", "keys")}
    found_by = _FOUND_SHORTEST if told.get("moves") == 1 else None
    return of_harvest({**shared, **way_in, "kind": "given", "found_by": found_by}, source)


def of_position(
    position: NewPosition,
    *,
    kinds: int | None = None,
    places: tuple[Place, ...] = (),
    proved: bool = False,
    shortest: bool = False,
) -> Incoming:
    """A position with whatever is known of it; by default one that the coach keeps by hand.

    `proved` says that the length was proved elsewhere, `shortest` that no shorter mate is there;
    a proof document or mate on the board says so too.  Raises `PositionError`,
    `CertificateError` or `UsageError`.
    """
    read = read_position(position.fen)
    board = read.board
    moves, keys, line, claimed = _solution(board, position)
    _check_moves(board, moves, kinds)
    key_moves = _legal_keys(board, keys)
    side = mating_side(board, moves)
    skeleton = _skeleton(position)
    kept = 1 << KINDS.index("kept")
    if position.game is not None:
        source = game_source(position.game)
        places = (*places, Place(source, position.ply, KINDS.index("kept"), "{}"))
    tandem = tandem_of(position.tandem) if position.tandem else None
    if tandem is None and skeleton is not None:
        tandem = tandem_of_skeleton(skeleton, side)
    given = mask_of(position.natures, NATURES, "nature of a key")
    mate = Mate(
        moves=moves,
        proved=moves is not None and (proved or claimed is not None or moves == 0),
        shortest=moves is not None and (shortest or bool(claimed) or moves == 0),
        side=0 if side else 1,
        natures=natures_mask(board, key_moves) | given,
        keys=tuple(dict.fromkeys(move.uci() for move in key_moves)),
        line=_playable(board, line),
        patterns=tuple(dict.fromkeys(plain_name(n, "pattern") for n in position.patterns)),
        tandem=tandem or None,
        skeleton=skeleton,
        geometry_key=checked_geometry_key(position.geometry_key) if position.geometry_key else None,
        proof=None if position.proof is None else json_text(position.proof, "the proof"),
        case=None if position.case is None else json_text(position.case, "the case"),
    )
    return Incoming(
        key=position_key(board),
        halfmove=board.halfmove_clock,
        fullmove=board.fullmove_number,
        phase=phase_code(board),
        men=chess.popcount(board.occupied),
        kinds=kept if kinds is None else kinds,
        mate=mate,
        difficulty=_number(position.difficulty),
        places=places,
        tags=tuple(sorted({plain_name(name, "tag") for name in position.tags})),
        used_in=tuple(sorted({plain_name(name, "lesson") for name in position.used_in})),
        note=text_of(position.note, "note"),
    )


def _solution(
    board: chess.Board, position: NewPosition
) -> tuple[int | None, tuple[str, ...], tuple[str, ...], bool | None]:
    """Length, keys and line, from the proof as far as they are not given; and whether a proof
    says that it is the shortest mate, None where no proof gives a length."""
    if position.proof is None:
        moves = 0 if position.moves is None and board.is_checkmate() else position.moves
        return moves, position.keys, position.line, None
    claims = claims_of(position.proof)
    if position_key(read_position(claims.fen).board) != position_key(board):
        raise PositionError(f"the proof is of another position, {claims.fen!r}")
    if position.moves is not None and position.moves != claims.moves:
        raise PositionError(
            f"the proof says {claims.moves} moves, and {position.moves} were given: {board.fen()}"
        )
    keys, line = position.keys or claims.keys, position.line or claims.line
    return claims.moves, keys, line, None if claims.moves is None else claims.shortest


def _check_moves(board: chess.Board, moves: int | None, kinds: int | None) -> None:
    mated = board.is_checkmate()
    if moves is not None:
        _whole(moves, "moves", -LONGEST, LONGEST)
    if mated and moves != 0:
        raise PositionError(f"it is mate already, and 'moves' is {moves}: {board.fen()}")
    wants_mate = moves == 0 or (kinds is not None and kinds == 1 << KINDS.index("mated"))
    if wants_mate and not mated:
        raise PositionError(f"this is said to be mate and is not: {board.fen()}")


def _legal_keys(board: chess.Board, keys: Iterable[str]) -> list[chess.Move]:
    moves = []
    for text in keys:
        try:
            move = chess.Move.from_uci(text)
        except ValueError:
            raise PositionError(f"the key {shown(text)} is no move like e2e4") from None
        if not board.is_legal(move):
            raise PositionError(f"the key {text} is not legal: {board.fen()}")
        moves.append(move)
    return moves


def _playable(board: chess.Board, line: Iterable[str]) -> tuple[str, ...]:
    """The line in standard SAN, as it can be played."""
    board = board.copy(stack=False)
    played: list[str] = []
    for text in line:
        try:
            move = board.parse_san(text)
        except ValueError:
            raise PositionError(
                f"move {len(played) + 1} of the line, {shown(text)}, cannot be played: "
                f"{board.fen()}"
            ) from None
        played.append(board.san_and_push(move))
    return tuple(played)


def _skeleton(position: NewPosition) -> str | None:
    text = position.skeleton
    if text is None and position.case is not None:
        found = position.case.get("skeleton")
        text = found if isinstance(found, str) else None
    return _skeleton_fen(text) if text else None


@lru_cache(maxsize=1 << 12)
def _skeleton_fen(text: str) -> str:
    try:
        return position_key(read_position(text).board) + " 0 1"
    except PositionError as error:
        raise PositionError(f"the skeleton is no position: {error}") from None


def checked_geometry_key(text: str) -> str:
    """A geometry key as it is; `UsageError` if it is none."""
    if not text or len(text) > _MOST_OF_A_KEY or not text.isprintable():
        raise UsageError(f"{shown(text)} is no geometry key")
    return text


def _game_of(record: Mapping[str, Any], source: str) -> Game:
    """The game that a record names.

    Its 'source' is a file's name, or an object with 'file' and the tags in lower case; tags
    may also stand by themselves or under 'tags'.
    """
    told = record.get("source")
    about = told if isinstance(told, Mapping) else {**record, "file": told}
    tags = {tag: about[name] for tag, name in TAG_FIELDS.items() if _is_told(about.get(name))}
    found = record.get("tags")
    if isinstance(found, Mapping):
        tags |= {str(tag): value for tag, value in found.items() if isinstance(value, str)}
    file, number = about.get("file"), record.get("game")
    return Game(
        tags=tags,
        file=file if _is_told(file) else source,
        number=number if isinstance(number, int) and not isinstance(number, bool) else None,
    )


def _is_told(value: object) -> TypeGuard[str]:
    return isinstance(value, str) and value != ""


def _pattern_names(value: object) -> tuple[str, ...]:
    """Names, given plain or as objects with a 'name', in their order."""
    if value is None:
        return ()
    if not isinstance(value, list | tuple):
        raise FileError(f"'patterns' must be a list, and is {shown(value)}")
    names = [item.get("name") if isinstance(item, Mapping) else item for item in value]
    return tuple(text_of(name, "a pattern's name") for name in names)


def _tandem_text(value: object) -> str | None:
    if value is None or isinstance(value, str):
        return value or None
    return " ".join(_texts(value, "tandem")) or None


def _optional_text(value: object, name: str) -> str | None:
    return None if value is None else text_of(value, name)


def _texts(value: object, name: str) -> tuple[str, ...]:
    if value is None:
        return ()
    if not isinstance(value, list | tuple):
        raise FileError(f"{name!r} must be a list of texts, and is {shown(value)}")
    return tuple(text_of(item, name) for item in value)


def _optional_document(value: object, name: str) -> Mapping[str, Any] | None:
    if value is not None and not isinstance(value, Mapping):
        raise FileError(f"{name!r} must be a JSON object, and is {shown(value)}")
    return value


def _whole(value: object, name: str, least: int, most: int) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        raise FileError(
            f"{name!r} must be a whole number from {least} to {most}, and is {shown(value)}"
        )
    return value


def _optional_moves(value: object) -> int | None:
    return None if value is None else _whole(value, "moves", -LONGEST, LONGEST)


def _number(value: object) -> float | None:
    if value is None:
        return None
    if isinstance(value, int | float) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if math.isfinite(number):
            return number
    raise FileError(f"'difficulty' must be a number, and is {shown(value)}")
