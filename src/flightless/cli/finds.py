"""The finds of a harvest (JSON Lines) read back, line by line."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import chess

from flightless.errors import FileError, PositionError
from flightless.harvest.inputs import open_bytes
from flightless.positions import read_position

__all__ = ["Find", "finds_of", "source_line"]

_LONGEST = 1 << 20


@dataclass(frozen=True, slots=True)
class Find:
    """One line of a harvest: its document, or why it was refused."""

    place: str
    document: Mapping[str, Any]
    refusal: str | None = None


def finds_of(source: str) -> Iterator[Find]:
    """Every find of a file.  A line that is not a find comes with its refusal; `FileError` for
    a file that cannot be read or holds no line."""
    found = False
    with open_bytes(source) as stream:
        number = 0
        while line := stream.readline(_LONGEST):
            number += 1
            place = f"{source}, line {number}"
            if len(line) == _LONGEST and not line.endswith(b"\n"):
                found = True
                while (rest := stream.readline(_LONGEST)) and not rest.endswith(b"\n"):
                    pass
                yield Find(place, {}, f"the line has more than {_LONGEST >> 20} MB")
            elif line.strip():
                found = True
                yield _find(line, place)
    if not found:
        raise FileError(f"{source}: there is no find in it")


def _find(line: bytes, place: str) -> Find:
    try:
        document = json.loads(line)
        if not isinstance(document, dict) or not isinstance(document.get("fen"), str):
            return Find(place, {}, "this is not a find of a harvest: it has no position")
        read_position(document["fen"])
        _check_fields(document)
    except PositionError as error:
        return Find(place, {}, str(error))
    except (ValueError, RecursionError):
        return Find(place, {}, "this is not a find of a harvest: it is not JSON")
    return Find(place, document)


def _check_fields(document: dict[str, Any]) -> None:
    wanted: dict[str, type] = {
        "moves": int,
        "keys": list,
        "patterns": list,
        "skeleton": str,
        "source": dict,
        "line": list,
        "way_in": dict,
    }
    for name, kind in wanted.items():
        value = document.get(name)
        if value is not None and not isinstance(value, kind):
            raise PositionError(f"the field {name!r} of the find is not as a harvest writes it")
    way_in = document.get("way_in")
    if way_in is not None:
        if not isinstance(way_in.get("moves"), int):
            raise PositionError("the field 'way_in' of the find is not as a harvest writes it")
        read_position(str(way_in.get("fen", "")))
    if document.get("skeleton"):
        try:
            chess.Board(document["skeleton"])
        except ValueError:
            raise PositionError("the skeleton of the find is not a position") from None


def source_line(source: Mapping[str, Any]) -> str:
    """'Morphy – Allies, Paris 1858' from the tags of a game; what is unknown is left out."""
    known = {k: str(v) for k, v in source.items() if v and str(v).strip("?. -")}
    players = " – ".join(
        known[side].partition(",")[0] for side in ("white", "black") if side in known
    )
    year = known.get("date", "")[:4]
    where = known.get("event") or known.get("site", "")
    if where and year.isdigit() and year not in where:
        where = f"{where} {year}"
    return ", ".join(filter(None, (players, where or (year if year.isdigit() else ""))))
