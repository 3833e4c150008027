"""What the command line says to bad input: one sentence, what and where, and exit code 2."""

from __future__ import annotations

import gzip
import json
import subprocess
import sys
from pathlib import Path

import pytest

from commands import run

BAD_FENS = {
    "no king": ("8/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black has no king"),
    "two kings": ("6kk/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black has 2 kings"),
    "pawn on an end rank": ("6kP/8/8/8/8/8/8/4R1K1 w - - 0 1", "a pawn stands on h8"),
    "nine pawns": ("6k1/pppppppp/p7/8/8/8/8/4R1K1 w - - 0 1", "Black has 9 pawns"),
    "wrong side in check": ("4k3/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black is in check"),
    "overlong": ("8/8/8/8/8/8/8/8" + "x" * 4000, "characters"),
    "not ASCII": ("6k1/8/8/8/8/8/8/4Ré1K w - - 0 1", "plain letters"),
}


@pytest.mark.parametrize("command", ["prove", "explain"])
@pytest.mark.parametrize("what", BAD_FENS)
def test_a_bad_fen_gets_one_sentence(
    command: str, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    fen, clause = BAD_FENS[what]
    code, out, err = run(command, fen, capsys=capsys)
    assert code == 2
    assert out == ""
    assert clause in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["prove", "explain"])
def test_a_refused_fen_is_a_document_too(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(command, "--json", "8/8/8/8/8/8/8/4R1K1 w - - 0 1", capsys=capsys)
    document = json.loads(out)
    assert code == 2
    assert document["verdict"] == "refused"
    assert "Black has no king" in document["reason"]


FINISHED = {
    "mated": ("r4rk1/pb3pQp/1p3Pp1/8/8/8/5KPP/4R3 b - - 0 1", "Black is already mated"),
    # FIDE Laws, article 5.2.1: stalemate ends the game.
    "stalemate": ("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1", "stalemate"),
}


@pytest.mark.parametrize("what", FINISHED)
def test_prove_refuses_a_finished_position(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    fen, clause = FINISHED[what]
    code, _, err = run("prove", fen, capsys=capsys)
    assert code == 2
    assert clause in err


FILES = {
    "missing": None,
    "empty": b"",
    "only blank lines": b"\n\n  \n",
    "binary": bytes(range(256)) * 20,
    "one long line": b"8" * 300_000,
}


@pytest.mark.parametrize("command", ["prove", "explain", "harvest", "worksheet", "check"])
@pytest.mark.parametrize("what", FILES)
def test_a_bad_file_gets_one_sentence(
    command: str, what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "drawer.txt"
    content = FILES[what]
    if content is not None:
        file.write_bytes(content)
    code, out, err = run(command, str(file), capsys=capsys)
    assert code == 2
    assert out == ""
    assert "drawer.txt" in err
    assert "Traceback" not in err
    assert "fault of the program" not in err


@pytest.mark.parametrize(
    "arguments",
    [
        ("prove",),
        ("prove", "--within", "0", "6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1"),
        ("prove", "--within", "many", "6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1"),
        ("prove", "--nodes", "-5", "6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1"),
        ("worksheet", "--paper", "a3", "6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1"),
        ("worksheet", "--seen-from", "above", "6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1"),
        ("nothing-of-ours",),
    ],
)
def test_wrong_usage_is_exit_code_2(
    arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run(*arguments, capsys=capsys)
    assert code == 2
    assert err


def test_a_bad_line_costs_that_line_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "sheet.epd"
    file.write_text(
        "6k1/5ppp/8/8/8/8/8/4R1K1 w - - dm 1;\n"
        "6k1/5ppp/8/8/8/8/8/4R1Q1 w - - 0 1\n"
        "# a remark\n"
        "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1\n",
        encoding="utf-8",
    )
    code, out, err = run("prove", "--json", str(file), capsys=capsys)
    documents = [json.loads(line) for line in out.splitlines()]
    assert code == 2
    assert [d["verdict"] for d in documents] == ["mate", "refused", "mate"]
    assert [d.get("moves") for d in documents] == [1, None, 2]
    assert "sheet.epd, line 2: White has no king" in err


def test_undecided_lines_are_exit_code_3(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "hard.fen"
    start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"
    file.write_text(start + "\n", encoding="utf-8")
    code, out, _ = run("prove", "--json", "--nodes", "2000", str(file), capsys=capsys)
    assert code == 3
    document = json.loads(out)
    assert document["verdict"] == "undecided"
    assert document["moves"] is None


def test_a_truncated_archive_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "games.pgn.gz"
    packed = gzip.compress(b'[Event "?"]\n\n1. e4 e5 *\n\n' * 2000)
    file.write_bytes(packed[: len(packed) // 2])
    _, _, err = run("harvest", str(file), "--out", str(tmp_path / "finds.jsonl"), capsys=capsys)
    assert "games.pgn.gz" in err
    assert "Traceback" not in err


def test_help_and_refusals_load_nothing_compiled() -> None:
    for arguments in (["--help"], ["prove", "8/8/8/8/8/8/8/4R1K1 w - - 0 1"], ["prove", "gone"]):
        code = (
            "import sys\n"
            f"sys.argv = ['flightless', *{arguments!r}]\n"
            "from flightless.cli import main\n"
            "try:\n    main()\nexcept SystemExit:\n    pass\n"
            "sys.exit(77 if 'numba' in sys.modules else 0)"
        )
        result = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=False
        )
        assert result.returncode == 0, arguments


def test_an_empty_argument_and_a_folder_are_refused_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run("explain", "", capsys=capsys)
    assert (code, err) == (
        2,
        "flightless: the position is empty: a FEN or the name of a file is wanted\n",
    )
    code, _, err = run("explain", str(tmp_path), capsys=capsys)
    assert (code, err) == (2, f"flightless: {tmp_path} is a folder, and a file is wanted\n")


def test_a_pdf_is_not_read_line_by_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # How a PDF begins: ISO 32000-1, 7.5.2.
    (tmp_path / "old.pdf").write_bytes(b"%PDF-1.7\n" + b"1 0 obj\n" * 100)
    code, _, err = run("prove", str(tmp_path / "old.pdf"), capsys=capsys)
    assert code == 2
    assert err.count("\n") == 1
    assert "this is a binary file" in err


@pytest.mark.parametrize("name", ["missing", "missing.doc"])
def test_an_import_of_no_file_says_so(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run("casebook", "import", name, capsys=capsys)
    assert code == 2
    assert f"there is no file {name!r}" in err


def test_a_picture_is_not_written_under_another_kinds_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fen = "R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1"
    code, _, err = run("draw", fen, "--out", str(tmp_path / "mate.pdf"), capsys=capsys)
    assert (code, err) == (2, "flightless: the picture is an .svg, not 'mate.pdf'\n")
    assert not (tmp_path / "mate.pdf").exists()


def test_capitals_of_a_patterns_name_do_not_matter(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("pattern", "show", "boden", capsys=capsys)
    assert code == 0
    assert out.startswith("Boden: ")


def test_a_stop_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("flightless.cli.draw.run_draw", stopped)
    code, _, err = run("draw", "R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1", capsys=capsys)
    assert code == 130
    assert err.strip() == "Stopped."


@pytest.mark.parametrize("command", ["prove", "problem"])
def test_games_are_refused_in_one_sentence_where_positions_are_wanted(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "games.pgn"
    file.write_text('[Event "x"]\n\n1. f3 e5 2. g4 Qh4# 0-1\n' * 20, encoding="utf-8")
    code, _, err = run(command, str(file), capsys=capsys)
    assert code == 2
    assert err == f"flightless: {file}: FEN or EPD lines are wanted, and there are games in it\n"
