"""The exercise file: what is written is read back, and what is wrong is refused with its line."""

from __future__ import annotations

import contextlib
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flightless.errors import FileError
from flightless.exercises.exercise import Exercise
from flightless.exercises.file import (
    ExerciseSet,
    check_set,
    read_set,
    read_set_text,
    refuse_unsound,
    write_set,
)
from flightless.exercises.toml import table_text

GOOD = """\
# A set written by hand.
format = "flightless exercises"
version = 1
title = "Tuesday"

[[exercise]]
kind = "find-mate"
position = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"
moves = 2
answers = ["Re8+"]

[[exercise]]
kind = "supporter"
position = "5rk1/5pQp/8/8/8/8/6PP/6K1 b - - 0 1"
men = ["P"]
answers = ["f6", "Ph6"]   # the letter of a pawn may be left out
note = "for Owl"
"""


def test_what_is_written_is_read_back(exercises: list[Exercise]) -> None:
    kept = ExerciseSet('A "title" with \\ and …', tuple(exercises), {"seed": 3, "kinds": ["net"]})
    again = read_set_text(write_set(kept))
    assert again.exercises == kept.exercises
    assert again.title == kept.title
    assert dict(again.made) == dict(kept.made)
    assert write_set(again) == write_set(kept)


def test_a_file_by_hand() -> None:
    found = read_set_text(GOOD)
    assert [e.kind for e in found.exercises] == ["find-mate", "supporter"]
    assert found.exercises[1].about.note == "for Owl"
    assert list(check_set(found)) == []
    assert found.exercises[1].mark("f6").right


@given(
    st.dictionaries(
        st.text(min_size=1, max_size=12),
        st.text(max_size=40)
        | st.integers(-(2**62), 2**62)
        | st.booleans()
        | st.floats(allow_nan=False, allow_infinity=False)
        | st.lists(st.text(max_size=20), max_size=12),
        max_size=6,
    )
)
def test_any_table_is_valid_toml(values: dict[str, object]) -> None:
    """Against the standard library's reader; what no text file can hold becomes '?'."""
    plain = tomllib.loads(table_text("", values))  # type: ignore[arg-type]

    def clean(value: object) -> object:
        if isinstance(value, str):
            return value.encode("utf-8", "replace").decode("utf-8")
        return [clean(v) for v in value] if isinstance(value, list) else value

    assert plain == {clean(key): clean(value) for key, value in values.items()}


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ('format = "flightless exercises"', 'format = "x"', "line 2, format: expected"),
        ("version = 1", "version = 2", "line 3, version: this program reads version 1"),
        ('kind = "find-mate"', 'kind = "mate"', "line 7, exercise.kind: 'mate' is not one of"),
        ('kind = "find-mate"\n', "", "line 6, exercise: exercise 1: 'kind' is missing"),
        ("moves = 2", "moves = 12", "line 9, exercise.moves: exercise 1: the number of moves is"),
        ("moves = 2", 'moves = "two"', "line 9, exercise.moves: expected a whole number"),
        ("moves = 2\n", "", "line 6, exercise: exercise 1: 'moves' is missing"),
        ("moves = 2", "moves = 2\nmove = 3", "line 10, exercise.move: this word is not known"),
        ("4R1K1 w", "4R2 w", "line 8, exercise.position: exercise 1: rank 1 has 7 squares"),
        ("4R1K1 w", "4RKK1 w", "line 8, exercise.position: exercise 1: White has 2 kings"),
        ('["Re8+"]', '["Rd9"]', "line 10, exercise.answers: exercise 1: 'Rd9' is not a legal move"),
        ('["Re8+"]', '["Re8+", "Re8"]', "line 10, exercise.answers: exercise 1: 'Re8' is there tw"),
        ('["Re8+"]', "[]", "exercise.answers: exercise 1: an exercise needs at least one right"),
        ('["Re8+"]', "[1]", "line 10, exercise.answers: expected a list of texts"),
        ('men = ["P"]', 'men = ["X"]', "line 15, exercise.men: exercise 2: 'X' is not one of"),
        ('note = "for Owl"', "difficulty = true", "line 17, exercise.difficulty: expected a num"),
        ('note = "for Owl"', 'level = "easyish"', "line 17, exercise.level: 'easyish' is not one"),
        ('note = "for Owl"', "note = 7", "line 17, exercise.note: expected a text"),
        ("[[exercise]]", "[exercise]", "Cannot overwrite a value (at line 12"),
        ('title = "Tuesday"', 'title = "Tuesday', "not readable as TOML"),
        (
            '["f6", "Ph6"]',
            '["f6", "Ph6"',
            "line 16, answers: what begins here is never closed|TOML",
        ),
        (GOOD, "", "the file is empty"),
        (GOOD, "[" * 100_000, "TOML|nested"),
        (GOOD, 'format = "flightless exercises"\nversion = 1\n', "there is no [[exercise]]"),
    ],
)
def test_an_error_is_refused_with_line_and_field(old: str, new: str, wanted: str) -> None:
    text = GOOD.replace(old, new, 1) if old != GOOD else new
    assert text != GOOD
    with pytest.raises(FileError) as refused:
        read_set_text(text, "set.toml")
    message = str(refused.value)
    assert message.startswith("set.toml"), message
    assert any(part in message for part in wanted.split("|")), message
    assert "\n" not in message


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        (
            '["Re8+"]',
            '["Rd2"]',
            "line 10, exercise.answers: exercise 1: Rd2 does not mate in 2; right is "
            "1. Re8+ Rxe8 2. Rxe8#",
        ),
        ("moves = 2", "moves = 3", "line 9, exercise.moves: exercise 1: there is a shorter mate, "
            "in 2: 1. Re8+ Rxe8 2. Rxe8#"),
        (
            '["f6", "Ph6"]',
            '["f6"]',
            "line 16, exercise.answers: exercise 2: a second answer is missing: Ph6 makes it mate",
        ),
        (
            '["f6", "Ph6"]',
            '["f6", "h6", "g6"]',
            "line 16, exercise.answers: exercise 2: with g6 it is not mate: Kxg7",
        ),
        (
            "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w",
            "3r2k1/5pp1/7p/8/8/7P/4RPP1/4R1K1 w",
            "there is no mate in 2",
        ),
    ],
)  # fmt: skip
def test_an_unsound_exercise_is_refused_with_what_is_wrong(old: str, new: str, wanted: str) -> None:
    found = read_set_text(GOOD.replace(old, new, 1), "set.toml")
    (unsound,) = check_set(found)
    with pytest.raises(FileError) as refused:
        refuse_unsound(found, unsound)
    assert wanted in str(refused.value)
    assert str(refused.value).startswith("set.toml, line ")


def test_a_second_solution_is_shown() -> None:
    """A dual that the author has overlooked: both knight's checks mate."""
    text = (
        'format = "flightless exercises"\nversion = 1\n[[exercise]]\nkind = "find-mate"\n'
        'position = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"\nmoves = 2\n'
        'answers = ["Nxf7+"]\n'
    )
    (unsound,) = check_set(read_set_text(text))
    assert unsound.fault.why == "a second solution is missing: 1. Nxg6+ Kg8 2. Ne7#"


@pytest.mark.parametrize(
    ("raw", "wanted"),
    [
        (b"\x00\x01\x02", "this is a binary file"),
        (b"title = '\xff\xfe'", "line 1: the text is not UTF-8"),
        (b"", "the file is empty"),
        (b"   \n\n", "the file is empty"),
        (b"#" * 5_000_000, "more than 4,000,000 bytes"),
        (b"a = " + b"[" * 50_000, "TOML|nested"),
        (b"a." * 50_000 + b"a = 1", "line 1: keys are nested too deep"),
    ],
)
def test_hostile_files(tmp_path: Path, raw: bytes, wanted: str) -> None:
    path = tmp_path / "set.toml"
    path.write_bytes(raw)
    with pytest.raises(FileError) as refused:
        read_set(path)
    assert any(part in str(refused.value) for part in wanted.split("|")), str(refused.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no file"):
        read_set(tmp_path / "none.toml")
    with pytest.raises(FileError, match="cannot be read"):
        read_set(tmp_path)


def test_every_mangled_line_is_read_or_refused(exercises: list[Exercise]) -> None:
    """Each line of a long file in turn cut, doubled or changed: a `FileError` or a set, and
    nothing else."""
    one_of_each = {e.kind: e for e in exercises}
    text = write_set(ExerciseSet("All kinds", tuple(one_of_each.values())))
    lines = text.splitlines()
    refused = 0
    for number, line in enumerate(lines):
        for changed in ("", line[: len(line) // 2], line + line, line.replace("1", "9"), "= 1"):
            mangled = "\n".join([*lines[:number], changed, *lines[number + 1 :]])
            with contextlib.suppress(FileError):
                read_set_text(mangled, "set.toml")
                refused -= 1
            refused += 1
    assert refused > len(lines)
