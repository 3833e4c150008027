"""Positions in the order of their use in class, from the command line: list, show, weigh, sheet."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

from commands import run

ROOT = Path(__file__).parents[2]
GAMES = ROOT / "examples" / "harbour-street" / "club-2026.pgn"
BACK_RANK = "6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"
TWO_KEYS = "6k1/5ppp/8/8/8/8/5PPP/3RR1K1 w - - 0 1"


@pytest.fixture(autouse=True)
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The casebook of this test."""
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("FLIGHTLESS_CASEBOOK", str(path))
    return path


def fens(out: str) -> list[str]:
    return [json.loads(line)["fen"] for line in out.splitlines()]


def test_the_better_position_comes_first_and_says_why(capsys: pytest.CaptureFixture[str]) -> None:
    for fen in (TWO_KEYS, BACK_RANK):
        assert run("casebook", "add", fen, capsys=capsys)[0] == 0
    _, out, _ = run("casebook", "list", "--json", capsys=capsys)
    assert fens(out) == [TWO_KEYS, BACK_RANK]
    _, out, err = run("casebook", "list", "--order", "class", "--json", "--why", capsys=capsys)
    assert fens(out) == [BACK_RANK, TWO_KEYS]
    first, second = (json.loads(line) for line in out.splitlines())
    assert first["worth"] > second["worth"]
    assert first["reasons"]["total"] == first["worth"]
    assert "not weighed" not in err
    _, out, _ = run("casebook", "list", "--order", "class", "--why", capsys=capsys)
    said = " ".join(out.split())
    assert said.index("One key.") < said.index("Two first moves mate.")
    assert "Nine men, six of them take part." in said
    assert "The same with the pawn on h6 instead of h7: no mate." in said
    _, out, _ = run("casebook", "show", "2", capsys=capsys)
    assert f"Worth in class: {first['worth']:.2f}. Mate in one. One key." in " ".join(out.split())


def test_games_are_weighed_when_they_are_added(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("casebook", "add", str(GAMES), capsys=capsys)[0] == 0
    best: list[dict[str, object]] = []
    after: list[str] = []
    while True:
        _, out, _ = run(
            *("casebook", "list", "--order", "class", "--size", "7", "--json", *after),
            capsys=capsys,
        )
        page = [json.loads(line) for line in out.splitlines()]
        best += page
        if len(page) < 7:
            break
        after = ["--after", str(page[-1]["id"])]
    _, out, _ = run("casebook", "list", "--size", "500", "--json", capsys=capsys)
    assert sorted(str(e["fen"]) for e in best) == sorted(fens(out))
    worths = [e["worth"] if isinstance(e["worth"], float) else -1.0 for e in best]
    assert worths == sorted(worths, reverse=True)
    assert worths[0] > 0.8


def test_many_new_positions_wait_to_be_weighed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flightless.cli.casebook_weigh.WITH_NEW_ONES", 10)
    _, _, err = run("casebook", "add", str(GAMES), capsys=capsys)
    waiting = re.search(r"(\d+) positions are not weighed yet: 'flightless casebook weigh'", err)
    assert waiting is not None
    _, out, _ = run("casebook", "list", "--order", "class", "--why", capsys=capsys)
    assert "     -  " in out
    _, out, _ = run("casebook", "stats", "--json", capsys=capsys)
    assert json.loads(out)["not_weighed"] == int(waiting[1])
    _, out, _ = run("casebook", "stats", capsys=capsys)
    assert f"{waiting[1]} are not weighed yet." in out
    code, out, _ = run("casebook", "weigh", "--jobs", "1", "--json", capsys=capsys)
    assert (code, json.loads(out)) == (0, {"weighed": int(waiting[1]), "left": 0})
    _, out, _ = run("casebook", "weigh", capsys=capsys)
    assert out == "0 weighed.\n"
    _, out, _ = run("casebook", "weigh", "--again", "--jobs", "1", capsys=capsys)
    assert out == f"{waiting[1]} weighed.\n"


def test_a_position_that_cannot_be_weighed_says_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    said = tmp_path / "said.epd"
    said.write_text("4k3/8/8/8/8/8/8/4K2R w - - dm 30;\n8/8/8/8/8/4k3/8/4K2R w - - dm 3;\n")
    run("casebook", "import", str(said), capsys=capsys)
    _, out, err = run("casebook", "list", "--order", "class", "--why", capsys=capsys)
    assert "Not weighed: mates in more than 20 are not weighed." in " ".join(out.split())
    assert out.count("Not weighed: ") == 2
    assert "not weighed yet" not in err


@pytest.mark.parametrize(
    ("arguments", "clause"),
    [
        (("list", "--order", "best"), "the order is added, newest or class, not 'best'"),
        (("list", "--order", "class", "--after", "99"), "no position 99 any more"),
        (("list", "--order", "class", "--newest"), "--newest is an order of its own"),
        (("weigh", "--casebook", "gone.sqlite"), "there is no casebook 'gone.sqlite' yet"),
    ],
)
def test_bad_words_are_one_sentence(
    arguments: tuple[str, ...], clause: str, capsys: pytest.CaptureFixture[str]
) -> None:
    run("casebook", "add", BACK_RANK, capsys=capsys)
    code, _, err = run("casebook", *arguments, capsys=capsys)
    assert code == 2
    assert clause in err


def test_a_sheet_of_the_best(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    finds, sheet = tmp_path / "finds.jsonl", tmp_path / "best.pdf"
    assert run("harvest", str(GAMES), "--out", str(finds), capsys=capsys)[0] == 0
    code, out, err = run(
        "worksheet", str(finds), "--best", "4", "--out", str(sheet), "--json", capsys=capsys
    )
    assert code == 0
    assert json.loads(out)["diagrams"] == 4
    worths = [float(w) for w in re.findall(r"^\d\. Worth (\d\.\d\d)\.", err, re.MULTILINE)]
    assert len(worths) == 4
    assert min(worths) > 0.7
    assert "One key" in err
    assert "mate in" in pypdf.PdfReader(sheet).pages[0].extract_text()
    _, again, _ = run(
        "worksheet", str(finds), "--best", "4", "--out", str(sheet), "--json", capsys=capsys
    )
    assert json.loads(again)["fens"] == json.loads(out)["fens"]


def test_a_line_of_ten_megabytes_costs_itself_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    finds = tmp_path / "finds.jsonl"
    find = {"fen": BACK_RANK, "kind": "missed", "moves": 1, "keys": ["e1e8"], "line": ["Re8#"]}
    source = {"source": {"file": "a.pgn", "white": "y" * 10_000_000}, "game": 1, "ply": 3}
    good = {"source": {"file": "a.pgn"}, "game": 2, "ply": 3}
    finds.write_text(f"{json.dumps(find | source)}\n{json.dumps(find | good)}\n")
    code, out, err = run("casebook", "add", str(finds), capsys=capsys)
    assert code == 0
    assert out.startswith("1 read: 1 new positions")
    assert err == f"flightless: {finds}, line 1: the line has more than 1 MB\n"


@pytest.mark.parametrize("name", ["some.epd", "some.pgn", "some.jsonl"])
def test_text_in_utf_16_is_named(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    path.write_text(f"{BACK_RANK}\n", encoding="utf-16")
    for command in (("casebook", "add"), ("casebook", "import"), ("worksheet",)):
        code, _, err = run(*command, str(path), capsys=capsys)
        assert code == 2
        assert "is text in UTF-16; save it as UTF-8" in err


LIMITED = """
import resource, signal, sys
from flightless.cli import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (33_000, resource.RLIM_INFINITY))
main()
"""


@pytest.mark.skipif(os.name != "posix", reason="limits of file sizes are POSIX's")
def test_a_full_disk_leaves_no_half_of_a_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = tmp_path / "some.fen"
    lines.write_text(f"{BACK_RANK}\n{TWO_KEYS}\n")
    run("casebook", "add", str(GAMES), capsys=capsys)
    for out, *command in (
        (tmp_path / "sheet.pdf", "worksheet", str(lines)),
        (tmp_path / "all.jsonl", "casebook", "export"),
    ):
        out.write_text("what was there before")
        full = subprocess.run(
            [sys.executable, "-c", LIMITED, *command, "--out", str(out)],
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert full.returncode == 2, full.stderr
        assert f"{out} cannot be written: " in full.stderr
        assert out.read_text() == "what was there before"
        assert not out.with_name(out.name + ".part").exists()
