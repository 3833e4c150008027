"""The second opinion: our own server as somebody's engine, and small programs that misbehave.

The referee for what is said of a proof is python-chess; the programs below are told what to say.
"""

from __future__ import annotations

import json
import os
import sys
import textwrap
import time
from pathlib import Path

import chess
import pytest

from commands import run
from flightless.certify.brute import keys_within
from flightless.prove import prove
from flightless.uci import opinion as second
from flightless.uci.opinion import Adviser, AdviserError, Opinion, difference
from flightless.words.second_opinion import opinion_text

OURS = f'{sys.executable} -c "from flightless.cli import main; main()" uci'
MATE_IN_3 = "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"
BACK_RANK = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"


def program(folder: Path, body: str) -> str:
    """An executable Python script."""
    file = folder / "engine of a friend"
    file.write_text(f"#!{sys.executable}\nimport os, sys, time\n" + textwrap.dedent(body))
    file.chmod(0o755)
    return str(file)


def speaking(folder: Path, answer: str) -> str:
    """A program that speaks UCI and answers every `go` with these lines."""
    return program(
        folder,
        f"""
        for line in sys.stdin:
            word = line.split()[0] if line.split() else ""
            if word == "uci":
                print("id name Parrot\\nuciok", flush=True)
            elif word == "isready":
                print("readyok", flush=True)
            elif word == "go":
                {answer}
            elif word == "quit":
                break
        """,
    )


def says(*lines: str) -> str:
    return f"print({chr(10).join(lines)!r}, flush=True)"


def is_alive(pid: int) -> bool:
    """Whether a process is there and not merely waiting to be counted out."""
    try:
        os.kill(pid, 0)
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (ProcessLookupError, FileNotFoundError):
        return False
    return state not in "ZX"


def wait_until_gone(pid: int) -> None:
    for _ in range(100):
        if not is_alive(pid):
            return
        time.sleep(0.05)
    pytest.fail(f"process {pid} is still there")


def test_our_own_server_agrees_with_us(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run("prove", MATE_IN_3, "--ask", OURS, capsys=capsys)
    assert code == 0
    assert "flightless:" not in err
    last = out.splitlines()[-1]
    assert last.startswith("The engine Flightless ")
    assert " says: mate in 3 by 1.Qh6 (in " in last
    assert last.endswith(" s).")


def test_many_positions_and_the_environment(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLIGHTLESS_ENGINE", OURS)
    file = tmp_path / "positions.fen"
    file.write_text(f"{MATE_IN_3}\n{BACK_RANK}\n")
    code, out, _ = run("prove", str(file), "--json", capsys=capsys)
    assert code == 0
    documents = [json.loads(line) for line in out.splitlines()]
    for document, moves in zip(documents, (3, 2), strict=True):
        said = document["second_opinion"]
        assert (said["moves"], said["differs"]) == (moves, None)
        assert said["move"] in document["keys"]


def test_its_word_alters_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    liar = speaking(tmp_path, says("info depth 9 score mate 1 pv e2e8", "bestmove e2e8"))
    _, alone, _ = run("prove", BACK_RANK, "--json", capsys=capsys)
    code, beside, _ = run("prove", BACK_RANK, "--json", "--ask", liar, capsys=capsys)
    document = json.loads(beside)
    said = document.pop("second_opinion")
    assert code == 0
    assert document == json.loads(alone)
    assert said["differs"] == "length"
    assert said["engine"] == "Parrot"
    _, out, _ = run("prove", BACK_RANK, "--ask", liar, capsys=capsys)
    assert "The engine Parrot says: mate in 1 by 1.Re8+ (in " in out
    assert out.endswith("That cannot be: the proof says otherwise. Only the proof counts.\n")


WORDS = {
    "no mate": (
        BACK_RANK,
        ("info depth 3 score cp 40 pv g1h2", "bestmove g1h2"),
        "no mate (in ",
        "That is not what is proved.",
    ),
    "other side": (
        BACK_RANK,
        ("info depth 3 score mate -2 pv g1h2", "bestmove g1h2"),
        "mated in 2 (in ",
        "That cannot be",
    ),
    "first move": (
        BACK_RANK,
        ("info depth 3 score mate 2 pv g1h2", "bestmove g1h2"),
        "mate in 2 by 1.Kh2 (in ",
        "not among the first moves that are proved",
    ),
    "unproved": (
        chess.STARTING_FEN,
        ("info depth 3 score mate 30 pv e2e4", "bestmove e2e4"),
        "mate in 30 by 1.e4 (in ",
        "say --within 30",
    ),
    "no rubbish": (
        BACK_RANK,
        ("hello there", "info depth x score mate 2", "info score mate 2 pv e2e8", "bestmove e2e8"),
        "mate in 2 by 1.Re8+ (in ",
        "s).",
    ),
}


@pytest.mark.parametrize("what", WORDS)
def test_where_the_two_differ_it_is_said(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fen, lines, word, remark = WORDS[what]
    engine = speaking(tmp_path, says(*lines))
    code, out, err = run("prove", fen, "--within", "2", "--ask", engine, capsys=capsys)
    assert code == 0
    assert "flightless:" not in err
    assert word in out
    assert remark in out.splitlines()[-1]


def test_differences_by_the_rules_of_logic() -> None:
    board = chess.Board(BACK_RANK)
    proof = prove(board, within=2)
    assert list(proof.keys) == keys_within(board, 2)
    assert difference(proof, Opinion("A", 2, proof.keys[0], 0.1)) is None
    assert difference(proof, Opinion("A", 2, None, 0.1)) is None
    assert difference(proof, Opinion("A", 3, proof.keys[0], 0.1)) == "length"
    assert difference(proof, Opinion("A", None, None, 0.1)) == "no mate"
    none = prove(chess.Board(), within=1)
    assert difference(none, Opinion("A", None, None, 0.1)) is None
    within = Opinion("A", 1, None, 0.1)
    assert difference(none, within) == "unproved"
    assert "there is no mate within one move" in opinion_text(none, within)
    undecided = prove(chess.Board(), within=5, budget=10)
    assert difference(undecided, Opinion("A", 4, None, 0.1)) == "unfinished"


REFUSED = {
    "silent": ("time.sleep(600)", "does not speak UCI: no 'uciok'"),
    "ends at once": ("sys.exit(3)", "does not speak UCI: it ended without 'uciok'"),
    "rubbish": (
        "sys.stdout.buffer.write(bytes(range(256)) * 100); sys.stdout.flush(); time.sleep(600)",
        "does not speak UCI",
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_program_that_is_no_engine(
    what: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    body, clause = REFUSED[what]
    note = tmp_path / "pid"
    file = program(tmp_path, f"open({str(note)!r}, 'w').write(str(os.getpid()))\n{body}\n")
    monkeypatch.setattr(second.Adviser.__init__, "__defaults__", (1.0,))
    code, out, err = run("prove", BACK_RANK, "--ask", file, capsys=capsys)
    assert code == 2
    assert out == ""
    assert err.count("\n") == 1
    assert clause in err
    assert "engine of a friend" in err
    wait_until_gone(int(note.read_text()))


FAILING = {
    "dies": ("sys.exit(1)", "ended of its own accord"),
    "hangs": ("time.sleep(600)", "does not answer"),
    "illegal": ('print("bestmove a1a1", flush=True)', "broke the protocol"),
}


@pytest.mark.parametrize("what", FAILING)
def test_an_engine_that_fails_costs_its_own_word_alone(
    what: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    answer, clause = FAILING[what]
    monkeypatch.setattr(second, "_GRACE", 0.5)
    engine = speaking(tmp_path, answer)
    file = tmp_path / "positions.fen"
    file.write_text(f"{BACK_RANK}\n{BACK_RANK}\n")
    arguments = ("prove", str(file), "--seconds", "0.5", "--ask", engine)
    code, out, err = run(*arguments, capsys=capsys)
    assert code == 2
    assert out.count("The only first move is 1.Re8+") == 2  # our answers are there
    assert "The engine" not in out
    assert err.count("\n") == 1
    assert clause in err


@pytest.mark.parametrize(
    ("name", "clause"),
    [
        ("no such program", "there is no program 'no such program'"),
        ("/", "is a folder"),
        (__file__, "is not a program that can be run"),
        ("'unclosed", "there is no program"),
        (" ", "no program is named"),
    ],
)
def test_a_path_that_is_no_program(
    name: str, clause: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run("prove", BACK_RANK, "--ask", name, capsys=capsys)
    assert code == 2
    assert out == ""
    assert clause in err
    assert err.count("\n") == 1


def test_a_program_that_the_system_cannot_load(tmp_path: Path) -> None:
    file = tmp_path / "engine"
    file.write_bytes(b"\x7fELF but not really")
    file.chmod(0o755)
    with pytest.raises(AdviserError, match="cannot be started"):
        Adviser(str(file))


def test_no_shell_reads_the_command(tmp_path: Path) -> None:
    trace = tmp_path / "trace"
    with pytest.raises(AdviserError):
        Adviser(f"true; touch {trace}")
    with pytest.raises(AdviserError):
        Adviser(f"{sys.executable} -c 'import sys; sys.exit()' ; touch {trace}", greeting=20)
    assert not trace.exists()


def test_nothing_is_left_running(tmp_path: Path) -> None:
    """Neither an engine that will not quit, nor what it has started itself."""
    note = tmp_path / "pids"
    engine = program(
        tmp_path,
        f"""
        import signal, subprocess
        child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
        open({str(note)!r}, "w").write(f"{{os.getpid()}} {{child.pid}}")
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        for line in sys.stdin:
            if line.strip() == "uci":
                print("uciok", flush=True)
        time.sleep(600)
        """,
    )
    with Adviser(engine):
        pids = [int(pid) for pid in note.read_text().split()]
        assert all(map(is_alive, pids))
    for pid in pids:
        wait_until_gone(pid)
