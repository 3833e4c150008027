"""`flightless problem` from outside: pages, JSON, exit codes, refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from commands import run

MORPHY = "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1"  # New York Clipper, 1856, from memory
BENKO = "8/8/8/8/4k3/8/8/2BQKB2 w - -"  # Chess Life, 1960s, from memory


def test_a_page(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("problem", MORPHY, capsys=capsys)
    assert code == 0
    assert out.startswith("#2  (3+4)\n")
    assert "\nKey\n  1.Ra6!  zugzwang\n" in out


def test_a_document(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("problem", MORPHY, "--json", capsys=capsys)
    document = json.loads(out)
    assert code == 0
    assert document["verdict"] == "sound"
    assert [key["move"] for key in document["keys"]] == ["a1a6"]
    assert document["keys"][0]["zugzwang"] is True
    assert document["page"][0] == "#2  (3+4)"


def test_a_file_of_problems_with_their_claims(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "drawer.epd"
    file.write_text(f"{BENKO} dm 4;\n8/8/8/8/8/8/8/4R1K1 w - -\n{BENKO} dm 3;\n")
    code, out, err = run("problem", str(file), capsys=capsys)
    assert code == 2
    assert "line 2: Black has no king" in err
    first, second = out.split("\n\n" + str(file))
    assert "Short solution: mate in four is stipulated" in first
    assert second.startswith(", line 3:\n#3  (4+1)")


def test_a_claim_on_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("problem", BENKO, "--moves", "2", "--within", "3", capsys=capsys)
    assert code == 0
    assert "No solution: there is no mate within two moves. There is one in three." in out


def test_the_budget_spent_is_exit_code_3(capsys: pytest.CaptureFixture[str]) -> None:
    start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"
    code, out, _ = run("problem", start, "--nodes", "100", capsys=capsys)
    assert code == 3
    assert "Not decided" in out


@pytest.mark.parametrize(
    ("arguments", "clause"),
    [
        (("8/8/8/8/8/8/8/4R1K1 w - - 0 1",), "Black has no king"),
        (("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",), "stalemate"),
        (("no such file",), "there is no file"),
        ((MORPHY, "--language", "xx"), "there is no phrasebook for language 'xx'"),
        ((f"{BENKO} dm many;",), "dm must be a number of moves"),
    ],
)
def test_bad_input_gets_one_sentence(
    arguments: tuple[str, ...], clause: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run("problem", *arguments, capsys=capsys)
    assert code == 2
    assert out == ""
    assert clause in err
    assert err.count("\n") == 1
