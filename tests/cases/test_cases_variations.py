"""What keeps a mate a mate, against plain python-chess loops."""

from __future__ import annotations

import random

import cases_referee as referee
import chess

from flightless.cases.build import case_of
from flightless.cases.variations import variations_of


def boards(count: int = 60) -> list[chess.Board]:
    rng = random.Random(18)
    strewn = [referee.strewn_mate(rng, rng.randint(5, 12)) for _ in range(count // 2)]
    return referee.random_mates()[100 : 100 + count // 2] + strewn


def test_supporters_and_slides() -> None:
    slides = 0
    for board in boards():
        case = case_of(board)
        found = variations_of(case)
        near = [c for c in board.checkers() if chess.square_distance(c, case.king) == 1]
        lifted = referee.take(board, case.king)
        supporters = {m for c in near for m in lifted.attackers(not board.turn, c)}
        assert {
            (s.instead_of, chess.piece_symbol(s.kind).upper(), s.square) for s in found.supporters
        } == {s for s in referee.substitutes(board) if s[0] in supporters}
        wanted = set()
        for man in referee.men(board):
            piece = board.piece_at(man)
            line = piece.piece_type in (chess.BISHOP, chess.ROOK, chess.QUEEN)
            if piece.color == board.turn or not line or case.takes_part[man] == "none":
                continue
            for to in board.attacks(man):
                if board.piece_at(to) is None:
                    left = referee.take(board, man)
                    left.set_piece_at(to, piece)
                    if referee.is_mate(left):
                        wanted.add((man, to))
        assert {(c.square, c.to) for c in found.slid} == wanted
        slides += len(wanted)
    assert slides > 50


def test_blockers_replaced() -> None:
    for board in boards(40):
        case = case_of(board)
        why = referee.reasons(board)
        wanted = [s for s in referee.needed(board) if s in why and board.color_at(s) == board.turn]
        found = variations_of(case).blockers
        assert [b.blocker for b in found] == wanted
        for variation in found:
            left = referee.take(board, variation.blocker)
            own, guards = set(), set()
            for kind in referee.LETTERS.values():
                for square in chess.SQUARES:
                    pawn = kind == chess.PAWN and chess.square_rank(square) in (0, 7)
                    if left.piece_at(square) or pawn:
                        continue
                    more = left.copy(stack=False)
                    more.set_piece_at(square, chess.Piece(kind, not board.turn))
                    if referee.is_mate(more):
                        guards.add((square, kind))
                    more.set_piece_at(square, chess.Piece(kind, board.turn))
                    if square == variation.blocker and referee.is_mate(more):
                        own.add(kind)
            own.discard(board.piece_type_at(variation.blocker))
            assert {c.instead.piece_type for c in variation.own} == own
            assert {(m.square, m.piece.piece_type) for m in variation.guards} == guards


def test_nets_moved_and_turned_are_mate() -> None:
    moved = 0
    for board in boards():
        case = case_of(board)
        found = variations_of(case)
        net = chess.Board(case.skeleton.fen)
        for fen in (*found.shifted, *found.mirrored, found.exchanged):
            assert referee.is_mate(chess.Board(fen)), fen
        for fen in found.shifted:
            other = chess.Board(fen)
            files = chess.square_file(other.king(case.mated)) - chess.square_file(case.king)
            ranks = chess.square_rank(other.king(case.mated)) - chess.square_rank(case.king)
            assert (files == 0) != (ranks == 0)
            step = files + 8 * ranks
            for man in case.skeleton.men:
                assert other.piece_at(man + step) == net.piece_at(man)
        moved += len(found.shifted)
        assert len(found.mirrored) <= (1 if net.pawns else 7)
        assert sorted(map(str, chess.Board(found.exchanged).piece_map().values())) == sorted(
            str(p).swapcase() for p in board.piece_map().values()
        )
    assert moved > 40


def test_shifts_of_a_corner_mate() -> None:
    # A two-rook ladder runs along its edge: the king may stand on each square of it that the
    # rooks and his own edge allow.
    case = case_of(chess.Board("k6R/6R1/8/8/8/8/8/4K3 b - - 0 1"))
    assert case.skeleton.men == (chess.G7, chess.H8)
    shifted = variations_of(case).shifted
    assert shifted == ()  # the rook stands on the h-file and the king on the a-file
    case = case_of(chess.Board("k4R2/4R3/8/8/8/8/8/4K3 b - - 0 1"))
    kings = sorted(chess.Board(f).king(chess.BLACK) for f in variations_of(case).shifted)
    assert kings == [chess.B8, chess.C8]
