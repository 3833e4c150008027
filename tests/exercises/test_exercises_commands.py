"""The commands, open formats and the sheet, as a coach would use them."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from pathlib import Path

import chess
import chess.pgn
import pytest
from exercise_referee import ROOT
from pypdf import PdfReader

from commands import run as run_command
from flightless.exercises.exercise import Exercise
from flightless.exercises.file import ExerciseSet, read_set, write_set
from flightless.exercises.kinds.find_mate import NONE, FindMate
from flightless.exercises.portable import epd_text, pgn_text
from flightless.press.exercise_sheet import exercise_item, exercise_pdf
from flightless.words.reasons import kind_title, solution, task

POSITIONS = ROOT / "examples" / "harbour-street" / "coach-positions.epd"


def run(*arguments: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    return run_command("exercises", *arguments, capsys=capsys)


@pytest.fixture(scope="module")
def one_of_each(exercises: list[Exercise]) -> ExerciseSet:
    found = {e.kind: e for e in reversed(exercises)}
    none = next(e for e in exercises if e.answers == (NONE,))
    return ExerciseSet("One of each", (*found.values(), none))


@pytest.fixture
def made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    path = tmp_path / "set.toml"
    code, out, _ = run(
        "make", "--from", str(POSITIONS), "--out", str(path), "--count", "6", capsys=capsys
    )
    assert code == 0
    assert re.match(r"6 exercises from 16 positions in \d", out)
    return path


def test_make_check_show_mark_hint(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = read_set(made)
    assert len(found.exercises) == 6
    code, out, _ = run("check", str(made), capsys=capsys)
    assert (code, out) == (0, "All 6 exercises are sound.\n")
    code, out, _ = run("show", str(made), capsys=capsys)
    assert code == 0
    for number, exercise in enumerate(found.exercises, 1):
        assert f"{number}. {kind_title(exercise.kind)}" in out
    first = found.exercises[0]
    answer = "; ".join(first.answers) if first.kind == "ledger" else first.answers[0]
    code, out, _ = run("mark", str(made), "1", answer, capsys=capsys)
    assert code == 0
    assert out.startswith("Right.")
    code, out, _ = run("mark", str(made), "1", answer, "--json", capsys=capsys)
    document = json.loads(out)
    assert document["verdict"] == "right"
    assert document["sentences"]
    code, out, _ = run("hint", str(made), "1", capsys=capsys)
    assert code == 0
    assert out.strip()


def test_a_set_from_a_harvest_and_from_a_casebook(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same finds as JSON Lines and in a casebook, one damaged line refused by itself."""
    from flightless.casebook import Casebook

    fen = "6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"
    find = {
        "format": "flightless find",
        "version": 1,
        "source": {"file": "club.pgn", "white": "Owl", "black": "Moth", "date": "2026.01.02"},
        "game": 1,
        "ply": 40,
        "fen": fen,
        "kind": "missed",
        "moves": 1,
        "keys": ["e1e8"],
        "line": ["Re8#"],
        "patterns": ["back rank"],
        "skeleton": "4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1",
        "played": "e1e2",
        "slower": False,
    }
    harvest = tmp_path / "finds.jsonl"
    harvest.write_text(json.dumps(find) + "\n{broken\n", encoding="utf-8")
    wish = ["--count", "1", "--kinds", "find-mate", "--pattern", "back rank"]
    wish += ["--look-alikes", "0", "--no-mates", "0"]
    out = tmp_path / "a.toml"
    code, _, err = run("make", "--from", str(harvest), "--out", str(out), *wish, capsys=capsys)
    assert code == 2
    assert "finds.jsonl, line 2" in err
    book_path = tmp_path / "book.sqlite"
    with Casebook.open(book_path) as book:
        book.add_records([find])
    other = tmp_path / "b.toml"
    code, _, _ = run("make", "--from", str(book_path), "--out", str(other), *wish, capsys=capsys)
    assert code == 0
    first, second = read_set(out).exercises[0], read_set(other).exercises[0]
    assert first.position == second.position == fen
    assert first.about.source == second.about.source == "Owl – Moth, 2026"


def test_games_can_be_used_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pgn = tmp_path / "one.pgn"
    pgn.write_text(
        '[Event "League"]\n[White "Pepper"]\n[Black "Owl"]\n[Result "1-0"]\n\n'
        "1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Qxf7# 1-0\n",
        encoding="utf-8",
    )
    out = tmp_path / "set.toml"
    arguments = ["--from", str(pgn), "--out", str(out), "--count", "1", "--kinds", "name,verdict"]
    code, _, _ = run("make", *arguments, capsys=capsys)
    assert code == 0
    assert read_set(out).exercises[0].about.source.startswith("Pepper – Owl")


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (["check", "none.toml"], "there is no file 'none.toml'"),
        (["make", "--from", "none.pgn"], "none.pgn"),
        (["make", "--from", "none.sqlite"], "none.sqlite"),
        (["make", "--from", "x", "--pattern", "nothing"], "there is no pattern 'nothing'"),
        (["make", "--from", "x", "--kinds", "nothing"], "there is no kind of exercise 'nothing'"),
        (["make", "--from", "x", "--level", "1500"], "the level is one of"),
    ],
)
def test_refusals(arguments: list[str], wanted: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(*arguments, capsys=capsys)
    assert code == 2
    assert out == ""
    assert wanted in err
    assert "Traceback" not in err


def test_bad_numbers_hints_and_answers(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run("mark", str(made), "77", "Re8", capsys=capsys)
    assert code == 2
    assert "there is no exercise 77, only 1 to 6" in err
    code, _, err = run("hint", str(made), "1", "--step", "9", capsys=capsys)
    assert code == 2
    assert "hints, not 9" in err
    code, out, _ = run("mark", str(made), "1", "what", capsys=capsys)
    assert code == 2
    assert out.startswith("Not possible.")


def test_an_unsound_file_is_refused_by_every_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "unsound.toml"
    path.write_text(
        'format = "flightless exercises"\nversion = 1\n[[exercise]]\nkind = "find-mate"\n'
        'position = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"\nmoves = 2\n'
        'answers = ["Nxf7+"]\n',
        encoding="utf-8",
    )
    for arguments in (["check"], ["sheet"], ["export"]):
        code, out, err = run(*arguments, str(path), capsys=capsys)
        assert (code, out) == (2, "")
        assert "line 7, exercise.answers: exercise 1: a second solution is missing" in err
        assert "1. Nxg6+ Kg8 2. Ne7#" in err
    code, _, err = run("mark", str(path), "1", "Nxg6", capsys=capsys)
    assert code == 2
    assert "second solution" in err


def test_help_and_refusals_load_nothing_compiled() -> None:
    code = (
        "import sys\n"
        "sys.argv = ['flightless', 'exercises', 'check', 'none.toml']\n"
        "from flightless.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "sys.exit('numba' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert done.returncode == 0


def test_pgn_is_read_by_python_chess(one_of_each: ExerciseSet) -> None:
    """Positions, solutions as moves, tasks as comments; nothing that is no PGN."""
    stream = io.StringIO(pgn_text(one_of_each, task, solution))
    for exercise in one_of_each.exercises:
        game = chess.pgn.read_game(stream)
        assert game is not None
        assert game.errors == []
        assert game.board().board_fen() == exercise.board.board_fen()
        assert game.board().turn == exercise.board.turn
        assert task(exercise)[:20] in game.comment
        if isinstance(exercise, FindMate) and exercise.answers != (NONE,):
            assert game.end().board().is_checkmate()
    assert chess.pgn.read_game(stream) is None


def test_epd_is_read_by_python_chess(one_of_each: ExerciseSet) -> None:
    lines = epd_text(one_of_each, task, solution).splitlines()
    assert len(lines) == len(one_of_each.exercises) + 1  # two positions, two lines
    for line in lines:
        board, operations = chess.Board.from_epd(line)
        assert board.is_valid()
        assert operations["id"]
        assert operations["c0"]
        for move in operations.get("bm", []):
            assert board.is_legal(move)
        if "dm" in operations:
            assert operations["dm"] >= 1


def test_hostile_texts_stay_texts(exercises: list[Exercise]) -> None:
    """A source from a hostile game file is printed and exported, and obeyed nowhere."""
    from dataclasses import replace

    first = next(e for e in exercises if isinstance(e, FindMate))
    evil = '"] } {[%eval 1] ; # $ @import <script> \x00\u202e\n[Event "x"]'
    about = replace(first.about, source=evil, note=evil)
    found = ExerciseSet(evil, (replace(first, about=about),))
    game = chess.pgn.read_game(io.StringIO(pgn_text(found, task, solution)))
    assert game is not None
    assert game.errors == []
    board, operations = chess.Board.from_epd(epd_text(found, task, solution).strip())
    assert board.is_valid()
    assert set(operations) <= {"bm", "dm", "id", "c0", "c1", "c9"}
    again = write_set(found)
    assert "\n[Event" not in again
    assert exercise_pdf(found).startswith(b"%PDF")


def test_a_sheet_has_every_kind_and_its_key(one_of_each: ExerciseSet) -> None:
    pages = PdfReader(io.BytesIO(exercise_pdf(one_of_each))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Answer key" in text
    before, key = text.split("Answer key", 1)
    for exercise in one_of_each.exercises:
        item = exercise_item(exercise)
        for word in item.choices:
            assert " ".join(word.split()[:3]) in before, word
        start = " ".join(item.task.split()[:5])
        assert start in before, start
        if exercise.kind not in ("ledger", "name"):
            first = "".join(item.solution.split()[:2])
            assert first in key.replace(" ", "").replace("\u2060", ""), item.solution
    sheet_only = PdfReader(io.BytesIO(exercise_pdf(one_of_each, key=False))).pages
    assert "Answer key" not in " ".join(page.extract_text() for page in sheet_only)


def test_the_sheet_does_not_give_the_answer_away(one_of_each: ExerciseSet) -> None:
    """No solution of a line stands on the worksheet's pages."""
    text = " ".join(
        page.extract_text()
        for page in PdfReader(io.BytesIO(exercise_pdf(one_of_each, key=False))).pages
    )
    for exercise in one_of_each.exercises:
        if isinstance(exercise, FindMate) and exercise.answers != (NONE,):
            assert solution(exercise) not in text


def test_sheet_command(made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out" / "sheet.pdf"
    options = ["--out", str(out), "--paper", "letter", "--large", "--seen-from", "mover"]
    code, said, _ = run("sheet", str(made), *options, capsys=capsys)
    assert code == 0
    assert said.startswith("6 exercises, with the answer key: ")
    assert out.read_bytes().startswith(b"%PDF")
    code, _, err = run("sheet", str(made), "--paper", "a5", capsys=capsys)
    assert code == 2
    assert "a4 or letter" in err
