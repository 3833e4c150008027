"""Mates of the literature, with their lengths, proved and replayed by the verifier.

Scores of games and problem positions are facts, recalled from memory; the name, place and
year stand beside each.  A score is played move by move with python-chess, so a slip of memory
shows as an illegal move.  Where the book's mate is not the shortest, the length is the shortest
and a note says what was played.
"""

from __future__ import annotations

import chess
import pytest

from flightless.certify import verify
from flightless.prove import Proof, document, prove

GAMES = {
    "fool's mate (Greco, about 1620; in every primer)": (
        "f3 e5 g4",
        1,
        ["Qh4#"],
    ),
    "Greco, about 1620": (
        "e4 b6 d4 Bb7 Bd3 f5 exf5 Bxg2 Qh5+ g6 fxg6 Nf6",
        2,
        ["gxh7+"],
    ),
    "Légal, Paris 1750": (
        "e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1",
        2,
        ["Bxf7+"],
    ),
    "Anderssen - Kieseritzky, London 1851": (
        "e4 e5 f4 exf4 Bc4 Qh4+ Kf1 b5 Bxb5 Nf6 Nf3 Qh6 d3 Nh5 Nh4 Qg5 Nf5 c6 g4 Nf6 Rg1 cxb5 h4 "
        "Qg6 h5 Qg5 Qf3 Ng8 Bxf4 Qf6 Nc3 Bc5 Nd5 Qxb2 Bd6 Bxg1 e5 Qxa1+ Ke2 Na6",
        3,
        ["Nxg7+"],
    ),
    "Anderssen - Dufresne, Berlin 1852": (
        "e4 e5 Nf3 Nc6 Bc4 Bc5 b4 Bxb4 c3 Ba5 d4 exd4 O-O d3 Qb3 Qf6 e5 Qg6 Re1 Nge7 Ba3 b5 Qxb5 "
        "Rb8 Qa4 Bb6 Nbd2 Bb7 Ne4 Qf5 Bxd3 Qh5 Nf6+ gxf6 exf6 Rg8 Rad1 Qxf3 Rxe7+ Nxe7",
        4,
        ["Qxd7+"],
    ),
    "Schulder - Boden, London 1853": (
        "e4 e5 Nf3 d6 c3 f5 Bc4 Nf6 d4 fxe4 dxe5 exf3 exf6 Qxf6 gxf3 Nc6 f4 Bd7 Be3 O-O-O Nd2 Re8 "
        "Qf3 Bf5 O-O-O d5 Bxd5",
        2,
        ["Qxc3+"],
    ),
    "Morphy - Duke of Brunswick and Count Isouard, Paris 1858": (
        "e4 e5 Nf3 d6 d4 Bg4 dxe5 Bxf3 Qxf3 dxe5 Bc4 Nf6 Qb3 Qe7 Nc3 c6 Bg5 b5 Nxb5 cxb5 Bxb5+ "
        "Nbd7 O-O-O Rd8 Rxd7 Rxd7 Rd1 Qe6 Bxd7+ Nxd7",
        2,
        ["Qb8+"],
    ),
    "Teed - Delmar, New York 1896": (
        "d4 f5 Bg5 h6 Bh4 g5 Bg3 f4 e3 h5 Bd3 Rh6",
        2,
        ["Qxh5+"],
    ),
    "Steinitz - Von Bardeleben, Hastings 1895, in the mate that Steinitz announced": (
        "e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d4 exd4 cxd4 Bb4+ Nc3 d5 exd5 Nxd5 O-O Be6 Bg5 Be7 Bxd5 Bxd5 "
        "Nxd5 Qxd5 Bxe7 Nxe7 Re1 f6 Qe2 Qd7 Rac1 c6 d5 cxd5 Nd4 Kf7 Ne6 Rhc8 Qg4 g6 Ng5+ Ke8 Rxe7+ "
        "Kf8 Rf7+ Kg8 Rg7+ Kh8 Rxh7+ Kg8 Rg7+ Kh8 Qh4+ Kxg7 Qh7+ Kf8 Qh8+ Ke7 Qg7+ Ke8",
        5,
        ["Qg8+"],
    ),
    "Réti - Tartakower, Vienna 1910": (
        "e4 c6 d4 d5 Nc3 dxe4 Nxe4 Nf6 Qd3 e5 dxe5 Qa5+ Bd2 Qxe5 O-O-O Nxe4",
        3,
        ["Qd8+"],
    ),
    "Ed. Lasker - Thomas, London 1912 (played: 14.h4+ and mate on move 18)": (
        "d4 e6 Nf3 f5 Nc3 Nf6 Bg5 Be7 Bxf6 Bxf6 e4 fxe4 Nxe4 b6 Ne5 O-O Bd3 Bb7 Qh5 Qe7 Qxh7+ Kxh7 "
        "Nxf6+ Kh6 Neg4+ Kg5",
        4,
        ["f4+", "h4+"],
    ),
    "D. Byrne - Fischer, New York 1956 (played: 37...Bb4+ and mate on move 41)": (
        "Nf3 Nf6 c4 g6 Nc3 Bg7 d4 O-O Bf4 d5 Qb3 dxc4 Qxc4 c6 e4 Nbd7 Rd1 Nb6 Qc5 Bg4 Bg5 Na4 Qa3 "
        "Nxc3 bxc3 Nxe4 Bxe7 Qb6 Bc4 Nxc3 Bc5 Rfe8+ Kf1 Be6 Bxb6 Bxc4+ Kg1 Ne2+ Kf1 Nxd4+ Kg1 Ne2+ "
        "Kf1 Nc3+ Kg1 axb6 Qb4 Ra4 Qxb6 Nxd1 h3 Rxa2 Kh2 Nxf2 Re1 Rxe1 Qd8+ Bf8 Nxe1 Bd5 Nf3 Ne4 "
        "Qb8 b5 h4 h5 Ne5 Kg7 Kg1 Bc5+ Kf1 Ng3+ Ke1",
        4,
        ["Bb3", "Re2+"],
    ),
}

PROBLEMS = {
    "P. Morphy, mate in two, about 1856": (
        "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1",
        2,
        ["Ra6"],
    ),
    "S. Loyd, 'Excelsior', mate in five, London Era 1861": (
        "n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1",
        5,
        ["b4"],
    ),
}


def _proved(board: chess.Board, moves: int, keys: list[str]) -> Proof:
    proof = prove(board)
    assert proof.verdict == "mate"
    assert proof.moves == moves
    assert proof.shortest
    assert proof.keys_complete
    assert sorted(board.san(key) for key in proof.keys) == keys
    checked = verify(document(proof))
    assert checked.ok, checked.sentences
    return proof


@pytest.mark.parametrize("game", GAMES)
def test_finishes_of_games(game: str) -> None:
    score, moves, keys = GAMES[game]
    board = chess.Board()
    for san in score.split():
        board.push_san(san)
    _proved(board, moves, keys)


@pytest.mark.parametrize("problem", PROBLEMS)
def test_problems(problem: str) -> None:
    fen, moves, keys = PROBLEMS[problem]
    proof = _proved(chess.Board(fen), moves, keys)
    assert all(not chess.Board(fen).gives_check(key) for key in proof.keys)


def test_morphys_problem_is_zugzwang_after_the_key() -> None:
    # Nothing is threatened: either capture on a6 lets b7 mate, or a bishop move Rxa7.
    proof = prove(chess.Board(PROBLEMS["P. Morphy, mate in two, about 1856"][0]))
    assert proof.threats == {}


def test_excelsior_threatens_rf5_or_rd5() -> None:
    """Loyd's threats after 1.b4 are 2.Rf5 and 2.Rd5, mating in three from there."""
    board = chess.Board(PROBLEMS["S. Loyd, 'Excelsior', mate in five, London Era 1861"][0])
    threat = prove(board).threats[chess.Move.from_uci("b2b4")]
    assert threat.moves == 3
    assert {key.uci() for key in threat.keys} == {"b5f5", "b5d5"}
