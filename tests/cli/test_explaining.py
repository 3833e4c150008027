"""`explain` for every kind of position, for games, and as files."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import chess
import pytest

from commands import run

ROOT = Path(__file__).parents[2]
CLASSICS = ROOT / "examples" / "harbour-street" / "classics.pgn"

POSITIONS = {
    "mated": "r4rk1/pb3pQp/1p3Pp1/8/8/8/5KPP/4R3 b - - 0 1",
    "mate": "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1",
    "no mate": "6k1/5pp1/7p/8/8/8/5PPP/4R1K1 w - - 0 1",
    "stalemate": "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
}


@pytest.mark.parametrize("verdict", POSITIONS)
def test_every_position_is_told_what_it_is(
    verdict: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run("explain", "--json", POSITIONS[verdict], capsys=capsys)
    document = json.loads(out)
    assert code == 0
    assert document["verdict"] == verdict
    assert document["sentences"]
    assert ("near" in document) == (verdict in ("no mate", "stalemate"))
    assert ("case_fen" in document) == (verdict in ("mated", "mate"))


def test_a_check_that_is_not_mate_lists_its_answers(capsys: pytest.CaptureFixture[str]) -> None:
    fen = "4R1k1/5pp1/7p/8/8/8/5PPP/6K1 b - - 0 1"
    _, out, _ = run("explain", "--json", fen, capsys=capsys)
    check = json.loads(out)["near"]["check"]
    flights = {flight["square"] for flight in check["flights"]}
    assert flights == {chess.square_name(m.to_square) for m in chess.Board(fen).legal_moves}


def test_a_forced_line_is_told_move_by_move(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run("explain", "--json", POSITIONS["mate"], capsys=capsys)
    document = json.loads(out)
    kinds = [[n["kind"] for n in s.get("natures", [])] for s in document["way_in"]["steps"]]
    assert "check" in kinds[0]
    assert "mate" in kinds[-1]
    assert chess.Board(document["case_fen"]).is_checkmate()


def test_the_start_of_a_line_is_varied_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run("explain", "--json", "--vary-start", POSITIONS["mate"], capsys=capsys)
    kinds = json.loads(out)["start_variations"]["kinds"]
    # A queen for either rook: she mates as well, whichever goes first.
    queens = {change["square"] for change in kinds if change.get("instead") == "Q"}
    assert {"e1", "e2"} <= queens


def test_games_are_explained_at_their_ends(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("explain", "--json", str(CLASSICS), capsys=capsys)
    documents = [json.loads(line) for line in out.splitlines()]
    assert code == 0
    assert len(documents) == 31
    mated = [d for d in documents if d["verdict"] == "mated"]
    assert len(mated) >= 25
    # With the moves known, the last of them is too.
    assert all(d["last_move"] for d in mated)


def test_a_folder_gets_words_and_pictures(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, _ = run(
        "explain", POSITIONS["mate"], "--folder", str(tmp_path / "desk"), capsys=capsys
    )
    assert code == 0
    names = sorted(path.name for path in (tmp_path / "desk").iterdir())
    assert names == ["001-ledger.svg", "001-mate.svg", "001-without.svg", "001.svg", "001.txt"]
    for name in names[:-1]:
        assert ElementTree.parse(tmp_path / "desk" / name).getroot().tag.endswith("svg")
