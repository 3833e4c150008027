"""Perft of the compiled core against published counts and against python-chess."""

from __future__ import annotations

from pathlib import Path

import chess
import numpy as np
import pytest

from flightless.core import boards, perft
from flightless.core.bits import ZERO
from flightless.core.state import encode, new_moves

SUITES = Path(__file__).resolve().parents[3] / "shared" / "perft"
MOST_NODES = 3_000_000

# The start position: On-Line Encyclopedia of Integer Sequences, A048987.
START = (20, 400, 8902, 197281, 4865609)

# The five further positions that generators are usually tried on; counts from memory of the
# tables that are published with them, and confirmed by python-chess to depth 3 below.
PUBLISHED = {
    "r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1": (
        (48, 2039, 97862, 4085603)
    ),
    "8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1": (14, 191, 2812, 43238, 674624, 11030083),
    "r3k2r/Pppp1ppp/1b3nbN/nP6/BBP1P3/q4N2/Pp1P2PP/R2Q1RK1 w kq - 0 1": (
        (6, 264, 9467, 422333, 15833292)
    ),
    "rnbq1k1r/pp1Pbppp/2p5/8/2B5/8/PPP1NnPP/RNBQK2R w KQ - 1 8": (44, 1486, 62379, 2103487),
    "r4rk1/1pp1qppp/p1np1n2/2b1p1B1/2B1P1b1/P1NP1N2/1PP1QPPP/R4RK1 w - - 0 10": (
        (46, 2079, 89890, 3894594)
    ),
}

# Edge cases of our own, each named by what it tries; python-chess counts them in the test.
EDGES = {
    "en passant bares the rank": "6k1/8/8/K2pP2r/8/8/8/8 w - d6 0 1",
    "en passant bares the rank, black": "8/8/8/8/k2Pp2R/8/8/6K1 b - d3 0 1",
    "en passant by either of two pawns": "4k3/8/8/2PpP3/8/8/8/4K3 w - d6 0 1",
    "en passant, one of two pawns pinned": "4k3/8/8/2PpP3/1K6/8/8/4r3 w - d6 0 1",
    "en passant along the pin": "7k/6b1/8/3pP3/3K4/8/8/8 w - d6 0 1",
    "en passant bares a diagonal through the taken pawn": "6bk/8/8/3pP3/2K5/8/8/8 w - d6 0 1",
    "en passant takes the checking pawn": "8/8/8/3pP3/2K5/8/8/7k w - d6 0 1",
    "en passant bares the rank to a queen": "7k/8/8/q2pP1K1/8/8/8/8 w - d6 0 1",
    "en passant does not answer a knight's check": "7k/8/8/3pP3/1n6/3K4/8/8 w - d6 0 1",
    "en passant shuts off a bishop's check": "5b1k/8/8/3pP3/1K6/8/8/8 w - d6 0 1",
    "en passant gives a discovered check": "8/8/8/k2pP2Q/8/8/8/K7 w - d6 0 1",
    "castling both ways": "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1",
    "castling through an attacked square": "4k3/8/8/8/8/5r2/8/R3K2R w KQ - 0 1",
    "castling past an attacked b1": "1r2k3/8/8/8/8/8/8/R3K2R w KQ - 0 1",
    "castling out of check": "4r1k1/8/8/8/8/8/8/R3K2R w KQ - 0 1",
    "castling with a knight on b1": "4k3/8/8/8/8/8/8/RN2K1NR w KQ - 0 1",
    "castling gives check": "5k2/8/8/8/8/8/8/4K2R w K - 0 1",
    "long castling gives check": "3k4/8/8/8/8/8/8/R3K3 w Q - 0 1",
    "rook taken at home": "r3k2r/8/8/3B4/3b4/8/8/R3K2R w KQkq - 0 1",
    "king at home without rights": "r3k2r/8/8/8/8/8/8/R3K2R b Kq - 0 1",
    "promotion with capture of a rook": "r3k2r/1P4P1/8/8/8/8/1p4p1/R3K2R w KQkq - 0 1",
    "promotion while pinned on the rank": "k7/r2P2K1/8/8/8/8/8/8 w - - 0 1",
    "promotion along a diagonal pin": "2b4k/3P4/4K3/8/8/8/8/8 w - - 0 1",
    "promotion shuts off a check": "r6K/5P2/8/8/8/8/8/k7 w - - 0 1",
    "promotion takes the checker": "4n2k/3P4/5K2/8/8/8/8/8 w - - 0 1",
    "underpromotion to give check": "8/5P1k/8/8/8/8/p7/K7 w - - 0 1",
    "double check": "4k3/8/5N2/8/8/8/8/K3R3 b - - 0 1",
    "pinned queen on a diagonal sees another": "8/8/b5b1/8/2q5/3Q4/4K3/7k w - - 0 1",
    "pawn pinned on its file": "4r2k/8/8/8/8/8/4P3/4K3 w - - 0 1",
    "pawn's double step shuts off a check": "7k/8/8/8/r6K/8/2P1P3/8 w - - 0 1",
    "king may not step back along the line": "7k/8/8/8/r2K4/8/8/8 w - - 0 1",
    "stalemate": "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
}


def reference(board: chess.Board, depth: int) -> int:
    if depth == 1:
        return board.legal_moves.count()
    total = 0
    for move in list(board.legal_moves):
        board.push(move)
        total += reference(board, depth - 1)
        board.pop()
    return total


def each_made(board: chess.Board, depth: int) -> int:
    return int(perft.perft_each(encode(board), np.uint64(depth), new_moves(depth + 1), ZERO))


@pytest.mark.parametrize(("depth", "count"), list(enumerate(START, start=1)))
def test_start_position(depth: int, count: int) -> None:
    assert boards.count_positions(chess.Board(), depth) == count
    assert each_made(chess.Board(), depth) == count


@pytest.mark.parametrize("fen", PUBLISHED)
def test_published_positions(fen: str) -> None:
    for depth, count in enumerate(PUBLISHED[fen], start=1):
        assert boards.count_positions(chess.Board(fen), depth) == count
        assert each_made(chess.Board(fen), depth) == count


@pytest.mark.parametrize("fen", PUBLISHED)
def test_published_positions_are_what_python_chess_counts(fen: str) -> None:
    assert reference(chess.Board(fen), 2) == PUBLISHED[fen][1]


@pytest.mark.parametrize("name", EDGES)
def test_edges(name: str) -> None:
    board = chess.Board(EDGES[name])
    assert board.status() & ~chess.STATUS_IMPOSSIBLE_CHECK == chess.STATUS_VALID
    for position in (board, board.mirror()):
        for depth in (1, 2, 3):
            expected = reference(position, depth)
            assert boards.count_positions(position, depth) == expected
            if expected:
                assert each_made(position, depth) == expected


def test_no_plies_is_the_position_itself() -> None:
    assert boards.count_positions(chess.Board(), 0) == 1


@pytest.mark.parametrize("name", ["perftsuite.epd", "tricky.epd", "random.epd"])
def test_suites(name: str) -> None:
    path = SUITES / name
    if not path.is_file():
        pytest.skip(f"the perft suite {name} is not on this machine")
    for line in path.read_text(encoding="ascii").splitlines():
        fen, *entries = line.split(";")
        if chess.Board(fen).status() & chess.STATUS_BAD_CASTLING_RIGHTS:
            continue  # castling from another starting array: not standard chess
        for entry in entries:
            depth, count = entry.strip().lstrip("D").split()
            if int(count) <= MOST_NODES:
                assert boards.count_positions(chess.Board(fen), int(depth)) == int(count), line
