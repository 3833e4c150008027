"""Results: the file by the standard library's CSV reader, recording, calibrating, forgetting."""

from __future__ import annotations

import csv
import json
import math
import os
import stat
from pathlib import Path

import pytest
from exercise_referee import ROOT

from commands import run as run_command
from flightless.errors import FileError, UsageError
from flightless.exercises.calibrating import learn, log_loss, read_calibration, write_calibration
from flightless.exercises.file import read_set
from flightless.exercises.grade import Calibration, group_of, name_of
from flightless.exercises.results import (
    COLUMNS,
    Result,
    append_results,
    forget,
    own_results,
    read_results,
)

POSITIONS = ROOT / "examples" / "harbour-street" / "coach-positions.epd"
A, B = "0123456789ab", "ba9876543210"


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def run(*arguments: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    return run_command("exercises", *arguments, capsys=capsys)


@pytest.fixture
def made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    path = tmp_path / "set.toml"
    arguments = ("make", "--from", str(POSITIONS), "--out", str(path), "--count", "6")
    assert run(*arguments, capsys=capsys)[0] == 0
    return path


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_a_sheet_is_recorded_with_the_least_data(
    made: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(
        *("record", str(made), "--right", "1-3,5", "--wrong", "4", "--late", "6"),
        *("--nickname", "Ines", "--date", "2026-03-31"),
        capsys=capsys,
    )
    assert (code, out) == (0, f"6 answers recorded: {own_results()}\n")
    found = rows(own_results())
    assert set(found[0]) == set(COLUMNS)
    assert [r["outcome"] for r in found] == ["right"] * 3 + ["wrong", "right", "late"]
    assert {(r["nickname"], r["date"]) for r in found} == {("Ines", "2026-03-31")}
    exercises = read_set(made).exercises
    assert [r["exercise"] for r in found] == [name_of(e) for e in exercises]
    assert [r["kind"] for r in found] == [group_of(e) for e in exercises]
    if os.name == "posix":
        assert stat.S_IMODE(own_results().stat().st_mode) == 0o600


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--right", "5-2"), "--right takes numbers like 1-4,6, not '5-2'"),
        (("--right", "1", "--wrong", "1"), "exercise 1 is said to be right and wrong"),
        (("--late", "99"), "there is no exercise 99"),
        ((), "say which exercises were right, late or wrong"),
        (("--right", "1", "--date", "tomorrow"), "the date is a day like 2026-03-31"),
        (("--right", "1", "--nickname", "a@b"), "a nickname has letters"),
    ],
)
def test_nothing_is_recorded_of_what_makes_no_sense(
    made: Path, options: tuple[str, ...], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run("record", str(made), *options, capsys=capsys)
    assert code == 2
    assert message in err
    assert not own_results().exists()


def test_a_mark_is_recorded_only_when_it_is_asked_for(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    exercise = read_set(made).exercise(1)
    mark = ("mark", str(made), "1", exercise.answers[0])
    run(*mark, capsys=capsys)
    assert not own_results().exists()
    out = tmp_path / "results.csv"
    keep = ("--record", "--results", str(out), "--seconds", "70", "--date", "none")
    run(*mark, *keep, "--allowed", "60", capsys=capsys)
    run(*mark, *keep, "--allowed", "80", capsys=capsys)
    run("mark", str(made), "1", "no answer at all", *keep, capsys=capsys)
    assert [(r["outcome"], r["nickname"], r["date"]) for r in rows(out)] == [
        ("late", "", ""),
        ("right", "", ""),
    ]
    code, _, err = run(*mark, "--nickname", "Ines", capsys=capsys)
    assert code == 2
    assert "--record, which is not given" in err


def test_calibrate_then_make_grades_by_it(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    exercise = read_set(made).exercise(1)
    first = Calibration()(exercise)
    append_results(
        own_results(),
        [
            Result(name_of(exercise), "wrong", f"pupil {n}", group_of(exercise), first)
            for n in range(30)
        ],
    )
    code, out, _ = run("calibrate", capsys=capsys)
    assert code == 0
    assert "log loss" in out
    assert "30 answers to 1 exercise" in out
    document = json.loads((tmp_path / "data" / "flightless" / "calibration.json").read_text())
    assert "pupil" not in json.dumps(document)
    again = tmp_path / "again.toml"
    for results in (own_results(), tmp_path / "data" / "flightless" / "calibration.json"):
        arguments = ("--from", str(POSITIONS), "--out", str(again), "--count", "6")
        run("make", *arguments, "--results", str(results), capsys=capsys)
        graded = {name_of(e): e.about.difficulty for e in read_set(again).exercises}
        assert (graded[name_of(exercise)] or 0.0) > first + 0.5


def test_forget_erases_and_learns_anew(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "results.csv"
    append_results(
        path, [Result(A, "wrong", "Ines"), Result(A, "right", "Tom"), Result(B, "wrong")]
    )
    code, out, err = run("calibrate", str(path), "--forget", "ines", capsys=capsys)
    assert code == 0
    assert "1 answer of ines erased" in out
    assert "backups" in err
    assert "Ines" not in path.read_text(encoding="utf-8")
    assert [r["nickname"] for r in rows(path)] == ["Tom", ""]
    kept = read_calibration(tmp_path / "data" / "flightless" / "calibration.json")
    fresh = learn([Result(A, "right", "Tom"), Result(B, "wrong")]).calibration
    assert kept.exercises[A].value == pytest.approx(fresh.exercises[A].value, abs=1e-3)
    assert forget(path, "Ines") == 0


def test_simulated_pupils_are_called_so(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("calibrate", "--simulated", capsys=capsys)
    assert code == 0
    assert out.startswith("Simulated pupils of known strength, not real ones")
    assert run("calibrate", "x.csv", "--simulated", capsys=capsys)[0] == 2


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "results.csv"
    path.write_text("outcome,date,exercise,seconds,grade,kind,nickname")  # no end of line
    append_results(path, [Result(A, "late", "Tom B.", "find-mate 2", 0.5, 41.5)])
    assert read_results([path]) == (Result(A, "late", "Tom B.", "find-mate 2", 0.5, 41.5),)


def test_a_spreadsheet_with_semicolons_is_read(tmp_path: Path) -> None:
    path = tmp_path / "results.csv"
    path.write_bytes(f"\ufeffexercise;outcome;grade\r\n{A};right;0,5\r\n".encode())
    assert read_results([path]) == (Result(A, "right", grade=0.5),)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("exercise,outcome\n0123,right\n", "line 2, exercise: expected the twelve figures"),
        (f"exercise,outcome\n{A},ok\n", "line 2, outcome: expected right, late or wrong"),
        (f"exercise,outcome\n{A}\n", "line 2: expected 2 cells"),
        (f"exercise,outcome,age\n{A},right,9\n", "line 1, age: there is no such column"),
        ("exercise,nickname\n", "line 1: the column 'outcome' is missing"),
        (f"exercise,outcome,date\n{A},right,31.3.2026\n", "line 2, date: expected a day like"),
        (f"exercise,outcome,seconds\n{A},right,-2\n", "line 2, seconds: expected no less than 0"),
        (f"exercise,outcome,grade\n{A},right,nan\n", "line 2, grade: expected a number up to 20"),
        (f"exercise,outcome,nickname\n{A},right,=cmd\n", "line 2, nickname: a nickname has"),
        ("", "the file is empty"),
        (f'exercise,outcome\n{A},"right\n', "not readable as CSV"),
    ],
)
def test_errors_name_line_and_column(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "results.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as refused:
        read_results([path])
    assert message in str(refused.value)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"format": "x"}, "this is no calibration"),
        ({"version": 9}, "reads version 1, not 9"),
        ({"kinds": []}, "kinds: expected an object"),
        ({"exercises": {A: {"grade": "hard"}}}, f"exercises.{A}.grade: expected a number"),
        ({"exercises": {A: {"grade": 1, "unsure": 0}}}, f"exercises.{A}.unsure: expected more"),
    ],
)
def test_a_calibration_with_an_error_is_refused(
    tmp_path: Path, change: dict[str, object], message: str
) -> None:
    path = tmp_path / "calibration.json"
    write_calibration(path, learn([Result(B, "right")]))
    path.write_text(json.dumps({**json.loads(path.read_text()), **change}))
    with pytest.raises(FileError) as refused:
        read_calibration(path)
    assert message in str(refused.value)


def test_a_nickname_is_no_address() -> None:
    with pytest.raises(UsageError, match="a nickname has"):
        Result(A, "right", "ines@example.org")


def test_log_loss_by_hand() -> None:
    assert log_loss([0.8, 0.6], [1, 0]) == pytest.approx(-(math.log(0.8) + math.log(0.4)) / 2)
    assert log_loss([0.5], [0.5]) == pytest.approx(math.log(2))


def test_an_unnamed_pupil_is_a_new_one_each_time() -> None:
    named = learn([Result(A, "right", "Ines")] * 8).calibration.exercises[A].value
    unnamed = learn([Result(A, "right")] * 8).calibration.exercises[A].value
    assert unnamed < named < 0  # eight pupils who solve it say more than one who does it again
