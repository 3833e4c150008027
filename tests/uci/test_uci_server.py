"""`flightless uci` against python-chess's engine client, its rules, and the protocol's text.

The protocol: 'Description of the universal chess interface (UCI)', April 2006 (from memory).
"""

from __future__ import annotations

import random
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import chess
import chess.engine
import pytest

from flightless.certify.brute import has_mate_within, keys_within, mated_within
from strategies import scatter

COMMAND = [sys.executable, "-c", "from flightless.cli import main; main()", "uci"]
MATE_IN_3 = "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"
QUIET = chess.STARTING_FEN


@pytest.fixture(scope="module")
def engine() -> Iterator[chess.engine.SimpleEngine]:
    with chess.engine.SimpleEngine.popen_uci(COMMAND, timeout=120) as client:
        client.ping()
        yield client
        client.quit()
        assert client.returncode.result(10) == 0


class Talk:
    """The protocol spoken by hand: lines out, lines in, with a limit of time."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.lines: list[str] = []

    def send(self, *lines: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write("".join(line + "\n" for line in lines))
        self.process.stdin.flush()

    def until(self, start: str) -> list[str]:
        """The lines up to the first that begins so."""
        assert self.process.stdout is not None
        found: list[str] = []
        while not (found and found[-1].startswith(start)):
            line = self.process.stdout.readline()
            assert line, f"the stream ended before {start!r}: {found}"
            found.append(line.rstrip("\n"))
        return found


@contextmanager
def talking() -> Iterator[Talk]:
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen(COMMAND, text=True, **pipes) as process:  # type: ignore[call-overload]
        watchdog = threading.Timer(120, process.kill)
        watchdog.start()
        try:
            yield Talk(process)
        finally:
            watchdog.cancel()
            process.kill()


def test_the_greeting_as_the_protocol_wants_it() -> None:
    with talking() as talk:
        talk.send("uci")
        lines = talk.until("uciok")
        assert lines[0].startswith("id name ")
        assert lines[1].startswith("id author ")
        assert all(line.startswith(("id ", "option name ")) for line in lines[:-1])
        talk.send("isready")
        assert talk.until("readyok") == ["readyok"]
        talk.send("quit")
        assert talk.process.wait(30) == 0
        assert talk.process.stdout is not None
        assert talk.process.stdout.read() == ""


def test_the_greeting_comes_before_anything_compiled_is_loaded() -> None:
    code = (
        "import io, sys, threading\n"
        "from flightless.uci.server import Server\n"
        "out = io.StringIO()\n"
        "Server(io.StringIO('uci\\nquit\\n'), out, lambda: None).serve()\n"
        "assert 'uciok' in out.getvalue()\n"
        "sys.exit('numba' in sys.modules)"
    )
    assert subprocess.call([sys.executable, "-c", code]) == 0


def test_options_are_announced_and_taken(engine: chess.engine.SimpleEngine) -> None:
    assert set(engine.options) == {"Hash", "Threads"}
    assert (engine.options["Threads"].min, engine.options["Threads"].max) == (1, 2)
    engine.configure({"Hash": 16, "Threads": 2})
    result = engine.play(chess.Board(MATE_IN_3), chess.engine.Limit(mate=3))
    engine.configure({"Hash": 128, "Threads": 1})
    assert result.move == chess.Move.from_uci("h4h6")


def test_a_mate_with_its_longest_defence(engine: chess.engine.SimpleEngine) -> None:
    board = chess.Board(MATE_IN_3)
    result = engine.play(board, chess.engine.Limit(mate=3), info=chess.engine.INFO_ALL)
    assert result.move == chess.Move.from_uci("h4h6")
    assert result.info["score"].white() == chess.engine.Mate(3)
    assert result.info["depth"] == 3
    assert {"nodes", "nps", "time"} <= set(result.info)
    assert_line_mates(board, result.info["pv"], 3)


def test_the_side_that_is_mated(engine: chess.engine.SimpleEngine) -> None:
    board = chess.Board(MATE_IN_3)
    board.push_uci("h4h6")
    info = engine.analyse(board, chess.engine.Limit(mate=5))
    assert info["score"].relative == chess.engine.Mate(-2)
    assert len(info["pv"]) == 4
    assert mated_within(board, 2)
    assert not mated_within(board, 1)


def assert_line_mates(board: chess.Board, line: list[chess.Move], moves: int) -> None:
    board = board.copy()
    assert len(line) == 2 * moves - 1
    for move in line:
        assert board.is_legal(move)
        board.push(move)
    assert board.is_checkmate()


def test_small_positions_against_brute_force(engine: chess.engine.SimpleEngine) -> None:
    """Mates of one and two moves, for either side, by python-chess's rules alone."""
    chance = random.Random(3)
    seen: set[int | None] = set()
    for _ in range(150):
        board = scatter(chance, 4, 18)
        if not any(board.legal_moves):
            continue
        result = engine.play(board, chess.engine.Limit(mate=2), info=chess.engine.INFO_ALL)
        said = result.info["score"].relative.mate() if "score" in result.info else None
        mate = next((n for n in (1, 2) if has_mate_within(board, n)), None)
        mated = next((-n for n in (1, 2) if mated_within(board, n)), None)
        assert said == (mate or mated), board.fen()
        assert result.move is not None
        assert board.is_legal(result.move)
        if mate:
            assert result.move in keys_within(board, mate)
        elif not mated:
            assert "legal move and nothing more" in result.info["string"]
            assert result.move == min(board.legal_moves, key=chess.Move.uci)
        seen.add(said)
    assert {1, 2, None} <= seen


def test_without_a_mate_nothing_is_claimed() -> None:
    with talking() as talk:
        talk.send("position startpos", "go mate 2")
        lines = talk.until("bestmove")
        assert lines[-1] == "bestmove a2a3"
        assert not any(" score " in line for line in lines)
        talk.send("position startpos moves e2e4 e7e5", "go nodes 5000")
        lines = talk.until("bestmove")
        assert any("the nodes were spent" in line for line in lines)
        assert not any(" score " in line for line in lines)


@pytest.mark.parametrize(
    "limit",
    [
        chess.engine.Limit(nodes=50_000),
        chess.engine.Limit(time=0.2),
        chess.engine.Limit(depth=2),
        chess.engine.Limit(white_clock=3, black_clock=3, white_inc=0.1, black_inc=0.1),
        chess.engine.Limit(white_clock=3, black_clock=3, remaining_moves=10),
    ],
)
def test_every_limit_ends_a_search(
    engine: chess.engine.SimpleEngine, limit: chess.engine.Limit
) -> None:
    board = chess.Board()
    assert engine.play(board, limit).move in board.legal_moves


def test_the_same_nodes_the_same_answer() -> None:
    said = []
    with talking() as talk:
        for _ in range(2):
            talk.send(f"position fen {MATE_IN_3}", "ucinewgame", "go nodes 100000")
            lines = talk.until("bestmove")
            said.append([line.split(" nps ")[0] for line in lines[-2:]])
            assert " pv " in lines[-2]
    assert said[0] == said[1]


def test_only_some_first_moves(engine: chess.engine.SimpleEngine) -> None:
    board = chess.Board("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1")
    key, other = chess.Move.from_uci("e2e8"), chess.Move.from_uci("g1h2")
    limit = chess.engine.Limit(mate=2)
    assert keys_within(board, 2) == [key]
    both = engine.play(board, limit, root_moves=[other, key], info=chess.engine.INFO_ALL)
    assert both.move == key
    assert both.info["score"].white() == chess.engine.Mate(2)
    assert_line_mates(board, both.info["pv"], 2)
    alone = engine.play(board, limit, root_moves=[other], info=chess.engine.INFO_ALL)
    assert alone.move == other
    assert "score" not in alone.info


def test_stop_answers_and_infinite_waits_for_it(engine: chess.engine.SimpleEngine) -> None:
    board = chess.Board()
    with engine.analysis(board, chess.engine.Limit(mate=12)) as analysis:
        first = next(iter(analysis))
        assert {"depth", "nodes", "nps", "time"} <= set(first)
        analysis.stop()
        assert analysis.wait().move in board.legal_moves
    with talking() as talk:
        talk.send(f"position fen {MATE_IN_3}", "go infinite")
        talk.until("info depth 3")
        talk.send("isready")
        assert talk.until("readyok")[-1:] == ["readyok"]  # and no bestmove before the stop
        talk.send("stop")
        assert talk.until("bestmove") == ["bestmove h4h6"]
        talk.send("go ponder mate 3")
        talk.until("info depth 3")
        talk.send("ponderhit")
        assert talk.until("bestmove") == ["bestmove h4h6"]
        talk.send("stop", "ponderhit", "isready")
        assert talk.until("readyok") == ["readyok"]  # harmless where nothing is searched


def test_a_game_that_is_over(engine: chess.engine.SimpleEngine) -> None:
    """The null move, '0000' in the protocol; python-chess reads it as `Move.null()`."""
    mated = chess.Board("r4rk1/pb3pQp/1p3Pp1/8/8/8/5KPP/4R3 b - - 0 1")
    assert mated.is_checkmate()
    limit = chess.engine.Limit(time=1)
    result = engine.play(mated, limit, info=chess.engine.INFO_ALL)
    assert not result.move
    assert result.info["score"].relative == chess.engine.Mate(0)
    stuck = chess.Board("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1")
    assert stuck.is_stalemate()
    result = engine.play(stuck, limit, info=chess.engine.INFO_ALL)
    assert not result.move
    assert "score" not in result.info


BAD = {
    "position fen 8/8/8/8/8/8/8/4R1K1 w - - 0 1": "Black has no king",
    "position fen nonsense": "expected a FEN",
    "position fen": "empty",
    "position": "expected 'startpos' or 'fen'",
    "position startpos moves e2e5": "e2e5 is not a legal move",
    "position startpos moves e2e4 castles": "is not a move",
    "go mate": "expected a number after 'mate', found nothing",
    "go nodes many": "found 'many'",
    "go mate 0": "must be at least 1",
    "go searchmoves e2e8": "is not a legal move",
    "setoption name Hash value 0": "from 1 to",
    "setoption name Hash value lots": "from 1 to",
    "setoption name Threads value 99": "from 1 to 2",
    "setoption name Colour value blue": "there is no option 'Colour'",
    "setoption": "expected 'setoption name",
    "position fen " + "8/" * 5000: "characters",
}


def test_bad_input_gets_one_sentence_and_keeps_the_last_position() -> None:
    with talking() as talk:
        talk.send(f"position fen {MATE_IN_3}", "isready")
        talk.until("readyok")
        for line, clause in BAD.items():
            talk.send(line, "isready")
            said = talk.until("readyok")[:-1]
            assert len(said) == 1, line
            assert said[0].startswith("info string ")
            assert clause in said[0]
        talk.send("go mate 3")
        assert talk.until("bestmove")[-1] == "bestmove h4h6"


def test_unknown_words_are_passed_over() -> None:
    """'If the engine or the GUI receives an unknown command or token it should just ignore it
    and try to parse the rest of the string', with 'joho debug on' as the protocol's example."""
    with talking() as talk:
        talk.send("what is this", "", "\ufeff", "register later", "isready")
        assert talk.until("readyok") == ["readyok"]
        talk.send("joho debug on", "what is this", "isready")
        said = talk.until("readyok")
        assert len(said) == 2
        assert "is no command" in said[0]
        talk.send("debug off", "what is this", "isready")
        assert talk.until("readyok") == ["readyok"]
        talk.send("position startpos", "go swiftly mate 1")
        assert talk.until("bestmove")[-1] == "bestmove a2a3"


def test_bytes_that_are_no_text_are_passed_over() -> None:
    script = b"\xff\xfe\x00rubbish\nisready\nquit\n"
    done = subprocess.run(COMMAND, input=script, capture_output=True, timeout=120, check=False)
    assert done.returncode == 0
    assert done.stdout == b"readyok\n"


def test_the_end_of_the_input_is_quit() -> None:
    for script in ("", "uci\n", "position startpos\ngo infinite\n", "go mate 20"):
        done = subprocess.run(
            COMMAND, input=script, capture_output=True, text=True, timeout=120, check=False
        )
        assert done.returncode == 0, script
        assert done.stdout.count("bestmove") == ("go" in script)
        assert "Traceback" not in done.stderr


def test_a_second_go_waits_for_the_first() -> None:
    with talking() as talk:
        talk.send("position startpos", "go infinite", "go mate 1", "stop")
        lines = talk.until("bestmove")
        assert any("a search is under way" in line for line in lines)
        talk.send("isready")
        assert talk.until("readyok")[-1] == "readyok"
