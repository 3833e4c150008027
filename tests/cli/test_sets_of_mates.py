"""Atlas, likeness, own patterns and sheets from a harvest of the bundled games."""

from __future__ import annotations

import json
import os
from pathlib import Path
from xml.etree import ElementTree

import chess
import pytest
from pypdf import PdfReader

from commands import run

GAMES = Path(__file__).parents[2] / "examples" / "harbour-street" / "classics.pgn"
LOLLI = "r4rk1/pb3pQp/1p3Pp1/8/8/8/5KPP/4R3 b - - 0 1"


@pytest.fixture(scope="module")
def finds(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from flightless.harvest.records import Record, record_document
    from flightless.harvest.run import harvest

    file = tmp_path_factory.mktemp("harvest") / "finds.jsonl"
    records = (item for item in harvest([str(GAMES)]) if isinstance(item, Record))
    lines = [json.dumps(record_document(record)) for record in records]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def test_the_atlas_counts_every_mate_once(
    finds: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "atlas.pdf"
    code, out, _ = run("atlas", str(finds), "--json", "--out", str(sheet), capsys=capsys)
    document = json.loads(out)
    lines = finds.read_text(encoding="utf-8").splitlines()
    assert code == 0
    assert document["total"] == len(lines)
    assert len(PdfReader(sheet).pages) >= 1
    counts = [entry["count"] for entry in document["entries"]]
    assert counts == sorted(counts, reverse=True)
    for entry in document["entries"]:
        assert chess.Board(entry["skeleton"]).is_checkmate()


def test_the_most_alike_comes_first(
    finds: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "alike.svg"
    code, out, _ = run(
        "like", LOLLI, "--in", str(finds), "--json", "--out", str(picture), capsys=capsys
    )
    values = [json.loads(line)["likeness"] for line in out.splitlines()]
    assert code == 0
    assert values == sorted(values, reverse=True)
    assert ElementTree.parse(picture).getroot().tag.endswith("svg")


def test_a_mate_is_most_like_itself(finds: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mated = [json.loads(line) for line in finds.read_text(encoding="utf-8").splitlines()]
    fen = next(d["fen"] for d in mated if d["kind"] == "mated")
    _, out, _ = run("like", fen, "--in", str(finds), "--json", "--most", "1", capsys=capsys)
    assert json.loads(out)["likeness"] == 1


def test_a_learned_pattern_is_named_afterwards(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("FLIGHTLESS_PATTERNS", str(tmp_path / "own"))
    code, _, _ = run(
        *("pattern", "learn", LOLLI, "--name", "the pier", "--level", "exact"),
        *("--description", "queen in front, pawn beside her"),
        capsys=capsys,
    )
    assert code == 0
    assert os.listdir(tmp_path / "own") == ["the_pier.toml"]
    _, out, _ = run("explain", "--json", LOLLI, capsys=capsys)
    assert "the pier" in [pattern["name"] for pattern in json.loads(out)["patterns"]]
    code, _, err = run(
        *("pattern", "learn", LOLLI, "--name", "the pier", "--level", "exact"),
        *("--description", "again"),
        capsys=capsys,
    )
    assert code == 2
    assert "is there already; --replace writes over it" in err


def test_an_own_pattern_with_an_error_is_refused_with_file_and_field(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mine.toml").write_text('name = "mine"\nking = 3\n', encoding="utf-8")
    monkeypatch.setenv("FLIGHTLESS_PATTERNS", str(tmp_path))
    code, _, err = run("pattern", "list", capsys=capsys)
    assert code == 2
    assert "mine.toml" in err


def test_a_sheet_of_eight_diagrams_is_two_pages_and_a_key(
    finds: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    both, sheet = tmp_path / "both.pdf", tmp_path / "sheet.pdf"
    assert run("worksheet", str(finds), "--out", str(both), capsys=capsys)[0] == 0
    assert run("worksheet", str(finds), "--out", str(sheet), "--no-key", capsys=capsys)[0] == 0
    assert len(PdfReader(sheet).pages) == 2
    assert len(PdfReader(both).pages) > 2
    text = PdfReader(sheet).pages[0].extract_text()
    assert "Name" in text
    assert "mate" not in text.lower().replace("and mate in", "").replace("mates", "")


def test_every_pattern_is_listed_by_its_description(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("pattern", "list", capsys=capsys)
    assert code == 0
    assert any(line.startswith("Mayet: rook next to the king") for line in out.splitlines())
    assert len(out.splitlines()) >= 34
