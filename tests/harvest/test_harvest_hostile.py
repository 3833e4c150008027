"""Files that break off, are written in other letters, or are monstrous: what is harvested of them.

Everything here goes the whole way, through the compiled reader; what the line-by-line reader
does alone is in test_harvest_reader.  Game counts are python-chess's where they are not evident.
"""

from __future__ import annotations

import gzip
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import chess.pgn
import pytest

from flightless.harvest.records import BadFile, BadGame, Progress, Record, record_document
from flightless.harvest.run import harvest

ROOT = Path(__file__).parents[2]
CLUB = (ROOT / "examples" / "harbour-street" / "club-2026.pgn").read_bytes().rstrip() + b"\n\n"
CLASSICS = (ROOT / "examples" / "harbour-street" / "classics.pgn").read_bytes()
TAGS = '[Event "A"]\n[White "X"]\n[Black "Y"]\n[Result "0-1"]\n\n'
MATE = "1. f3 e5 2. g4 Qh4# 0-1"
GOOD = f"{TAGS}{MATE}\n\n"


def harvested(path: Path) -> tuple[list[Record], list[BadGame | BadFile], int]:
    """The finds, what was skipped, and how many games were read."""
    seen: list[Progress] = []
    items = list(harvest([str(path)], on_progress=seen.append))
    finds = [item for item in items if isinstance(item, Record)]
    return finds, [i for i in items if isinstance(i, BadGame | BadFile)], seen[-1].games


def placed(finds: list[Record]) -> list[dict[str, Any]]:
    """The documents of finds, apart from the name of the file."""
    found = []
    for find in finds:
        document = record_document(find)
        document["source"].pop("file")
        document.pop("same_game", None)
        document.pop("repeated", None)
        found.append(document)
    return found


def whole_games(text: bytes) -> int:
    """By python-chess: how many games stand before the last one that begins."""
    stream = io.StringIO(text.decode("utf-8", "ignore"))
    games = 0
    while chess.pgn.read_game(stream) is not None:
        games += 1
    return games - 1


@pytest.mark.parametrize("kind", ["gz", "zst"])
@pytest.mark.parametrize("keep", [0.4, 0.62, 0.95])
def test_games_before_an_archive_breaks_off(tmp_path: Path, kind: str, keep: float) -> None:
    """All but the one that it breaks off in, and nothing is said of that one."""
    text = CLUB + CLASSICS
    if kind == "gz":
        packed = gzip.compress(text)
    else:
        zstandard = pytest.importorskip("zstandard")
        packer = zstandard.ZstdCompressor().compressobj()
        packed = b"".join(
            packer.compress(text[at : at + 2000]) + packer.flush(zstandard.COMPRESSOBJ_FLUSH_BLOCK)
            for at in range(0, len(text), 2000)
        )
        packed += packer.flush()
    packed = packed[: int(len(packed) * keep)]
    there = unpacked(packed, kind)
    assert 2000 < len(there) < len(text)
    path = tmp_path / f"games.pgn.{kind}"
    path.write_bytes(packed)
    finds, skipped, games = harvested(path)
    assert games == whole_games(there) > 3
    assert [str(fault) for fault in skipped] == [f"{path}: the archive breaks off before its end"]
    plain = tmp_path / "games.pgn"
    plain.write_bytes(there[: there.rindex(b"[Event ")])
    assert placed(finds) == placed(harvested(plain)[0])
    assert finds


def unpacked(packed: bytes, kind: str) -> bytes:
    """What can be unpacked of an archive that breaks off, by the libraries themselves."""
    if kind == "gz":
        import zlib

        return zlib.decompressobj(16 + zlib.MAX_WBITS).decompress(packed)
    import zstandard

    return zstandard.ZstdDecompressor().decompressobj().decompress(packed)


def test_games_without_tags_before_an_archive_breaks_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flightless.harvest.run.CHUNK", 2000)
    monkeypatch.setattr("flightless.harvest.run._SMALLEST_CHUNK", 2000)
    path = tmp_path / "games.pgn.gz"
    text = "".join(f"1. f3 e5 2. g4 {{{n:09}}} Qh4# 0-1\n\n" for n in range(1000)).encode()
    packed = gzip.compress(text)[:-200]
    path.write_bytes(packed)
    finds, skipped, games = harvested(path)
    whole = unpacked(packed, "gz").count(b"0-1\n\n1.")
    assert 500 < whole < 1000
    assert games == len(finds) == whole
    assert [type(fault) for fault in skipped] == [BadFile]


@pytest.mark.parametrize(
    ("encoding", "says"),
    [
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16"),
        ("utf-16-be", "UTF-16"),
        ("utf-32", "UTF-32"),
    ],
)
def test_wide_letters_are_named(tmp_path: Path, encoding: str, says: str) -> None:
    path, good = tmp_path / "games.pgn", tmp_path / "good.pgn"
    path.write_bytes(CLUB.decode().encode(encoding))
    good.write_text(GOOD)
    items = list(harvest([str(path), str(good)]))
    assert str(items[0]) == f"{path} is text in {says}; save it as UTF-8"
    assert [type(item) for item in items[1:]] == [Record]


def test_latin_1_and_utf_8_names(tmp_path: Path) -> None:
    path = tmp_path / "games.pgn"
    game = GOOD.replace('"X"', '"Grünfeld"')
    path.write_bytes(game.encode("latin-1") + game.encode())
    finds, _, _ = harvested(path)
    assert [find.source.white for find in finds] == ["Grünfeld", "Grünfeld"]


def test_one_line_of_ten_megabytes(tmp_path: Path) -> None:
    """In a comment, in a tag, and as no game at all: the games around it are read."""
    path = tmp_path / "games.pgn"
    wide = "x" * 10_000_000
    comment = f"{TAGS}1. f3 {{{wide}}} e5 2. g4 Qh4# 0-1\n\n"
    tag = f'[Event "{wide}"]\n[Result "0-1"]\n\n{MATE}\n\n'
    path.write_text(f"{wide}\n\n{GOOD}{comment}{tag}{GOOD}")
    finds, skipped, games = harvested(path)
    assert games == 4
    assert [find.fen for find in finds] == [finds[0].fen] * 4
    assert len(skipped) == 1
    assert isinstance(skipped[0], BadGame)
    assert "no move" in skipped[0].reason
    assert len(str(skipped[0])) < 300
    assert all(len(json.dumps(record_document(find))) < 5000 for find in finds)


@pytest.mark.parametrize("closed", [True, False])
def test_variations_nested_thousands_deep(tmp_path: Path, closed: bool) -> None:
    path = tmp_path / "games.pgn"
    deep = "(1. d4 " * 50_000 + (")" * 50_000 if closed else "")
    path.write_text(f"{TAGS}1. f3 {deep} e5 2. g4 Qh4# 0-1\n\n{GOOD}")
    finds, skipped, games = harvested(path)
    assert (games, len(finds)) == ((2, 2) if closed else (1, 1))
    assert [str(bad).split(": ", 1)[1] for bad in skipped] == (
        [] if closed else ["a variation is still open where the next game begins"]
    )


def test_a_game_of_two_thousand_plies(tmp_path: Path) -> None:
    path = tmp_path / "games.pgn"
    path.write_text(f"{TAGS}{'Nf3 Nf6 Ng1 Ng8 ' * 500}{MATE.split(' ', 1)[1]}\n\n{GOOD}")
    finds, skipped, games = harvested(path)
    assert (games, skipped) == (2, [])
    assert [find.ply for find in finds] == [2004, 4]


LIMITED = """
import resource, signal, sys
from flightless.cli import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, resource.RLIM_INFINITY))
sys.argv = ["flightless", "harvest", sys.argv[1], "--out", sys.argv[2]]
main()
"""


@pytest.mark.skipif(os.name != "posix", reason="limits of file sizes are POSIX's")
def test_a_disk_that_takes_no_more(tmp_path: Path) -> None:
    """The operating system itself refuses; then there is room again and the harvest goes on."""
    path, out = tmp_path / "games.pgn", tmp_path / "finds.jsonl"
    path.write_bytes(CLUB * 6)

    def run(code: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", code, str(path), str(out)],
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )

    full = run(LIMITED)
    assert full.returncode == 2, full.stderr
    assert f"{out} cannot be written: " in full.stderr
    assert "the same command goes on" in full.stderr
    assert "fault of the program" not in full.stderr
    again = run("\n".join(line for line in LIMITED.splitlines() if "FSIZE" not in line))
    assert again.returncode == 0, again.stderr
    lines = [json.loads(line) for line in out.read_text().splitlines()]
    assert lines == [
        record_document(item) for item in harvest([str(path)]) if isinstance(item, Record)
    ]
    assert not out.with_name("finds.jsonl.unfinished").exists()
