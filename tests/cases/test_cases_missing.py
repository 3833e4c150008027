"""What is missing for mate: answers and single changes against plain python-chess loops."""

from __future__ import annotations

import random

import cases_referee as referee
import chess
import pytest

from flightless.cases.changes import Change
from flightless.cases.missing import NearMate, missing_of
from flightless.errors import PositionError


def positions(wanted: str, count: int, seed: int = 5) -> list[chess.Board]:
    """Positions near mate: mates with a man taken off, moved or added."""
    rng = random.Random(seed)
    mates = referee.random_mates() + [referee.strewn_mate(rng, 8) for _ in range(40)]
    found = []
    while len(found) < count:
        board = rng.choice(mates).copy(stack=False)
        board.ep_square = None
        for _ in range(rng.randint(1, 2)):
            man = rng.choice(referee.men(board))
            piece = board.remove_piece_at(man)
            free = [s for s in chess.SQUARES if board.piece_at(s) is None]
            if piece.piece_type != chess.PAWN and rng.random() < 0.6:
                board.set_piece_at(rng.choice(free), piece)
        if wanted == "quiet":
            board.turn = not board.turn
        board.castling_rights = chess.BB_EMPTY
        if not board.is_valid() or board.is_checkmate():
            continue
        kind = "check" if board.is_check() else "stalemate" if board.is_stalemate() else "quiet"
        if kind == wanted:
            found.append(board)
    return found


STALEMATES = [
    "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
    "k7/P7/K7/8/8/8/8/8 b - - 0 1",
    "kb5R/8/K7/8/8/8/8/8 b - - 0 1",  # the bishop is pinned
    "k1K5/p7/P7/8/8/8/8/8 b - - 0 1",
]


def additions(board: chess.Board, colour: chess.Color) -> list[tuple[chess.Board, Change]]:
    found = []
    for kind in referee.LETTERS.values():
        for square in chess.SQUARES:
            if board.piece_at(square) or (kind == 1 and chess.square_rank(square) in (0, 7)):
                continue
            piece = chess.Piece(kind, colour)
            more = board.copy(stack=False)
            more.set_piece_at(square, piece)
            found.append((more, Change("added", square, piece)))
    return found


def free_squares(board: chess.Board, colour: chess.Color) -> set[chess.Square]:
    """Squares of the field without any reason."""
    turned = board.copy(stack=False)
    turned.turn = colour
    return {s for s, men in referee.reasons(turned).items() if not men}


def all_changes(board: chess.Board, colour: chess.Color) -> list[tuple[chess.Board, Change]]:
    """The changes that count for the king of `colour`, made by hand."""
    free = {s for s in free_squares(board, colour) if board.piece_at(s) is None}
    found = additions(board, not colour)
    found += [(b, c) for b, c in additions(board, colour) if c.square in free]
    for man in referee.men(board):
        piece = board.piece_at(man)
        if piece.color != colour:
            continue
        found.append((referee.take(board, man), Change("removed", man, piece)))
        for square in free:
            if piece.piece_type == chess.PAWN and chess.square_rank(square) in (0, 7):
                continue
            left = referee.take(board, man)
            left.set_piece_at(square, piece)
            found.append((left, Change("moved", man, piece, square)))
    return found


def check_field(board: chess.Board, colour: chess.Color, near: NearMate) -> None:
    assert near.king == board.king(colour)
    assert set(near.free) == free_squares(board, colour)


def test_checks_that_are_not_mate() -> None:
    changes = 0
    for board in positions("check", 80):
        near = missing_of(board)
        assert near.kind == "check"
        check_field(board, board.turn, near)
        flights = {f.move for f in near.check.flights}
        captures, between = set(near.check.captures), set(near.check.interpositions)
        assert flights | captures | between == set(board.legal_moves)
        assert near.check.answers == board.legal_moves.count()
        king = board.king(board.turn)
        assert flights == {m for m in board.legal_moves if m.from_square == king}
        assert captures == {
            m
            for m in board.legal_moves
            if m.from_square != king and m.to_square in board.checkers()
        }
        for flight in near.check.flights:
            assert flight.takes == (board.piece_at(flight.square) is not None)
            assert flight.square in near.free
            for guard in flight.shut:
                left = referee.take(board, guard.shut_by)
                left.remove_piece_at(king)
                assert guard.man in left.attackers(not board.turn, flight.square)
        wanted = {c for b, c in all_changes(board, board.turn) if referee.is_mate(b)}
        assert set(near.changes) == wanted, board.fen()
        assert len(near.changes) == len(wanted)
        changes += len(wanted)
    assert changes > 500


@pytest.mark.parametrize("fen", STALEMATES)
def test_stalemates(fen: str) -> None:
    board = chess.Board(fen)
    near = missing_of(board)
    assert near.kind == "stalemate"
    assert near.free == ()
    check_field(board, board.turn, near)
    men = [s for s in referee.men(board) if board.color_at(s) == board.turn]
    assert [s.man for s in near.stuck] == men
    for stuck in near.stuck:
        moves = any(m.from_square == stuck.man for m in board.pseudo_legal_moves)
        assert (stuck.why == "pinned") == moves == board.is_pinned(board.turn, stuck.man)
    wanted = {c for b, c in all_changes(board, board.turn) if referee.is_mate(b)}
    assert set(near.changes) == wanted
    assert wanted


def mates_at_once(board: chess.Board) -> list[chess.Move]:
    found = []
    for move in board.legal_moves:
        after = board.copy(stack=False)
        after.push(move)
        if after.is_checkmate():
            found.append(move)
    return found


def test_quiet_positions() -> None:
    helped = 0
    for board in positions("quiet", 6):
        near = missing_of(board)
        assert near.kind == "quiet"
        check_field(board, not board.turn, near)
        assert near.changes == ()
        gives = {m for m in board.legal_moves if board.gives_check(m)} - set(mates_at_once(board))
        assert {c.move for c in near.checks} == gives
        for check in near.checks:
            after = board.copy(stack=False)
            after.push(check.move)
            assert check.answers == after.legal_moves.count()
        assert [c.answers for c in near.checks] == sorted(c.answers for c in near.checks)
        if mates_at_once(board):
            assert near.helped == ()
            continue
        wanted = {}
        for after, change in all_changes(board, not board.turn):
            if not after.was_into_check() and (mates := mates_at_once(after)):
                wanted[change] = mates
        assert {h.change for h in near.helped} == set(wanted), board.fen()
        for h in near.helped:
            assert h.mate in wanted[h.change]
        helped += len(wanted)
    assert helped > 20


def test_the_sentence_behind_a_flight() -> None:
    # With a pawn on h6 instead of h7 the king goes to h7: nothing guards it.
    near = missing_of(chess.Board("4R1k1/5pp1/7p/8/8/7P/5PP1/6K1 b - - 0 1"))
    assert [f.square for f in near.check.flights] == [chess.H7]
    assert Change("moved", chess.H6, chess.Piece.from_symbol("p"), chess.H7) in near.changes
    # The bishop b1 would guard h7 but for his own pawn on e4.
    near = missing_of(chess.Board("4R1k1/5pp1/7p/8/4P3/7P/5PP1/1B4K1 b - - 0 1"))
    assert [(g.man, g.shut_by) for g in near.check.flights[0].shut] == [(chess.B1, chess.E4)]


def test_mate_and_impossible_positions_are_refused() -> None:
    with pytest.raises(PositionError, match="it is mate"):
        missing_of(chess.Board("4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1"))
    with pytest.raises(PositionError, match="not to move is in check"):
        missing_of(chess.Board("4R1k1/5ppp/8/8/8/8/8/6K1 w - - 0 1"))
