"""Old sheets: every fault that a sheet can have, shown by a line that python-chess replays."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import chess
import pytest

from commands import run

SHEET = """\
3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - dm 2; bm Re8+;
5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - dm 2; bm Nxf7+;
r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - dm 2;
r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - bm Qg5;
6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - dm 2;
6k1/6pp/8/8/8/8/5PPP/4R1K1 w - - dm 1;
6k1/6pp/8/8/8/8/5PPP/4R1K1 w - - bm Rh9;
6k1/6pp/8/8/8/8/5PPP/4R1 w - - bm Re8;
6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - id "nothing claimed";
"""
EXPECTED = [
    [],
    ["second key"],
    ["longer"],
    ["not a key", "second key"],
    ["shorter"],
    ["no mate"],
    ["illegal"],
    ["illegal"],
    ["no solution"],
]


def proofread(
    tmp_path: Path, name: str, text: str, capsys: pytest.CaptureFixture[str]
) -> tuple[int, list[dict[str, Any]]]:
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    code, out, _ = run("proofread", "--json", str(file), capsys=capsys)
    return code, [json.loads(line) for line in out.splitlines()]


def test_each_fault_is_found_and_its_line_can_be_played(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, documents = proofread(tmp_path, "drawer.epd", SHEET, capsys)
    assert code == 2
    assert [[f["kind"] for f in d["faults"]] for d in documents] == EXPECTED
    for document in documents:
        for fault in document["faults"]:
            if not fault["line"]:
                continue
            board = chess.Board(document["fen"])
            for uci in fault["line"]:
                assert chess.Move.from_uci(uci) in board.legal_moves
                board.push_uci(uci)
            if fault["kind"] in ("second key", "shorter", "longer"):
                assert board.is_checkmate()


def test_solutions_in_a_game_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def game(fen: str, moves: str) -> str:
        return f'[Event "drawer"]\n[SetUp "1"]\n[FEN "{fen}"]\n\n{moves} *\n\n'

    text = (
        game("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", "1. Re8+ Rxe8 2. Rxe8#")
        + game(
            "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1",
            "1. Nxf7+ (1. Nxg6+ Kg8 2. Ne7#) Kg8 2. Nh6#",
        )
        + game("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", "1. Re8+ Rxe8")
        + game("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", "1. Re9+")
    )
    code, documents = proofread(tmp_path, "drawer.pgn", text, capsys)
    assert code == 2
    kinds = [[f["kind"] for f in d["faults"]] for d in documents]
    assert kinds == [[], [], ["not to the end"], ["illegal"]]


def test_a_whole_game_is_no_solution(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, documents = proofread(tmp_path, "game.pgn", "1. f3 e5 2. g4 Qh4# 0-1\n", capsys)
    assert code == 2
    assert [f["kind"] for f in documents[0]["faults"]] == ["illegal"]
    assert "there is no FEN tag" in documents[0]["sentences"][0]


def test_a_sound_sheet_is_exit_code_0(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, documents = proofread(tmp_path, "sound.epd", SHEET.splitlines()[0] + "\n", capsys)
    assert code == 0
    assert documents[0]["verdict"] == "sound"
