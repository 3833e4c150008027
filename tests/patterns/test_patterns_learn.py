"""A coach's own patterns: four levels from an example, each freer, each a file that works."""

from __future__ import annotations

from pathlib import Path

import chess
import pytest

from flightless.cases.build import case_of
from flightless.errors import FileError, UsageError
from flightless.patterns.learn import LEVELS, catches, learn, write_level
from flightless.patterns.recognise import catalogue, load_catalogue, names

EXAMPLES = [
    example.fen
    for pattern in catalogue().patterns
    for example in (pattern.model, *pattern.variations)
]
CASES = [case_of(chess.Board(fen)) for fen in EXAMPLES]


@pytest.mark.parametrize("number", range(len(CASES)))
def test_every_level_fits_its_example_and_all_that_the_level_before_fits(number: int) -> None:
    case = CASES[number]
    for skeleton in range(len(case.skeletons)):
        levels = learn(case, "mine", "my own", skeleton=skeleton)
        assert tuple(level.name for level in levels) == LEVELS
        before: set[int] = set()
        for level in levels:
            found = set(catches(level, CASES))
            assert number in found
            assert before <= found
            assert level.frees or found == before
            before = found


def test_levels_free_what_they_say() -> None:
    case = case_of(chess.Board("5rk1/5pQp/5P2/8/8/8/6PP/6K1 b - - 0 1"))
    others = {
        "the pawn on h6": "5rk1/5pQp/7P/8/8/8/6P1/6K1 b - - 0 1",
        "a bishop far away": "5rk1/5pQp/8/8/8/8/1B4PP/6K1 b - - 0 1",
        "another file": "4rk2/4pQpp/4P3/8/8/8/6PP/6K1 b - - 0 1",
        "on the edge file": "8/8/8/8/6Qk/5P2/8/6K1 b - - 0 1",
    }
    cases = [case_of(chess.Board(fen)) for fen in others.values()]
    caught = {level.name: catches(level, cases) for level in learn(case, "x", "y")}
    assert caught["exact"] == caught["lines slid"] == ()
    assert caught["supporter free"] == (0, 1)
    assert set(caught["place free"]) == {0, 1, 2, 3}


def test_lines_slide() -> None:
    case = case_of(chess.Board("5rk1/5p1p/8/8/8/2B3R1/6PP/6K1 b - - 0 1"))
    slid = case_of(chess.Board("5rk1/5p1p/8/6R1/8/8/1B4PP/6K1 b - - 0 1"))
    off = case_of(chess.Board("3R2k1/5ppp/8/8/8/2B5/6PP/6K1 b - - 0 1"))
    exact, lines, *_ = learn(case, "x", "y")
    assert catches(exact, [case, slid, off]) == (0,)
    assert catches(lines, [case, slid, off]) == (0, 1)


def test_the_file_is_written_and_read_beside_the_built_in_ones(tmp_path: Path) -> None:
    case = case_of(chess.Board("1k1R4/ppp5/8/8/8/8/6PP/6K1 b - - 0 1"))
    folder = tmp_path / "patterns" / "of mine"
    level = learn(case, 'The "corner" cupboard – Ö', "a rook shuts\nthe door")[1]
    path = write_level(level, folder)
    assert path == folder / "the_corner_cupboard_o.toml"
    found = [name.name for name in names(case, load_catalogue(folder))]
    assert 'The "corner" cupboard – Ö' in found
    assert set(found) > {name.name for name in names(case)}
    with pytest.raises(FileError, match="there already"):
        write_level(level, folder)
    assert write_level(level, folder, replace=True) == path
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be written"):
        write_level(level, tmp_path / "file")


@pytest.mark.parametrize(
    ("name", "skeleton", "says"),
    [
        ("", 0, "needs a name"),
        ("Greco", 0, "there already"),
        ("mine", 7, "there is no 7"),
        ("mine", -1, "there is no -1"),
    ],
)
def test_what_makes_no_sense_is_refused(name: str, skeleton: int, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        learn(CASES[0], name, "something", skeleton=skeleton)
