"""Positions from text: what the FIDE Laws and the FEN and EPD standards accept and refuse.

FEN and EPD: sections 16.1 and 16.2 of the PGN standard (Edwards, 1994).
"""

from __future__ import annotations

import chess
import pytest

from flightless.errors import PositionError
from flightless.positions import looks_like_fen, read_position


@pytest.mark.parametrize(
    "fen",
    [
        chess.STARTING_FEN,
        "r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1",
        "rnbqkbnr/ppp1pppp/8/8/3pP3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 3",
        "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 12 34",
    ],
)
def test_a_full_fen_is_read_as_python_chess_reads_it(fen: str) -> None:
    position = read_position(fen)
    assert position.board.fen() == chess.Board(fen).fen()
    assert position.notices == ()


def test_counters_may_be_missing() -> None:
    assert read_position("6k1/8/8/8/8/8/8/4R1K1 b").board.fen() == (
        "6k1/8/8/8/8/8/8/4R1K1 b - - 0 1"
    )


def test_epd_operations_are_kept() -> None:
    position = read_position(
        '3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - dm 2; bm Re8+; id "back rank; sheet 1";'
    )
    assert dict(position.operations) == {
        "dm": ("2",),
        "bm": ("Re8+",),
        "id": ("back rank; sheet 1",),
    }


def test_epd_counters_come_from_hmvc_and_fmvn() -> None:
    board = read_position("6k1/8/8/8/8/8/8/4R1K1 b - - hmvc 7; fmvn 31;").board
    assert (board.halfmove_clock, board.fullmove_number) == (7, 31)


def test_stale_castling_rights_are_dropped_with_a_notice() -> None:
    position = read_position("r3k3/8/8/8/8/8/8/4K2R w KQkq - 0 1")
    assert position.board.castling_xfen() == "Kq"
    assert "Qk was dropped" in position.notices[0]


def test_a_stale_en_passant_square_is_dropped_with_a_notice() -> None:
    position = read_position("4k3/8/8/8/8/8/8/4K3 w - e6 0 1")
    assert position.board.ep_square is None
    assert "e6 was dropped" in position.notices[0]


def test_an_en_passant_square_that_no_pawn_can_use_is_no_fault() -> None:
    # FEN as first published writes it after every double step (PGN standard, 16.1.3.4).
    position = read_position("rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 1")
    assert position.board.fen() == "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"
    assert position.notices == ()


@pytest.mark.parametrize(
    ("text", "clause"),
    [
        ("8/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black has no king"),
        ("6kk/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black has 2 kings"),
        ("6kP/8/8/8/8/8/8/4R1K1 w - - 0 1", "a pawn stands on h8"),
        ("6k1/8/8/8/8/8/8/p3R1Kp w - - 0 1", "pawns stand on a1 and h1"),
        ("6k1/pppppppp/p7/8/8/8/8/4R1K1 w - - 0 1", "Black has 9 pawns"),
        ("4k3/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black is in check and it is White's move"),
        ("6k1/8/8/8/8/8/8/4R1K1 x - - 0 1", "must be 'w' or 'b'"),
        ("6k1/8/8/8/8/8/8/4R1K2 w - - 0 1", "rank 1 has 9 squares"),
        ("6k1/8/8/8/8/8/8/4R1Z1 w - - 0 1", "'Z' on rank 1"),
        ("6k1/8/8/8/8/8/8/4R1K1", "side to move is missing"),
        ("6k1/8/8/8/8/8/8/4R1K1 w zz - 0 1", "castling rights"),
        ("6k1/8/8/8/8/8/8/4R1K1 w - e5 0 1", "en-passant square"),
        ("6k1/8/8/8/8/8/8/4R1K1 w - - ?! world", "EPD operations"),
        ("", "it is empty"),
        ("no position at all", "eight ranks"),
        ("6k1/8/8/8/8/8/8/4R1♔1 w - - 0 1", "plain letters"),
        ("x" * 5000, "5000 characters"),
    ],
)
def test_nonsense_is_refused_in_one_sentence(text: str, clause: str) -> None:
    with pytest.raises(PositionError) as caught:
        read_position(text)
    message = str(caught.value)
    assert clause in message
    assert "\n" not in message


def test_every_reason_is_named_at_once() -> None:
    with pytest.raises(PositionError, match=r"Black has no king; a pawn stands on a8"):
        read_position("P7/8/8/8/8/8/8/4R1K1 w - - 0 1")


def test_a_check_that_no_game_can_reach_is_noticed() -> None:
    # One move gives at most two checks: the man who moves and the line that he opens.
    position = read_position("8/8/5N2/7k/5N2/8/8/K6R b - - 0 1")
    assert "more than two men give check" in position.notices[0]
    # Two rooks on one line with the king between: neither can have come there last.
    position = read_position("8/8/8/R2k3R/8/8/8/K7 b - - 0 1")
    assert "no last move gives check" in position.notices[0]


@pytest.mark.parametrize(
    "path",
    [
        "/home/coach/chess/2026/autumn/mates/drawer.epd",
        "/a/b/c/d/e/f/g",
        "a/b/c/d/e/f/g/drawer.epd",
        "../../../../../../../sheet",
        "~/a/b/c/d/e/f/g",
    ],
)
def test_a_path_with_seven_slashes_is_a_file(path: str) -> None:
    assert path.count("/") == 7
    assert not looks_like_fen(path)
    assert looks_like_fen("4k3/8/8/8/8/8/8/4K3 w - - 0 1")
