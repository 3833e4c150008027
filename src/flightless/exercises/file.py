"""The exercise file: TOML with FEN and SAN, made to be read and edited by hand.

Reads with line and field in every refusal, writes, and checks a whole set for soundness.
docs/exercises.md explains the file field by field.
"""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, NoReturn

from flightless.errors import FileError
from flightless.exercises.exercise import ROLES, About, Exercise, Fault
from flightless.exercises.levels import LEVELS
from flightless.exercises.registry import KINDS
from flightless.exercises.toml import Value, table_text
from flightless.exercises.turns import TURNS
from flightless.patterns.source import Table, table_of

__all__ = [
    "FORMAT",
    "VERSION",
    "ExerciseSet",
    "Unsound",
    "check_set",
    "read_set",
    "read_set_text",
    "refuse_unsound",
    "write_set",
]

FORMAT = "flightless exercises"
VERSION = 1

_LARGEST = 4_000_000
_MOST = 2_000
_MOST_TEXTS = 500
_LONGEST_TEXT = 2_000
_DEEP_KEY = re.compile(r"(?:[\w-]+[ \t]*\.[ \t]*){20}")
"""A dotted key of twenty parts: no such key is ours, and reading long ones takes minutes."""

_ABOUT = ("pattern", "source", "turned", "level", "difficulty", "role", "note")
_TOP = "format version title made exercise"


@dataclass(frozen=True, slots=True)
class ExerciseSet:
    """A set of exercises in order; `made` says how it was made, as texts and numbers.

    `lines` are the lines of the exercises in the file that they were read from, for messages;
    `name` is that file.
    """

    title: str
    exercises: tuple[Exercise, ...]
    made: Mapping[str, Value] = field(default_factory=lambda: MappingProxyType({}))
    name: str = ""
    tables: tuple[Table, ...] = field(default=(), repr=False, compare=False)

    def exercise(self, number: int) -> Exercise:
        """The exercise of a number, counted from 1; `FileError` if there is none."""
        if not 1 <= number <= len(self.exercises):
            raise FileError(
                f"{self.name or self.title}: there is no exercise {number}, "
                f"only 1 to {len(self.exercises)}"
            )
        return self.exercises[number - 1]


@dataclass(frozen=True, slots=True)
class Unsound:
    """An exercise that does not hold: its number and its fault."""

    number: int
    fault: Fault


def read_set(path: Path) -> ExerciseSet:
    """Read an exercise file.  Raises `FileError` with file, line and field for the first thing
    that cannot be read or makes no sense; soundness is looked at by `check_set`."""
    name = str(path)
    try:
        with path.open("rb") as stream:
            raw = stream.read(_LARGEST + 1)
    except FileNotFoundError:
        raise FileError(f"there is no file {name!r}") from None
    except OSError as error:
        raise FileError(f"{name!r} cannot be read: {error.strerror or error}") from None
    if len(raw) > _LARGEST:
        raise FileError(f"{name}: the file has more than {_LARGEST:,} bytes")
    if b"\x00" in raw:
        raise FileError(f"{name}: this is a binary file, not an exercise file")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise FileError(f"{name}, line {line}: the text is not UTF-8") from None
    return read_set_text(text, name)


def read_set_text(text: str, name: str = "exercises") -> ExerciseSet:
    """Read the text of an exercise file; `name` is what errors call it."""
    if not text.strip():
        raise FileError(f"{name}: the file is empty")
    deep = _DEEP_KEY.search(text)
    if deep is not None:
        line = text.count("\n", 0, deep.start()) + 1
        raise FileError(f"{name}, line {line}: keys are nested too deep")
    try:
        top = table_of(text, name)
    except FileError as error:
        left = _left_open(text) if "end of document" in str(error) else None
        if left is None:
            raise
        line, key = left
        raise FileError(f"{name}, line {line}, {key}: what begins here is never closed") from None
    except RecursionError:
        raise FileError(f"{name}: lists are nested too deep") from None
    top.only(_TOP)
    if top.text("format") != FORMAT:
        top.refuse("format", f"expected {FORMAT!r}, found {top.values['format']!r}")
    version = top.number("version")
    if version != VERSION:
        top.refuse("version", f"this program reads version {VERSION}, not {version!r}")
    tables = top.tables("exercise")
    if not tables:
        top.refuse(None, "there is no [[exercise]] in it")
    if len(tables) > _MOST:
        top.refuse(None, f"there are {len(tables)} exercises, and {_MOST} are the most")
    exercises = tuple(_exercise(table, n) for n, table in enumerate(tables, 1))
    return ExerciseSet(
        top.optional_text("title") or "Exercises", exercises, _made(top), name, tables
    )


_OPENS = re.compile(r"\s*([\w-]+)\s*=\s*(\[|\"{3}|'{3}|\{)")
_CLOSES = {"[": "]", "{": "}"}


def _left_open(text: str) -> tuple[int, str] | None:
    """Line and key of the last value that begins and does not end on its line."""
    found = None
    for number, line in enumerate(text.splitlines(), 1):
        match = _OPENS.match(line)
        if match is not None:
            end = _CLOSES.get(match[2], match[2])
            if end not in line[match.end() :]:
                found = (number, match[1])
    return found


def _made(top: Table) -> Mapping[str, Value]:
    if "made" not in top.values:
        return MappingProxyType({})
    table = top.table("made")
    for key, value in table.values.items():
        plain = isinstance(value, str | int | float | bool)
        if not plain and not (isinstance(value, list) and all(isinstance(v, str) for v in value)):
            table.refuse(key, f"expected a text, a number or a list of texts, found {value!r}")
    return MappingProxyType(dict(table.values))


def _exercise(table: Table, number: int) -> Exercise:
    word = table.word("kind", KINDS)
    if word is None:
        table.refuse(None, f"exercise {number}: 'kind' is missing")
    cls = KINDS[word]
    own = [f for f in dataclasses.fields(cls) if f.name != "about"]
    table.only(" ".join(["kind", *(f.name for f in own), *_ABOUT]))
    values: dict[str, Any] = {f.name: _value(table, f, number) for f in own if _is_given(table, f)}
    exercise = cls(**values, about=_about(table))
    fault = exercise.malformed()
    if fault is not None:
        _refuse(table, number, fault)
    return exercise


def _is_given(table: Table, wanted: dataclasses.Field[Any]) -> bool:
    return wanted.name in table.values or wanted.default is dataclasses.MISSING


def _value(table: Table, wanted: dataclasses.Field[Any], number: int) -> object:
    """The value of a field of a kind, by the type that its class gives it."""
    name = wanted.name
    if name not in table.values:
        table.refuse(None, f"exercise {number}: {name!r} is missing")
    value: object
    match wanted.type:
        case "str":
            value = table.text(name)
        case "int":
            value = table.number(name)
        case "bool":
            value = table.flag(name)
        case _:
            value = table.texts(name)
    texts = value if isinstance(value, tuple) else (value,)
    if len(texts) > _MOST_TEXTS:
        table.refuse(name, f"a list may have {_MOST_TEXTS} texts, and this has {len(texts)}")
    if any(isinstance(text, str) and len(text) > _LONGEST_TEXT for text in texts):
        table.refuse(name, f"a text may have {_LONGEST_TEXT} characters")
    return value


def _about(table: Table) -> About:
    difficulty = table.values.get("difficulty")
    if difficulty is not None and (
        isinstance(difficulty, bool)
        or not isinstance(difficulty, int | float)
        or not abs(difficulty) < 100
    ):
        table.refuse("difficulty", f"expected a number, found {difficulty!r}")
    texts = {name: _optional(table, name) for name in ("pattern", "source", "note")}
    return About(
        **texts,
        turned=table.word("turned", TURNS, "") or "",  # type: ignore[arg-type]
        level=table.word("level", LEVELS, "") or "",
        difficulty=None if difficulty is None else float(difficulty),
        role=table.word("role", ROLES, "") or "",  # type: ignore[arg-type]
    )


def _optional(table: Table, name: str) -> str:
    text = table.values.get(name, "")
    if not isinstance(text, str) or len(text) > _LONGEST_TEXT:
        table.refuse(name, f"expected a text of at most {_LONGEST_TEXT} characters")
    return text


def _refuse(table: Table, number: int, fault: Fault) -> NoReturn:
    table.refuse(fault.field, f"exercise {number}: {fault.why}")


# --- soundness -------------------------------------------------------------------------------


def check_set(exercises: ExerciseSet) -> Iterator[Unsound]:
    """Every exercise that is not sound, everything computed from scratch."""
    for number, exercise in enumerate(exercises.exercises, 1):
        fault = exercise.unsound()
        if fault is not None:
            yield Unsound(number, fault)


def refuse_unsound(exercises: ExerciseSet, found: Unsound) -> NoReturn:
    """Raise the `FileError` of an unsound exercise, with line and field if it was read from a
    file."""
    if exercises.tables:
        _refuse(exercises.tables[found.number - 1], found.number, found.fault)
    raise FileError(f"exercise {found.number}, {found.fault.field}: {found.fault.why}")


# --- writing ---------------------------------------------------------------------------------


def write_set(exercises: ExerciseSet) -> str:
    """The text of the file; what is written is read back the same."""
    parts = [
        "# Exercises.  Positions are FEN, moves SAN; docs/exercises.md explains every field.\n"
        "# After a change: flightless exercises check FILE\n",
        table_text("", {"format": FORMAT, "version": VERSION, "title": exercises.title}),
    ]
    if exercises.made:
        parts.append(table_text("[made]", exercises.made))
    parts += [
        table_text(f"# {number}\n[[exercise]]", _values(exercise))
        for number, exercise in enumerate(exercises.exercises, 1)
    ]
    text = "\n".join(parts)
    tomllib.loads(text)  # a fault here would be ours: better now than when it is read
    return text


def _values(exercise: Exercise) -> dict[str, Value]:
    values: dict[str, Value] = {"kind": exercise.kind}
    for one in dataclasses.fields(exercise):
        value = getattr(exercise, one.name)
        if one.name in ("about", "answers") or value == one.default:
            continue
        values[one.name] = list(value) if isinstance(value, tuple) else value
    values["answers"] = list(exercise.answers)
    for name in _ABOUT:
        value = getattr(exercise.about, name)
        if value not in ("", None):
            values[name] = value
    return values
