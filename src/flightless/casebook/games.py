"""Games as the tables want them: who played, where and when, and when two are the same.

Tags are kept word for word; what they are searched by is folded.  Nothing here knows the
database.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

from flightless.casebook.codes import fold
from flightless.casebook.data import Game
from flightless.errors import FileError

__all__ = ["TAG_FIELDS", "Source", "game_source", "json_text", "shown", "text_of"]

TAG_FIELDS = {
    "White": "white",
    "Black": "black",
    "Event": "event",
    "Site": "site",
    "Date": "date",
    "Round": "round",
    "Result": "result",
}
"""The tags that tell games apart, and their names in a harvest's record."""

_DATES = ("Date", "UTCDate", "EventDate")
_YEAR = re.compile(r"\s*(\d{4})(?!\d)")
_MOST_OF_FOLDED = 400


@dataclass(frozen=True, slots=True)
class Source:
    """A game as the tables want it: names folded, tags as JSON."""

    key: str
    white: str | None
    black: str | None
    event: str | None
    site: str | None
    year: int | None
    file: str
    number: int | None
    tags: str


def game_source(game: Game) -> Source:
    """A game as the tables want it."""
    tags = {text_of(k, "a tag's name"): text_of(v, f"the tag {k}") for k, v in game.tags.items()}
    year = game.year if game.year is not None else _year(tags)
    if year is not None and not 1 <= year <= 9999:
        raise FileError(f"the year of a game must be from 1 to 9999, and is {shown(year)}")
    file = _file_name(game.file)
    number = game.number if game.number is not None and 0 <= game.number < 1 << 31 else None
    return Source(
        key=source_key(tags, file, number),
        white=_searchable(tags.get("White")),
        black=_searchable(tags.get("Black")),
        event=_searchable(tags.get("Event")),
        site=_searchable(tags.get("Site")),
        year=year,
        file=file,
        number=number,
        tags=json_text(tags, "the tags"),
    )


def source_key(tags: Mapping[str, str], file: str, number: int | None) -> str:
    """A digest, the same for the same game.

    Two games are the same if players, event, round and year are all known and these, date,
    site and result agree, in whatever file they stand.  Games that say less of themselves
    (two friendly games on one evening do) are the same only if the file's name and the number
    in it agree too.
    """
    told = [fold(tags.get(name, "")) for name in TAG_FIELDS]
    known = all(_searchable(tags.get(name)) for name in ("White", "Black", "Event", "Round"))
    if not known or _year(tags) is None:
        told += [file, "" if number is None else str(number)]
    return blake2b(json.dumps(told).encode("ascii"), digest_size=16).hexdigest()


def json_text(document: Mapping[str, Any], what: str) -> str:
    """Compact JSON in ASCII, so that any text survives any database; `FileError` if it cannot."""
    try:
        return json.dumps(document, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError, RecursionError) as error:
        raise FileError(f"{what} cannot be written as JSON: {error}") from None


def _file_name(text: str) -> str:
    """The name without the folders: those of a coach's machine are nobody's business."""
    name = PureWindowsPath(text).name if "\\" in text else PurePosixPath(text).name
    return _printable(name)[:_MOST_OF_FOLDED]


def _printable(text: str) -> str:
    """The text with every character that a database or terminal may choke on shown as �."""
    return "".join(c if c.isprintable() else "�" for c in text)


def _searchable(text: str | None) -> str | None:
    folded = fold(text or "")[:_MOST_OF_FOLDED].strip()
    return None if folded in ("", "?", "-", "n", "nn", "n.n.") else folded


def _year(tags: Mapping[str, str]) -> int | None:
    for name in _DATES:
        match = _YEAR.match(tags.get(name, ""))
        if match and int(match[1]):
            return int(match[1])
    return None


def text_of(value: object, name: str) -> str:
    """The value if it is text; `FileError` names what should have been."""
    if not isinstance(value, str):
        raise FileError(f"{name!r} must be text, and is {shown(value)}")
    return value


def shown(value: object) -> str:
    """A value as a message shows it, not too long."""
    text = repr(value)
    return text if len(text) <= 60 else text[:60] + "…"
