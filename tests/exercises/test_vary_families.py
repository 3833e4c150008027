"""Families of positions, each member against python-chess by brute force."""

from __future__ import annotations

import chess
import pytest
from making_referee import can_have_arisen, keys

from flightless.errors import PositionError
from flightless.exercises.vary import lengthened, vary
from flightless.exercises.vary_natural import unmoves, unnatural

BACK_RANK = "6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"
MATED = "4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1"
SMOTHERED = "5r1k/6pp/7N/8/8/1Q6/6PP/6K1 w - - 0 1"


@pytest.mark.parametrize(("fen", "moves"), [(BACK_RANK, 1), (MATED, 0), (SMOTHERED, 2)])
def test_every_member_is_proved_and_legal(fen: str, moves: int) -> None:
    family = vary(chess.Board(fen), longer=2)
    assert family.moves == moves
    assert len(family.members) > 5
    for member in family.members:
        board = chess.Board(member.fen)
        assert board.status() == chess.STATUS_VALID
        assert can_have_arisen(board)
        assert member.moves == (moves + 1 if member.how == "lengthened" else moves)
        if not member.moves:
            assert board.is_checkmate()
        elif member.moves <= 2:
            assert keys(board, member.moves) == {member.key.uci()}
            assert member.moves == 1 or not keys(board, member.moves - 1)
    assert {"files mirrored", "colours exchanged"} <= {m.how for m in family.members}
    assert all(dropped.reason for dropped in family.dropped)
    assert vary(chess.Board(fen), longer=2) == family


def test_no_two_members_are_the_same() -> None:
    members = vary(chess.Board(BACK_RANK)).members
    assert len({m.fen for m in members}) == len(members)


def test_what_is_dropped_is_told_truly() -> None:
    family = vary(chess.Board(BACK_RANK))
    two = [d for d in family.dropped if "first moves mate" in d.reason]
    assert two
    for dropped in two:
        assert len(keys(chess.Board(dropped.fen), 1)) == int(dropped.reason.split()[0])


def test_smothered_mate_gets_its_sacrifice_back() -> None:
    # Before Nf7 mate: the rook has just taken a queen on g8 (Lucena, 1497: the old idea).
    board = chess.Board("6rk/6pp/7N/8/8/8/6PP/6K1 w - - 0 1")
    found = list(lengthened(board, 1))
    assert found
    for member in found:
        assert keys(chess.Board(member.fen), 2) == {member.key.uci()}
    queen = [m for m in found if chess.Board(m.fen).queens]
    assert any(m.key.to_square == chess.G8 for m in queen)


def test_the_way_in_may_be_a_quiet_move() -> None:
    # Before Qg7 mate (Lolli, 1763: the pawn on f6): any move of the queen to h6 threatens it.
    board = chess.Board("5rk1/5p1p/5PpQ/8/8/8/P4PPP/4R1K1 w - - 0 1")
    found = list(lengthened(board, 1, "quiet"))
    assert found
    for member in found:
        before = chess.Board(member.fen)
        assert keys(before, 2) == {member.key.uci()}
        assert not before.gives_check(member.key)
        assert not before.is_capture(member.key)
    members = [m for m in vary(board, longer=3).members if m.how == "lengthened"]
    assert any(not chess.Board(m.fen).gives_check(m.key) for m in members)


ITALIAN = "r1bqk2r/pppp1ppp/2n2n2/4p3/2B1P3/2N5/PPPP1PPP/R1BQK2R w KQkq - 0 1"


@pytest.mark.parametrize("fen", [SMOTHERED, MATED, ITALIAN])
def test_moves_taken_back_are_those_of_the_laws(fen: str) -> None:
    # Against python-chess alone: every position before leads there by a legal move; and every
    # move that answered a check is found when only those are asked for.
    board = chess.Board(fen)
    found = list(unmoves(board))
    assert found
    for before, move in found:
        assert before.is_valid()
        assert before.is_legal(move)
        before = before.copy()
        before.push(move)
        assert (before.board_fen(), before.turn) == (board.board_fen(), board.turn)
    answers = [(b.fen(), m) for b, m in found if b.is_check()]
    assert [(b.fen(), m) for b, m in unmoves(board, from_check=True)] == answers


def test_a_pawn_may_stand_behind_one_that_came_from_beside() -> None:
    # f6 came from e5 by a capture; the f-pawn is at home.  Two from one file need two captures.
    assert unnatural(chess.Board("r5k1/5p1p/5Pp1/8/8/8/P2Q1PPP/4R1K1 w - - 0 1")) is None
    no_capture = chess.Board("rnbqkbnr/pppppppp/5P2/8/8/8/PPPP1PPP/RNBQKBNR w KQkq - 0 1")
    assert unnatural(no_capture) == "White's pawns cannot have come to their files"


def test_no_mate_is_refused() -> None:
    with pytest.raises(PositionError, match="no mate"):
        vary(chess.Board("4k3/8/8/8/8/8/8/4K2R w - - 0 1"), within=1)
