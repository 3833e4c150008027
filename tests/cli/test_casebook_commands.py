"""The casebook from the command line: in, found, marked, out, and back again."""

from __future__ import annotations

import json
from pathlib import Path

import chess
import pytest

from commands import run

GAMES = Path(__file__).parents[2] / "examples" / "harbour-street" / "classics.pgn"
BACK_RANK = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "casebook.sqlite"
    monkeypatch.setenv("FLIGHTLESS_CASEBOOK", str(path))
    return path


@pytest.mark.usefixtures("book")
def test_a_position_added_by_hand_is_found_by_what_it_is(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, out, _ = run("casebook", "add", BACK_RANK, "--tag", "monday", capsys=capsys)
    assert (code, out) == (0, "Added: 1\n")
    for options in (
        ("--pattern", "back rank"),
        ("--moves", "2"),
        ("--moves", "1-3"),
        ("--tag", "monday"),
        ("--side", "white"),
        ("--tandem", "R"),
        ("--unused",),
    ):
        _, out, _ = run("casebook", "list", "--json", *options, capsys=capsys)
        assert [json.loads(line)["fen"] for line in out.splitlines()] == [BACK_RANK], options
    _, out, _ = run("casebook", "list", "--json", "--pattern", "Greco", capsys=capsys)
    assert out == ""
    _, out, _ = run("casebook", "show", "1", "--json", capsys=capsys)
    shown = json.loads(out)
    assert shown["keys"] == ["e2e8"]
    assert shown["proof"]["verdict"] == "mate"
    assert shown["geometry_key"]


@pytest.mark.usefixtures("book")
def test_games_go_in_once_and_come_out_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("casebook", "add", str(GAMES), capsys=capsys)[0] == 0
    _, first, _ = run("casebook", "stats", "--json", capsys=capsys)
    assert run("casebook", "add", str(GAMES), capsys=capsys)[0] == 0
    _, second, _ = run("casebook", "stats", "--json", capsys=capsys)
    assert json.loads(first) == json.loads(second)
    positions = json.loads(first)["positions"]
    epd = tmp_path / "out.epd"
    assert run("casebook", "export", "--format", "epd", "--out", str(epd), capsys=capsys)[0] == 0
    lines = epd.read_text(encoding="utf-8").splitlines()
    assert len(lines) == positions
    for line in lines:
        chess.Board(None).set_epd(line)  # python-chess reads every line


@pytest.mark.usefixtures("book")
def test_marks_backup_and_restore(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run("casebook", "add", BACK_RANK, capsys=capsys)
    run("casebook", "used", "lesson 1", "1", capsys=capsys)
    assert run("casebook", "list", "--json", "--unused", capsys=capsys)[1] == ""
    backup = tmp_path / "book.bak"
    assert run("casebook", "backup", str(backup), capsys=capsys)[0] == 0
    run("casebook", "remove", "1", capsys=capsys)
    assert run("casebook", "list", "--json", capsys=capsys)[1] == ""
    assert run("casebook", "restore", str(backup), capsys=capsys)[0] == 0
    _, out, _ = run("casebook", "list", "--json", capsys=capsys)
    assert json.loads(out)["used_in"] == ["lesson 1"]


@pytest.mark.usefixtures("book")
@pytest.mark.parametrize(
    ("arguments", "clause"),
    [
        (("list", "--moves", "x"), "--moves is a number"),
        (("list", "--side", "green"), "green"),
        (("show", "99"), "99"),
        (("add", "8/8/8/8/8/8/8/4R1K1 w - - 0 1"), "Black has no king"),
        (("add", "gone.pgn"), "gone.pgn"),
        (("export", "--format", "doc"), "doc"),
        (("restore", "gone.bak"), "gone.bak"),
    ],
)
def test_bad_input_is_one_sentence(
    arguments: tuple[str, ...], clause: str, capsys: pytest.CaptureFixture[str]
) -> None:
    run("casebook", "add", BACK_RANK, capsys=capsys)
    code, _, err = run("casebook", *arguments, capsys=capsys)
    assert code == 2
    assert clause in err
    assert "fault of the program" not in err


def test_a_casebook_that_is_not_there_is_named(
    book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run("casebook", "list", capsys=capsys)
    assert code == 2
    assert book.name in err
