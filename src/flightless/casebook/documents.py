"""A position of the casebook as one JSON document, and back: the form in which nothing is lost.

The document's fields are described in docs/casebook.md; `casebook` is the version of the form.
What follows from the position itself (phase, side, men) is not written but computed again.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flightless.casebook.codes import KINDS, mask_of
from flightless.casebook.data import Details, Game, NewPosition, Occurrence
from flightless.casebook.games import game_source, json_text
from flightless.casebook.incoming import Incoming, Place, of_position
from flightless.errors import FileError

__all__ = ["VERSION", "document_of", "item_of"]

VERSION = 1

_ENTRY = ("moves", "proved", "shortest", "keys", "line", "patterns", "tandem", "skeleton")
_MORE = ("natures", "geometry_key", "difficulty", "tags", "used_in", "note")


def document_of(details: Details) -> dict[str, Any]:
    """Everything kept of a position, but for its number."""
    entry = details.entry
    document: dict[str, Any] = {"casebook": VERSION, "fen": entry.fen, "kinds": list(entry.kinds)}
    for name in (*_ENTRY, *_MORE):
        value = getattr(entry, name)
        document[name] = list(value) if isinstance(value, tuple) else value
    document["occurrences"] = [_occurrence(occurrence) for occurrence in details.occurrences]
    document["proof"] = details.proof
    document["case"] = details.case
    return document


def item_of(document: Mapping[str, Any]) -> Incoming:
    """A document read again; `FlightlessError` with what is wrong if it cannot be kept."""
    version = document.get("casebook")
    if version != VERSION:
        raise FileError(
            f"this is form {version!r} of a casebook's lines, and form {VERSION} is read here"
        )
    position = NewPosition(
        fen=_typed(document, "fen", str),
        moves=_typed(document, "moves", int, optional=True),
        keys=_texts(document, "keys"),
        line=_texts(document, "line"),
        patterns=_texts(document, "patterns"),
        tandem=_typed(document, "tandem", str, optional=True),
        skeleton=_typed(document, "skeleton", str, optional=True),
        natures=_texts(document, "natures"),
        geometry_key=_typed(document, "geometry_key", str, optional=True),
        difficulty=_typed(document, "difficulty", (int, float), optional=True),
        tags=_texts(document, "tags"),
        used_in=_texts(document, "used_in"),
        note=_typed(document, "note", str, optional=True) or "",
        proof=_typed(document, "proof", Mapping, optional=True),
        case=_typed(document, "case", Mapping, optional=True),
    )
    places = tuple(_place(item) for item in _list(document, "occurrences"))
    kinds = mask_of(_texts(document, "kinds"), KINDS, "kind of find")
    for place in places:
        kinds |= 1 << place.kind
    proved = bool(_typed(document, "proved", bool, optional=True))
    shortest = bool(_typed(document, "shortest", bool, optional=True))
    return of_position(
        position, kinds=kinds or None, places=places, proved=proved, shortest=shortest
    )


def _occurrence(occurrence: Occurrence) -> dict[str, Any]:
    game = occurrence.game
    return {
        "kind": occurrence.kind,
        "ply": occurrence.ply,
        "tags": dict(game.tags),
        "file": game.file,
        "number": game.number,
        "year": game.year,
        "facts": dict(occurrence.facts),
    }


def _place(item: object) -> Place:
    if not isinstance(item, Mapping):
        raise FileError(f"an occurrence must be a JSON object, and is {item!r:.60}")
    tags = _typed(item, "tags", Mapping, optional=True) or {}
    facts = _typed(item, "facts", Mapping, optional=True) or {}
    game = Game(
        tags={str(name): value for name, value in tags.items()},
        file=_typed(item, "file", str, optional=True) or "",
        number=_typed(item, "number", int, optional=True),
        year=_typed(item, "year", int, optional=True),
    )
    kind = mask_of((_typed(item, "kind", str),), KINDS, "kind of find").bit_length() - 1
    ply = _typed(item, "ply", int)
    if not 0 <= ply <= 100_000:
        raise FileError(f"'ply' must be a whole number from 0 to 100000, and is {ply}")
    return Place(game_source(game), ply, kind, json_text(facts, "the facts"))


def _list(document: Mapping[str, Any], name: str) -> list[Any]:
    value: list[Any] | None = _typed(document, name, list, optional=True)
    return value or []


def _texts(document: Mapping[str, Any], name: str) -> tuple[str, ...]:
    values = _list(document, name)
    for value in values:
        if not isinstance(value, str):
            raise FileError(f"{name!r} must be a list of texts, and has {value!r:.60}")
    return tuple(values)


def _typed(document: Mapping[str, Any], name: str, kind: Any, *, optional: bool = False) -> Any:
    value = document.get(name)
    if value is None and optional:
        return None
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        raise FileError(f"{name!r} has the wrong type: {value!r:.60}")
    return value
