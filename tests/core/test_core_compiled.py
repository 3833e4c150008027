"""The cache of machine code: where it lies, when it is stale, what happens when it is barred.

Whole processes are started, each with a cache folder of its own.  Nothing here is measured.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import chess
import pytest

from flightless.core import attacks, compiled
from flightless.core.state import encode

SOURCE = Path(compiled.__file__).resolve().parents[2]

ASK = """
import chess
from flightless.core import compiled
compiled.on_compile(lambda: print("compiles"))
compiled.on_notice(lambda text: print("notice:", text))
from flightless.core import boards
after = boards.after(chess.Board(), chess.Move.from_uci("e2e4"))
print(after.board_fen())
print("warm" if compiled.is_warm() else "not warm")
"""
ANSWER = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR"


def ask(cache: Path, program: str = ASK) -> list[str]:
    """The lines that a process with this cache folder prints; nothing may go to stderr."""
    environment = dict(os.environ, FLIGHTLESS_CACHE=str(cache), PYTHONPATH=str(SOURCE))
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder after a first process, which had to compile."""
    folder = tmp_path_factory.mktemp("cache")
    assert ask(folder) == ["compiles", ANSWER, "not warm"]
    return folder


def test_second_process_compiles_nothing(filled: Path) -> None:
    assert ask(filled) == [ANSWER, "not warm"]


def test_arrays_are_taken_by_code_from_disk(tmp_path: Path) -> None:
    """Machine code that takes arrays needs numba's run-time system, compiled or loaded."""
    program = (
        "from flightless.core.games import scan_text\n"
        "print([part.is_mate(0) for part in scan_text(b'1. f3 e5 2. g4 Qh4# 0-1')])"
    )
    assert [ask(tmp_path, program) for _ in range(2)] == [["[True]"]] * 2


def test_each_function_is_compiled_once(filled: Path) -> None:
    """A second copy of a function means that an argument had a wrong type somewhere."""
    copies = [path.name for path in filled.rglob("*.nbc") if not path.name.endswith(".1.nbc")]
    assert copies == []


def test_damaged_file_is_compiled_anew(filled: Path) -> None:
    (file,) = filled.rglob("boards._play*.1.nbc")
    file.write_bytes(file.read_bytes()[:1000])
    first, second, *rest = ask(filled)
    assert first.startswith("notice: A file of compiled code in ")
    assert " is damaged " in first
    assert [second, *rest] == ["compiles", ANSWER, "not warm"]
    assert ask(filled) == [ANSWER, "not warm"]


def test_folder_that_cannot_be_written(tmp_path: Path) -> None:
    """A file stands where the folder should be: even an administrator cannot write there."""
    (tmp_path / "file").write_text("in the way")
    lines = ask(tmp_path / "file" / "cache")
    notices = [line for line in lines if line.startswith("notice:")]
    assert len(notices) == 1
    assert "cannot be" in notices[0]
    assert [line for line in lines if line not in notices] == ["compiles", ANSWER, "not warm"]


PREPARE = """
import chess
from flightless.core import compiled
compiled.prepare(lambda text: print("said:", text))
from flightless.core import boards
print(boards.after(chess.Board(), chess.Move.from_uci("e2e4")).board_fen())
"""


def test_barred_folder_is_said_once_by_prepare(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    notice, compiling, answer = ask(tmp_path / "file", PREPARE)
    assert notice.startswith("said: The folder ")
    assert "cannot be written" in notice
    assert compiling == "said: Compiling what this needs; some seconds."
    assert answer == ANSWER


@pytest.mark.parametrize(
    ("variables", "expected"),
    [
        ({"FLIGHTLESS_CACHE": "here"}, Path("here")),
        ({"XDG_CACHE_HOME": "there"}, Path("there") / "flightless"),
        ({"HOME": os.path.join(os.sep, "home", "anna")}, Path("/home/anna/.cache/flightless")),
    ],
)
def test_where_the_cache_lies(
    monkeypatch: pytest.MonkeyPatch, variables: dict[str, str], expected: Path
) -> None:
    """`$XDG_CACHE_HOME`, else `~/.cache`: freedesktop.org's XDG Base Directory Specification."""
    for name in ("FLIGHTLESS_CACHE", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert compiled.cache_root() == expected


def test_key_follows_the_sources(tmp_path: Path) -> None:
    first, second = tmp_path / "core" / "a.py", tmp_path / "prove" / "kernels.py"
    for path in (first, second):
        path.parent.mkdir()
        path.write_text("1")
    before = compiled.source_key("core", tmp_path), compiled.source_key("prove", tmp_path)
    second.write_text("2")
    after = compiled.source_key("core", tmp_path), compiled.source_key("prove", tmp_path)
    assert before[0] == after[0], "the core does not depend on the kernels of other rooms"
    assert before[1] != after[1]
    first.write_text("2")
    last = compiled.source_key("core", tmp_path), compiled.source_key("prove", tmp_path)
    assert last[0] != after[0]
    assert last[1] != after[1]


def test_compiled_function_elsewhere_is_refused() -> None:
    def stray(x: int) -> int:
        return x

    with pytest.raises(ValueError, match=r"test_core_compiled\.py holds a compiled function"):
        compiled.jit(stray)


def test_old_machine_code_is_removed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FLIGHTLESS_CACHE", str(tmp_path))
    ours = compiled.cache_folder("core")
    stranger = tmp_path / "notes"
    for number, folder in enumerate([tmp_path / f"core-{i:02}" for i in range(9)]):
        folder.mkdir()
        os.utime(folder, (number, number))
    for folder in (ours, stranger):
        folder.mkdir()
        os.utime(folder, (0, 0))
    compiled.prune()
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {ours.name, "notes"} | {f"core-{i:02}" for i in range(3, 9)}


SMALL = """
from flightless.core import boards, compiled
compiled._import_kernels = lambda: None
compiled._entries[:] = [pair for pair in compiled._entries if pair[0] is boards._play]
compiled.on_compile(lambda: print("compiles"))
"""


def test_warming_compiles_what_is_registered_and_leaves_word(tmp_path: Path) -> None:
    """With one registered function instead of all."""
    program = SMALL + (
        "compiled._start_helper = lambda: None\n"
        "compiled.warm(lambda done, total, name: print(done, total, name))\n"
        "print(compiled.is_warm(), compiled.expected_seconds() >= 1)\n"
        "compiled.prepare(print)\n"
    )
    assert ask(tmp_path, program) == ["0 1 _play", "compiles", "True True"]
    assert ask(tmp_path, program) == ["0 1 _play", "True True"]
    assert ask(tmp_path) == [ANSWER, "warm"]


def test_helper_process_fills_the_same_cache(tmp_path: Path) -> None:
    assert ask(tmp_path, SMALL + "compiled.compile_from_back()") == ["compiles"]
    assert ask(tmp_path, SMALL + "compiled.compile_from_back()") == []


def test_inner_functions_refuse_python_callers() -> None:
    with pytest.raises(TypeError, match="in_check is for compiled functions only"):
        attacks.in_check(encode(chess.Board()))
