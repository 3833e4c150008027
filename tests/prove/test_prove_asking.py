"""What a question is answered with: keys, line, threats, delays, refusals, limits."""

from __future__ import annotations

import subprocess
import sys

import chess
import pytest

from flightless.certify import verify
from flightless.errors import PositionError, UsageError
from flightless.prove import (
    distance_after,
    document,
    prove,
    prove_by_checks,
    refusal_document,
    refutations,
    shortest_mate,
    threat_of,
)

ROOKS = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"
QUIET = "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"
KNIGHT = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"


def _sans(fen: str, moves: object) -> list[str]:
    board = chess.Board(fen)
    return [board.san(move) for move in moves]  # type: ignore[attr-defined]


def test_two_rooks_on_the_back_rank() -> None:
    proof = prove(chess.Board(ROOKS))
    assert (proof.verdict, proof.moves, proof.shortest) == ("mate", 2, True)
    assert _sans(ROOKS, proof.keys) == ["Re8+"]
    assert document(proof)["line"] == ["Re8+", "Rxe8", "Rxe8#"]
    assert proof.delays == ()
    assert proof.threats == {}


def test_a_quiet_key_with_its_threat_and_the_spite_check() -> None:
    proof = prove(chess.Board(QUIET))
    assert proof.moves == 3
    assert _sans(QUIET, proof.keys) == ["Qh6"]
    assert document(proof)["threats"] == {"h4h6": {"moves": 1, "keys": ["h6g7"], "line": ["Qg7#"]}}
    assert [move.uci() for move in proof.delays] == ["c2f2"]
    assert document(proof)["line"][:3] == ["Qh6", "Qxf2+", "Kxf2"]


def test_two_keys_that_are_double_checks() -> None:
    proof = prove(chess.Board(KNIGHT))
    assert proof.moves == 2
    assert _sans(KNIGHT, proof.keys) == ["Nxf7+", "Nxg6+"]
    assert document(proof)["line"] == ["Nxf7+", "Kg8", "Nh6#"]
    second = chess.Board(KNIGHT)
    for san in ("Nxg6+", "Kg8"):
        second.push_san(san)
    position = " ".join(second.fen().split()[:4])
    assert [move.uci() for move in proof.tree[position]] == ["g6e7"]


def test_a_hopeless_interposition_only_delays() -> None:
    fen = "6k1/3r1ppp/8/8/8/8/5PPP/R5K1 w - - 0 1"
    proof = prove(chess.Board(fen))
    assert _sans(fen, proof.keys) == ["Ra8+"]
    assert [move.uci() for move in proof.delays] == ["d7d8"]


def test_the_mated_side_is_told_its_number() -> None:
    board = chess.Board(ROOKS)
    board.push_san("Re8+")
    proof = prove(board)
    assert (proof.verdict, proof.moves, proof.keys) == ("mated", -1, ())
    assert document(proof)["line"] == ["Rxe8", "Rxe8#"]
    assert verify(document(proof)).ok


def test_en_passant_may_be_the_only_mate() -> None:
    # The pawn leaves the d-file and the rook checks; FIDE Laws 3.7.3.1.
    fen = "2rk4/8/8/2pP4/5B2/8/4R3/3R2K1 w - c6 0 1"
    assert _sans(fen, prove(chess.Board(fen)).keys) == ["dxc6#"]
    without = prove(chess.Board(fen.replace("c6", "-")), 1)
    assert without.verdict == "no mate"


def test_castling_may_mate() -> None:
    # FIDE Laws 3.8.2: the rook comes to f1 and checks along the file.
    fen = "5k2/2NR4/8/8/8/1B6/8/4K2R w K - 0 1"
    assert "O-O#" in _sans(fen, prove(chess.Board(fen)).keys)
    assert "O-O#" not in _sans(fen, prove(chess.Board(fen.replace(" K ", " - "))).keys)


def test_a_rook_where_a_queen_would_stalemate() -> None:
    # FIDE Laws 5.2.1: 1.c8Q leaves Black without a move and not in check; 1.c8R Ka6 2.Ra8#.
    fen = "8/k1P5/2K5/8/8/8/8/8 w - - 0 1"
    board = chess.Board(fen)
    board.push_san("c8=Q")
    assert board.is_stalemate()
    proof = prove(chess.Board(fen))
    assert (proof.moves, _sans(fen, proof.keys)) == (2, ["c8=R"])


@pytest.mark.parametrize(
    ("fen", "words"),
    [
        ("rnb1kbnr/pppp1ppp/8/4p3/6Pq/5P2/PPPPP2P/RNBQKBNR w KQkq - 1 3", "White is already mated"),
        ("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1", "it is stalemate: Black"),
        ("4k3/8/8/8/8/8/4R3/4K3 w - - 0 1", "Black is in check"),
        ("8/8/8/8/8/8/8/K7 w - - 0 1", "Black has no king"),
    ],
)
def test_positions_that_cannot_be_asked_about(fen: str, words: str) -> None:
    with pytest.raises(PositionError, match=words):
        prove(chess.Board(fen))
    refused = refusal_document(fen, words)
    assert (refused["verdict"], refused["reason"]) == ("refused", words)


def test_limits_that_make_no_sense() -> None:
    board = chess.Board(ROOKS)
    for arguments in ({"within": 0}, {"within": 10_000}, {"budget": 0}, {"seconds": 0.0}):
        with pytest.raises(UsageError):
            prove(board, **arguments)  # type: ignore[arg-type]


def test_a_spent_budget_says_how_far_it_got() -> None:
    fen = "n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1"  # Loyd, mate in five
    proof = prove(chess.Board(fen), budget=20_000)
    assert (proof.verdict, proof.moves, proof.stopped_by) == ("undecided", None, "nodes")
    assert 2 <= proof.searched < 5
    assert proof.tree == {}
    checked = verify(document(proof))
    assert checked.ok
    assert prove(chess.Board(fen), budget=20_000) == proof


def test_a_limit_in_seconds_is_named_when_it_stops_the_search() -> None:
    told: list[tuple[int, int]] = []
    proof = prove(chess.Board(), within=8, seconds=0.6, progress=lambda *what: told.append(what))
    assert (proof.verdict, proof.stopped_by) == ("undecided", "seconds")
    assert told
    assert document(proof)["stopped_by"] == "seconds"
    in_time = prove(chess.Board(ROOKS), seconds=60.0)
    assert in_time.stopped_by is None
    assert in_time.moves == 2


def test_the_same_question_has_the_same_answer() -> None:
    boards = [chess.Board(fen) for fen in (QUIET, KNIGHT, ROOKS)]
    first = [document(prove(board)) for board in boards]
    again = [document(prove(board)) for board in reversed(boards)]
    assert first == again[::-1]
    assert [str(d) for d in first] == [str(d) for d in again[::-1]]  # the order too


def test_by_checks_alone() -> None:
    proof = prove_by_checks(chess.Board(KNIGHT))
    assert (proof.verdict, proof.moves, proof.shortest) == ("mate", 2, False)
    assert verify(document(proof)).ok
    assert prove_by_checks(chess.Board(QUIET), 3).verdict == "undecided"
    find = shortest_mate(chess.Board(KNIGHT), full=1, checks=5)
    assert (find.moves, find.found_by) == (2, "checks")
    assert _sans(KNIGHT, find.keys) == ["Nxf7+", "Nxg6+"]
    assert shortest_mate(chess.Board(QUIET), 2, 5).moves is None


def test_a_spent_budget_of_the_quick_look_is_told() -> None:
    find = shortest_mate(chess.Board(QUIET), 4, 5, budget=10)
    assert (find.moves, find.exhausted) == (None, True)


def test_tries_and_their_refutations() -> None:
    board = chess.Board(QUIET)
    assert distance_after(board, chess.Move.from_uci("h4h6"), 3) == 3
    assert refutations(board, chess.Move.from_uci("h4h6"), 3) == ()
    slow = chess.Move.from_uci("h2h3")
    assert distance_after(board, slow, 3) is None
    assert refutations(board, slow, 3)
    with pytest.raises(PositionError):
        distance_after(board, chess.Move.from_uci("h4h1"), 3)


def test_a_threat_is_a_mate_after_a_pass() -> None:
    board = chess.Board(QUIET)
    board.push_san("Qh6")
    threat = threat_of(board, 2)
    assert threat is not None
    assert (threat.moves, [move.uci() for move in threat.line]) == (1, ["h6g7"])
    board = chess.Board(ROOKS)
    board.push_san("Re8+")
    with pytest.raises(PositionError, match="cannot pass"):
        threat_of(board, 2)


def test_asking_nothing_compiles_nothing() -> None:
    code = (
        "import sys, chess, flightless.prove as p, flightless.certify\n"
        "try:\n    p.prove(chess.Board('7k/5Q2/6K1/8/8/8/8/8 b - - 0 1'))\n"
        "except ValueError:\n    pass\n"
        "sys.exit(any(name.split('.')[0] in ('numba', 'numpy') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
