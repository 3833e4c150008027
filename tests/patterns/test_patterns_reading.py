"""Catalogue files with errors are refused with file, line and field; good ones are read."""

from __future__ import annotations

from pathlib import Path

import pytest

from flightless.errors import FileError
from flightless.patterns.frames import ALL, FIELD
from flightless.patterns.reading import read_folder, read_pattern
from flightless.patterns.recognise import load_catalogue
from flightless.patterns.vocabulary import Line

GOOD = """\
name = "club favourite"
description = "queen in front of the king, a knight behind her"
[[form]]
king = "g8"
[[form.man]]
role = "checker"
kind = "queen"
checks = true
stands = ["g7", "a1-h8"]
[[form.man]]
role = "supporter"
kind = ["knight", "bishop"]
supports = "checker"
[model]
fen = "6k1/6Q1/8/5N2/8/8/6PP/6K1 b - - 0 1"
"""


def write(folder: Path, text: str, name: str = "mine.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_good_file_is_read(tmp_path: Path) -> None:
    pattern = read_pattern(write(tmp_path, GOOD))
    assert pattern.name == "club favourite"
    assert pattern.family == "our own"
    (form,) = pattern.forms
    assert form.place == "here"
    assert form.freedom == "every edge"
    assert form.men[0].stands == ((0, -1), Line((-6, -7), (1, 1)))
    assert "club favourite" in {p.name for p in load_catalogue(tmp_path).patterns}


@pytest.mark.parametrize(
    ("old", "new", "line", "field"),
    [
        ('kind = "queen"', 'kind = "duchess"', 7, "form.man.kind"),
        ("checks = true", 'checks = "yes"', 8, "form.man.checks"),
        ('stands = ["g7", "a1-h8"]', 'stands = "g9"', 9, "form.man.stands"),
        ('stands = ["g7", "a1-h8"]', 'stands = "a1-h7"', 9, "form.man.stands"),
        ('supports = "checker"', 'supports = "rook"', 13, "form.man.supports"),
        ('supports = "checker"', 'guards = "a1"', 13, "form.man.guards"),
        ('supports = "checker"', "distance = 2", 13, "form.man.distance"),
        ('king = "g8"', 'king = "g8"\nplace = "the moon"', 5, "form.place"),
        ('king = "g8"', 'king = "g7"\nplace = "along the edge"', 4, "form.king"),
        ('king = "g8"', 'orientation = "any"\nking = "g8"', 4, "form.orientation"),
        ('king = "g8"', 'king = "g8"\ncolour = "red"', 5, "form.colour"),
        ("8/5N2", "8/5Z2", 15, "model.fen"),
        ("6k1/6Q1", "8/6Q1", 15, "model.fen"),
        ('name = "club favourite"', 'name = ""', 1, "name"),
        ("[model]", "[[form.blocked]]\nat_least = 1\n[model]", 14, "form.blocked"),
        ("[model]", '[[form.blocked]]\nsquares = "f8"\nat_least = 2\n[model]', 16, "form.blocked"),
        ("[model]", "[[literature]]\nauthor = 1\n[model]", 14, "literature"),
    ],
)
def test_errors_name_file_line_and_field(
    tmp_path: Path, old: str, new: str, line: int, field: str
) -> None:
    assert old in GOOD
    path = write(tmp_path, GOOD.replace(old, new))
    with pytest.raises(FileError) as error:
        read_pattern(path)
    message = str(error.value)
    assert message.startswith(f"{path}, line {line}, {field}")
    assert "\n" not in message


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (GOOD.replace("[[form]]", "[[fomr]]"), "not known here"),
        (GOOD.split("[[form]]")[0] + "[model]\nfen='8'\n", "at least one"),
        (GOOD.split("[model]")[0], "[model] is missing"),
        ("name = ", "not readable as TOML"),
        (GOOD.replace('kind = "queen"\n', ""), "'kind' is missing"),
    ],
)
def test_errors_say_what_is_wrong(tmp_path: Path, text: str, says: str) -> None:
    path = write(tmp_path, text)
    with pytest.raises(FileError, match=r"mine\.toml") as error:
        read_pattern(path)
    assert says in str(error.value)


def test_binary_and_missing_files_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "binary.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileError, match=r"binary\.toml"):
        read_pattern(path)
    with pytest.raises(FileError, match=r"nowhere\.toml"):
        read_pattern(tmp_path / "nowhere.toml")


def test_names_may_not_repeat(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    write(tmp_path, GOOD, "second.toml")
    with pytest.raises(FileError, match="already the name in"):
        read_folder(tmp_path)
    other = tmp_path / "other"
    other.mkdir()
    write(other, GOOD.replace("club favourite", "Greco"))
    with pytest.raises(FileError, match="already the name in"):
        load_catalogue(other)


def test_parents_must_exist_and_not_go_round(tmp_path: Path) -> None:
    path = write(tmp_path, 'parents = ["no such name"]\n' + GOOD)
    with pytest.raises(FileError, match="no such name"):
        load_catalogue(tmp_path)
    path.write_text('parents = ["club favourite"]\n' + GOOD, encoding="utf-8")
    with pytest.raises(FileError, match="its own parents"):
        load_catalogue(tmp_path)


def test_frames_are_the_eight_symmetries_of_the_board() -> None:
    assert len({frame.square for frame in ALL}) == 8
    for frame in ALL:
        assert sorted(frame.square) == list(range(64))
        for i, step in enumerate(FIELD):
            assert FIELD[frame.to_field[i]] == frame.step(step)
            assert frame.from_field[frame.to_field[i]] == i
            start, end = 27, 27 + step[0] + 8 * step[1]
            moved = frame.square[end] - frame.square[start]
            expected = frame.step(step)
            assert moved == expected[0] + 8 * expected[1]
