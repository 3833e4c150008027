"""Harvests that are interrupted, killed, or out of disk, and go on; duplicates; crews."""

from __future__ import annotations

import errno
import gzip
import importlib.util
import json
import os
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from flightless.errors import FileError, UsageError
from flightless.harvest import journal
from flightless.harvest.records import BadFile, BadGame, Limits, Progress, record_document
from flightless.harvest.run import harvest
from flightless.harvest.saving import harvest_to

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples" / "harbour-street"
SOURCE = HERE.parents[1] / "src"


def many(folder: Path, copies: int) -> str:
    """A file of the examples over and over: duplicates, bad games and all."""
    names = ("classics.pgn", "club-2026.pgn", "drawer-1.pgn")
    text = b"\n".join((EXAMPLES / name).read_bytes() for name in names)
    path = folder / f"many-{copies}.pgn"
    path.write_bytes(b"\n".join([text] * copies))
    return str(path)


def documents(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


def straight(paths: list[str]) -> list[dict[str, Any]]:
    """The finds of an uninterrupted harvest in this process."""
    items = harvest(paths)
    return [record_document(i) for i in items if not isinstance(i, BadGame | BadFile)]


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, list[dict[str, Any]]]:
    """A file of 1,200 games, and its finds."""
    path = many(tmp_path_factory.mktemp("big"), 20)
    return path, straight([path])


# --- going on ---------------------------------------------------------------------------------


def test_a_harvest_in_one_go(tmp_path: Path) -> None:
    path = many(tmp_path, 2)
    out = tmp_path / "deep" / "finds.jsonl"
    bad: list[BadGame | BadFile] = []
    progress = harvest_to(out, [path], on_bad=bad.append, jobs=1)
    assert documents(out) == straight([path])
    assert (progress.games, progress.bad, len(bad)) == (114, 6, 6)
    assert progress.finds == len(documents(out))
    assert [item.name for item in out.parent.iterdir()] == ["finds.jsonl"]


@pytest.mark.parametrize("packed", [False, True])
def test_interrupted_anywhere_nothing_is_lost_or_doubled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, packed: bool
) -> None:
    """Stopped after every step in turn, a harvest of two files ends like one in one go."""
    monkeypatch.setattr("flightless.harvest.run.CHUNK", 4000)
    monkeypatch.setattr("flightless.harvest.run._SMALLEST_CHUNK", 4000)
    paths = [many(tmp_path, 1), str(EXAMPLES / "club-2026.pgn")]
    if packed:
        data = Path(paths[0]).read_bytes()
        paths[0] += ".gz"
        Path(paths[0]).write_bytes(gzip.compress(data))
    out = tmp_path / "finds.jsonl"
    bad: list[BadGame | BadFile] = []
    stops = 0
    seen = [0]

    def stop(progress: Progress) -> None:
        if progress.games + progress.bad > seen[0]:
            seen[0] = progress.games + progress.bad
            raise KeyboardInterrupt

    while True:
        try:
            progress = harvest_to(out, paths, on_progress=stop, on_bad=bad.append, jobs=1)
            break
        except KeyboardInterrupt:
            stops += 1
            # What a killed process may have left half written goes.
            with out.open("ab") as file:
                file.write(b'{"half a li')
            with (tmp_path / "finds.jsonl.unfinished" / "journal").open("ab") as file:
                file.write(b'{"mark": {"fi')
    assert stops >= 6
    assert documents(out) == straight(paths)
    assert (progress.games, progress.bad, len(bad)) == (81, 3, 3)
    assert progress.same_games == 24


def test_lines_and_numbers_hold_after_going_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flightless.harvest.run.CHUNK", 3000)
    monkeypatch.setattr("flightless.harvest.run._SMALLEST_CHUNK", 3000)
    path = many(tmp_path, 1)
    lines = Path(path).read_text("utf-8").splitlines()
    for item in harvest([path]):
        if isinstance(item, BadGame):
            assert lines[item.line - 1]
        elif not isinstance(item, BadFile):
            assert lines[item.source.line - 1] == f'[Event "{item.source.event}"]'


def run(jobs: int, out: Path, path: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(HERE / "saved_run.py"), str(jobs), str(out), path],
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def steps_of(process: subprocess.Popen[str]) -> Iterator[int]:
    assert process.stdout is not None
    for line in process.stdout:
        yield int(line)


@pytest.mark.parametrize(
    ("jobs", "how"), [(1, signal.SIGKILL), (2, signal.SIGKILL), (2, signal.SIGINT)]
)
def test_killed_and_begun_again(
    tmp_path: Path, big: tuple[str, list[dict[str, Any]]], jobs: int, how: signal.Signals
) -> None:
    path, expected = big
    out = tmp_path / "finds.jsonl"
    process = run(jobs, out, path)
    for games in steps_of(process):
        if games:
            process.send_signal(how)
            break
    rest, said = process.communicate()
    if how == signal.SIGINT:
        assert process.returncode == 130
        assert "Traceback" not in said
    if process.returncode != 0:  # else it was quicker than the signal
        assert (tmp_path / "finds.jsonl.unfinished").is_dir()
    first = []
    progress = harvest_to(out, [path], on_progress=first.append, jobs=1)
    assert documents(out) == expected
    assert progress.games == 57 * 20
    if process.returncode != 0:
        assert first[0].games > 0  # it did go on
    del rest


def test_two_harvests_into_one_file(tmp_path: Path) -> None:
    path = many(tmp_path, 1)
    out = tmp_path / "finds.jsonl"
    refused = []

    def meanwhile(progress: Progress) -> None:
        del progress
        with pytest.raises(UsageError, match="another harvest is writing"):
            harvest_to(out, [path], jobs=1)
        refused.append(True)

    harvest_to(out, [path], on_progress=meanwhile, jobs=1)
    assert refused
    assert documents(out) == straight([path])


def interrupt(progress: Progress) -> None:
    if progress.games:
        raise KeyboardInterrupt


def test_an_unfinished_harvest_of_something_else_is_not_thrown_away(tmp_path: Path) -> None:
    path, other = many(tmp_path, 1), str(EXAMPLES / "club-2026.pgn")
    out = tmp_path / "finds.jsonl"
    with pytest.raises(KeyboardInterrupt):
        harvest_to(out, [path], on_progress=interrupt, jobs=1)
    with pytest.raises(UsageError, match="unfinished harvest of other files"):
        harvest_to(out, [other], jobs=1)
    with pytest.raises(UsageError, match="unfinished harvest of other limits"):
        harvest_to(out, [path], Limits(full=3), jobs=1)
    harvest_to(out, [other], jobs=1, fresh=True)
    assert documents(out) == straight([other])


def test_a_file_that_changed_is_another_file(tmp_path: Path) -> None:
    path = many(tmp_path, 1)
    out = tmp_path / "finds.jsonl"
    with pytest.raises(KeyboardInterrupt):
        harvest_to(out, [path], on_progress=interrupt, jobs=1)
    with Path(path).open("ab") as file:
        file.write(b"\n\n1. e4 e5 *\n")
    with pytest.raises(UsageError, match="other files"):
        harvest_to(out, [path], jobs=1)


def test_output_that_was_tampered_with(tmp_path: Path) -> None:
    path = many(tmp_path, 1)
    out = tmp_path / "finds.jsonl"
    with pytest.raises(KeyboardInterrupt):
        harvest_to(out, [path], on_progress=interrupt, jobs=1)
    out.write_bytes(b"")
    with pytest.raises(UsageError, match="is shorter than"):
        harvest_to(out, [path], jobs=1)


def test_disk_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Writing fails at one point after the other; each time the message says that it goes on,
    and after the last so it does."""
    monkeypatch.setattr("flightless.harvest.run.CHUNK", 4000)
    monkeypatch.setattr("flightless.harvest.run._SMALLEST_CHUNK", 4000)
    path = many(tmp_path, 1)
    out = tmp_path / "finds.jsonl"
    sync = journal._synced
    for room in range(3, 30, 4):
        left = [room]

        def full(file: Any, left: list[int] = left) -> None:
            left[0] -= 1
            if left[0] < 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            sync(file)

        monkeypatch.setattr(journal, "_synced", full)
        with pytest.raises(FileError, match=r"No space left.*the same command goes on"):
            harvest_to(out, [path], jobs=1, fresh=True)
    monkeypatch.setattr(journal, "_synced", sync)
    harvest_to(out, [path], jobs=1)
    assert documents(out) == straight([path])


def test_nothing_to_harvest(tmp_path: Path) -> None:
    empty = tmp_path / "empty.pgn"
    empty.touch()
    out = tmp_path / "finds.jsonl"
    with pytest.raises(FileError, match="is empty"):
        harvest_to(out, [str(empty)], jobs=1)
    assert out.read_bytes() == b""
    with pytest.raises(FileError, match="cannot be written"):
        harvest_to(empty / "finds.jsonl", [str(EXAMPLES / "club-2026.pgn")], jobs=1)


# --- met before -------------------------------------------------------------------------------


def test_games_and_positions_met_before_are_marked(tmp_path: Path) -> None:
    path = many(tmp_path, 2)
    finds = straight([path])
    half = len(finds) // 2
    first, second = finds[:half], finds[half:]
    assert not any("same_game" in find for find in first)
    assert all(find["repeated"] for find in second)
    for one, other in zip(first, second, strict=True):
        assert other["same_game"] == {"file": path, "game": one["game"]}
        assert (one["fen"], one["kind"], one["line"]) == (
            other["fen"],
            other["kind"],
            other["line"],
        )
    # Légal's mate comes twice among different games: the positions differ, the games too.
    again = Counter(find["fen"].rsplit(" ", 2)[0] + find["kind"] for find in first)
    assert sum(bool(find.get("repeated")) for find in first) == sum(again.values()) - len(again)


def test_same_moves_of_other_players_are_another_game(tmp_path: Path) -> None:
    moves = "1. e4 e5 2. Qh5 Nc6 3. Bc4 Nf6 4. Qxf7# 1-0\n\n"
    path = tmp_path / "two.pgn"
    path.write_text(
        f'[Event "A"]\n[White "Moth"]\n[Black "Owl"]\n\n{moves}'
        f'[Event "B"]\n[White "Owl"]\n[Black "Moth"]\n\n{moves}'
        f'[Event "C"]\n[White "moth"]\n[Black "Owl, B."]\n\n{moves}',
        encoding="utf-8",
    )
    first, second, third = straight([str(path)])
    assert "same_game" not in second
    assert second["repeated"]
    assert third["same_game"]["game"] == first["game"] == 1


# --- crews ------------------------------------------------------------------------------------


def test_two_processes_find_what_one_finds(big: tuple[str, list[dict[str, Any]]]) -> None:
    path, expected = big
    items = harvest([path], jobs=2)
    finds = [record_document(i) for i in items if not isinstance(i, BadGame | BadFile)]
    assert finds == expected


def test_no_cluster_there() -> None:
    if importlib.util.find_spec("distributed") is None:
        pytest.skip("the optional package 'distributed' is not installed")
    script = (
        "import sys\n"
        "from flightless.errors import UsageError\n"
        "from flightless.harvest.run import harvest\n"
        "try:\n"
        "    list(harvest(sys.argv[1:], cluster='nowhere://x'))\n"
        "except UsageError as error:\n"
        "    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(EXAMPLES / "club-2026.pgn")],
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "no cluster answers at 'nowhere://x'" in done.stdout


def test_cluster_that_loses_a_worker(tmp_path: Path, big: tuple[str, list[dict[str, Any]]]) -> None:
    if importlib.util.find_spec("distributed") is None:
        pytest.skip("the optional package 'distributed' is not installed")
    path, expected = big
    out = tmp_path / "finds.jsonl"
    done = subprocess.run(
        [sys.executable, str(HERE / "cluster_with_a_loss.py"), str(out), path],
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == f"{57 * 20} games, 1 worker killed"
    assert documents(out) == expected


# --- Parquet ----------------------------------------------------------------------------------


def test_parquet_has_what_the_json_has(tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    path = many(tmp_path, 2)
    out = tmp_path / "finds.parquet"
    with pytest.raises(KeyboardInterrupt):
        harvest_to(out, [path], on_progress=interrupt, jobs=1)
    assert not out.exists()
    harvest_to(out, [path], jobs=1)
    assert sorted(item.name for item in tmp_path.iterdir()) == ["finds.parquet", "many-2.pgn"]
    rows = parquet.read_table(out).to_pylist()
    assert [{k: v for k, v in row.items() if v is not None} for row in rows] == straight([path])
