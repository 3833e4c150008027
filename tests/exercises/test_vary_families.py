"""Families of positions, each member against python-chess by brute force."""

from __future__ import annotations

import chess
import pytest
from making_referee import can_have_arisen, keys

from flightless.errors import PositionError
from flightless.exercises.vary import lengthened, vary

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


def test_no_mate_is_refused() -> None:
    with pytest.raises(PositionError, match="no mate"):
        vary(chess.Board("4k3/8/8/8/8/8/8/4K2R w - - 0 1"), within=1)
