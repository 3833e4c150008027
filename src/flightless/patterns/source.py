"""A TOML file as tables that know where they stand, so that an error can name file and line.

Reads text and checks types; what the keys mean is left to `reading`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from flightless.errors import FileError

__all__ = ["Table", "read_table", "table_of"]

_Key = tuple[str | int, ...]
_HEADER = re.compile(r"\s*(\[\[?)\s*([\w.]+)\s*\]")
_ENTRY = re.compile(r"\s*(\w+)\s*=")


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a file: its values, and the lines on which they stand."""

    file: str
    values: Mapping[str, Any]
    lines: Mapping[_Key, int]
    path: _Key = ()

    def refuse(self, key: str | None, why: str) -> NoReturn:
        """Raise `FileError` with the file, the line and the field."""
        path = self.path if key is None else (*self.path, key)
        line = self.lines.get(path) or self.lines.get(self.path) or 1
        field = ".".join(part for part in path if isinstance(part, str))
        raise FileError(f"{self.file}, line {line}{f', {field}' if field else ''}: {why}")

    def only(self, known: str) -> None:
        """Refuse keys that are not among the words of `known`."""
        names = sorted(known.split())
        for key in self.values:
            if key not in names:
                self.refuse(key, f"this word is not known here; known are {', '.join(names)}")

    def text(self, key: str) -> str:
        """The text under `key`, which must be there and not be empty."""
        value = self.values.get(key)
        if value is None:
            self.refuse(None, f"{key!r} is missing")
        if not isinstance(value, str) or not value.strip():
            self.refuse(key, f"expected a text in quotes, found {value!r}")
        return value

    def optional_text(self, key: str) -> str | None:
        """The text under `key`, or None if it is not there."""
        return self.text(key) if key in self.values else None

    def texts(self, key: str) -> tuple[str, ...]:
        """A text, or a list of texts, as a tuple; empty if it is not there."""
        value = self.values.get(key, [])
        if isinstance(value, str):
            return (self.text(key),)
        if not isinstance(value, list) or not all(isinstance(v, str) and v for v in value):
            self.refuse(key, f"expected a list of texts in quotes, found {value!r}")
        return tuple(value)

    def flag(self, key: str) -> bool:
        """true or false; false if it is not there."""
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            self.refuse(key, f"expected true or false, found {value!r}")
        return value

    def number(self, key: str) -> int | None:
        """A whole number, or None if it is not there."""
        value = self.values.get(key)
        if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
            self.refuse(key, f"expected a whole number, found {value!r}")
        return value

    def word(self, key: str, words: Iterable[str], default: str | None = None) -> str | None:
        """One of `words`, or `default` if the key is not there."""
        if key not in self.values:
            return default
        value = self.text(key)
        known = list(words)
        if value not in known:
            self.refuse(key, f"{value!r} is not one of {', '.join(map(repr, known))}")
        return value

    def table(self, key: str) -> Table:
        """The table [key], which must be there."""
        value = self.values.get(key)
        if not isinstance(value, dict):
            self.refuse(key if key in self.values else None, f"the table [{key}] is missing")
        return Table(self.file, value, self.lines, (*self.path, key))

    def tables(self, key: str) -> tuple[Table, ...]:
        """The tables [[key]], in order; empty if there are none."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self.refuse(key, f"expected tables headed [[{key}]]")
        return tuple(
            Table(self.file, v, self.lines, (*self.path, key, i)) for i, v in enumerate(value)
        )


def read_table(path: Path) -> Table:
    """The whole file as a table.  Raises `FileError` if it cannot be read as TOML."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileError(f"{path}: cannot be read as text: {error}") from error
    return table_of(text, str(path))


def table_of(text: str, file: str) -> Table:
    """A text as a table; `file` is the name that errors give."""
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileError(f"{file}: not readable as TOML: {error}") from error
    return Table(file, values, _lines(text))


def _lines(text: str) -> dict[_Key, int]:
    """The line of each header and key.  Keys inside many-lined texts may be taken for keys of
    the file; they never stand in the way of real ones, which come first."""
    lines: dict[_Key, int] = {}
    counts: dict[_Key, int] = {}
    here: _Key = ()
    for number, line in enumerate(text.splitlines(), 1):
        header = _HEADER.match(line)
        if header is not None:
            here = ()
            parts = header[2].split(".")
            for at, part in enumerate(parts):
                here = (*here, part)
                is_list = here in counts or (at == len(parts) - 1 and header[1] == "[[")
                if at == len(parts) - 1 and header[1] == "[[":
                    counts[here] = counts.get(here, -1) + 1
                if is_list:
                    here = (*here, counts[here])
            lines.setdefault(here, number)
            continue
        entry = _ENTRY.match(line)
        if entry is not None:
            lines.setdefault((*here, entry[1]), number)
    return lines
