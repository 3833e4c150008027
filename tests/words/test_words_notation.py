"""Moves for the eye and for the ear, against SAN (PGN standard, 8.2.3) and python-chess."""

from __future__ import annotations

import chess
import pytest

from flightless.words.notation import ear, eye, figure_line, steps


def one(fen: str, san: str):  # type: ignore[no-untyped-def]
    board = chess.Board(fen)
    (step,) = steps(board, [board.parse_san(san)])
    return step


@pytest.mark.parametrize(
    ("fen", "san", "seen", "heard"),
    [
        ("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", "Re8+", "1.Re8+", "rook to e8, check"),
        ("4r1k1/5ppp/8/8/8/7P/5PP1/4R1K1 w - - 0 2", "Rxe8#", "2.Rxe8 mate", "rook takes e8, mate"),
        ("6k1/5ppp/8/8/8/8/8/6K1 w - - 0 1", "Kf2", "1.Kf2", "king to f2"),
        ("3r2k1/5ppp/8/8/8/8/8/4R1K1 b - - 0 1", "h6", "1…h6", "pawn to h6"),
        (
            "3r4/2P3k1/8/8/8/8/8/6K1 w - - 0 1",
            "cxd8=Q",
            "1.cxd8=Q",
            "c-pawn takes d8 and becomes a queen",
        ),
        ("8/8/8/3pP1k1/8/8/8/6K1 w - d6 0 1", "exd6", "1.exd6", "e-pawn takes d6 in passing"),
        ("4k3/8/8/8/8/8/8/4K2R w K - 0 1", "O-O", "1.O-O", "castles short"),
        ("4k3/8/8/8/8/8/8/R3K3 w Q - 0 1", "O-O-O", "1.O-O-O", "castles long"),
        ("6k1/8/8/8/8/8/R6R/6K1 w - - 0 1", "Rad2", "1.Rad2", "rook from a2 to d2"),
        ("R7/6k1/8/8/8/8/R7/6K1 w - - 0 1", "R2a5", "1.R2a5", "rook from a2 to a5"),
        ("6k1/8/8/8/8/8/n7/2N3K1 w - - 0 1", "Nxa2", "1.Nxa2", "knight takes a2"),
    ],
)
def test_eye_and_ear(fen: str, san: str, seen: str, heard: str) -> None:
    step = one(fen, san)
    assert eye(step) == seen
    assert ear(step) == heard


def test_line_numbers_black_first() -> None:
    """A line that Black begins: '…' on his first move, and the numbers go on."""
    board = chess.Board("4r1k1/8/8/8/8/8/4rPPP/3R2K1 b - - 0 1")
    line = [board.parse_san("Re1+")]
    board.push(line[0])
    line.append(board.parse_san("Rxe1"))
    board.push(line[1])
    line.append(board.parse_san("Rxe1#"))
    start = chess.Board("4r1k1/8/8/8/8/8/4rPPP/3R2K1 b - - 0 1")
    assert figure_line(steps(start, line)) == "1…Re1+ 2.Rxe1 Rxe1 mate"


def test_letters_of_another_language() -> None:
    """The letters of the men are the phrasebook's: German has D, T, L and S."""
    step = one("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", "Re8+")
    german = {"K": "K", "Q": "D", "R": "T", "B": "L", "N": "S"}
    assert eye(step, letters=german) == "1.Te8+"


def test_eye_is_san_by_python_chess() -> None:
    """Without number and with signs the move is python-chess's SAN, move by move."""
    board = chess.Board()
    game = "e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1 Bxf7+ Ke7 Nd5#"
    for san in game.split(" "):
        move = board.parse_san(san)
        (step,) = steps(board, [move])
        assert eye(step, numbered=False, mate_word="#") == board.san(move) == san
        board.push(move)
